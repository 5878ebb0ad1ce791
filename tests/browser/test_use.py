"""The pages in use: by keyboard, mouse and touch, on paper, with a token, as a file."""
from browser.house import HERE, Check

import re
import subprocess

from signing import SECRET, people

TAKES_S = 115


def test_season_by_keyboard(check, house):
    check("season-by-keyboard", house)


def test_season_by_mouse(check, house):
    check("season-by-mouse", house)


def test_season_by_touch(check, house):
    check("season-by-fingers", house)


def test_season_by_year_and_bench(check, house):
    check("season-by-year-and-bench", house)


def test_wall_is_still_and_needs_no_input(check, house):
    check("wall-keeps-still", house)


def test_card_on_paper_shows_the_code_and_no_state(check, autumn_house):
    check("card-on-paper", autumn_house, bench="cold-end")


def test_token_form_accepts_only_the_token(check, make_house, tmp_path):
    token = tmp_path / "token"
    token.write_text("bulbs-and-leaves-0123\n")
    token.chmod(0o600)
    house = make_house(f"  token_file: {token}\n")
    check("door-with-a-token", house, {"BOARD_TOKEN": "bulbs-and-leaves-0123"})


def test_one_signs_in_and_out_by_name(check, make_house, tmp_path):
    house = make_house(people(tmp_path, ines="care"))
    check("door-by-name", house, {"BOARD_SECRET": SECRET})


def test_chart_of_a_rehearsal_is_self_contained(shots, season, tmp_path):
    chart = tmp_path / "chart.html"
    season.rehearse("--chart", chart)
    with Check("chart-file-is-self-contained", "", shots, {"CHART": str(chart)}, benches=["cold-end", "courtyard", "long", "mist"]):
        pass


def test_every_check_is_run_by_a_test():
    """A check that nobody runs proves nothing."""
    names = set(subprocess.run(["node", HERE / "run.js", "--list"], capture_output=True, text=True, check=True).stdout.split("\n")) - {""}
    used = set(re.findall(r'[cC]heck\(\s*"([^"]+)"', "".join(path.read_text() for path in HERE.glob("test_*.py"))))
    assert names == used
