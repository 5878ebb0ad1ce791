"""The pages of a house that reads another language: nothing is left in English that a reader may see or hear."""
import shutil

import pytest

import pseudo
from browser.house import HERE, House, Season
from signing import people

TAKES_S = 90
BENCH = "/bench/cold-end"


@pytest.fixture(scope="module")
def language(tmp_path_factory):
    """A translator's folder: sentences.yaml and pages.js."""
    folder = pseudo.write(tmp_path_factory.mktemp("languages") / "pseudo")
    shutil.copy(HERE / "pseudo-pages.js", folder / "pages.js")
    return folder


@pytest.fixture(scope="module")
def foreign(tmp_path_factory, language):
    """Houses that have spoken it from the beginning: orders are kept as they were given."""
    folder = tmp_path_factory.mktemp("foreign")
    autumn = Season(tmp_path_factory.mktemp("foreign-autumn"), "2026-10-22", f"  language: {language}\n")
    token = folder / "token"
    token.write_text("bulbs-and-leaves-0123\n")
    token.chmod(0o600)
    houses = {"open": House(folder / "open", autumn, f"  language: {language}\n"),
              "asking": House(folder / "asking", autumn, f"  language: {language}\n  trust_loopback: true\n"),
              "guarded": House(folder / "guarded", autumn, f"  language: {language}\n  token_file: {token}\n" + people(folder, ines="care"))}
    yield houses
    for house in houses.values():
        house.close()


@pytest.mark.parametrize("asked", [
    {"path": "/"}, {"path": "/season"}, {"path": "/season?compare=1"}, {"path": BENCH, "wait": "#ledger [data-row]"},
    {"path": "/ledger?decision=", "wait": "[data-row]"}, {"path": "/wall", "least": 12},
    {"path": "/nothing-of-that-kind", "troubled": True, "least": 3},
    {"path": "/ledger", "broken": "**/api/ledger?*", "troubled": True},
    {"path": BENCH, "broken": "**/orders?*", "troubled": True}], ids=lambda asked: asked["path"] + ("-broken" if "broken" in asked else ""))
def test_no_page_has_a_word_of_english(check, foreign, asked):
    check("nothing-in-english", foreign["open"], **asked)


@pytest.mark.parametrize("ask", [{"request": "hold", "send": True}, {"request": "watered"}, {"request": "exempt"}, {"request": "arm"}], ids=lambda ask: ask["request"])
def test_no_dialog_has_a_word_of_english(check, foreign, ask):
    # In a season that is played no pump can be armed: the refusal names the setting and its value.
    settings = ["clock.time", "wall"] if ask["request"] == "arm" else []
    check("nothing-in-english", foreign["asking"], path="/bench/long", ask=ask, settings=settings)


def test_the_door_has_no_word_of_english(check, foreign):
    check("nothing-in-english", foreign["guarded"], path="/enter", names=["token_file"], least=8)


@pytest.mark.parametrize("script, says", [
    ("plainwater.speak({", "Water of a dosing line"),
    ('plainwater.speak({service: () => { throw new Error("of a translator"); }, plants: "no function", colour: "x"});', "readings since the start")],
    ids=["unreadable", "failing"])
def test_a_faulty_translation_leaves_english(check, make_house, tmp_path, autumn, script, says):
    folder = tmp_path / "faulty"
    folder.mkdir()
    (folder / "sentences.yaml").write_text("language: de\n")
    (folder / "pages.js").write_text(script)
    check("english-under-a-faulty-language", make_house(f"  language: {folder}\n", autumn), says=says)
