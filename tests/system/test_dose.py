"""`plainwater dose`: converts a strength to millilitres, by hand and by pump."""
import json

import pytest

from conftest import ROOT, run

TERN_BANK = ROOT / "config" / "tern-bank.yaml"
HOUSE = """\
site: {latitude: 52.2, longitude: -2.1}
benches:
  east: {sensors: [east-air]}
waters:
  tap: {ec: 0.5}
  hard: {ec: 1.25}
recipes:
  growth: {label: 15-5-15, injector_ratio: 100, ec_per_100ppm_n: 0.6, target_ppm_n: 100}
  strong: {label: 15-5-15, injector_ratio: 100, ec_per_100ppm_n: 0.6, target_ppm_n: 200}
  liquid: {label: 3-1-2, density: 1.2, ec_per_100ppm_n: 0.6, target_ppm_n: 90}
pumps:
  line: {benches: [east], recipe: growth, water: tap, least_ml_per_litre: 2, most_ml_per_litre: 8, step_ml_per_litre: 0.4}
"""


@pytest.fixture
def house(tmp_path):
    path = tmp_path / "house.yaml"
    path.write_text(HOUSE)
    return path


def dose(settings, *arguments):
    return run("plainwater", "dose", "--settings", settings, *arguments)


def doses(settings, *arguments, code=0):
    """The JSON object."""
    result = dose(settings, *arguments, "--json")
    assert result.returncode == code, result.stderr
    return json.loads(result.stdout)


def test_a_pump_and_a_tank_in_words():
    result = dose(TERN_BANK, "--pump", "long", "--strength", 40, "--litres", 200)
    assert result.returncode == 0 and result.stderr == ""
    for said in ("66.7 g/L", "4 mL in a litre", "1:250", "800 mL for 200 L", "0.267 g of fertilizer", "53.3 g for 200 L", "40 ppm N, 0.446 mS/cm",
                 "0.186 mS/cm (30 % tap, 70 % rain)", "long can give exactly this", "gloves", "the label's rules come first"):
        assert said in result.stdout


def test_the_document_shows_its_output():
    output = dose(TERN_BANK, "--pump", "long", "--strength", 40, "--litres", 200).stdout
    assert output in (ROOT / "config" / "README.md").read_text()


def test_without_a_strength_it_is_a_table(house):
    result = dose(house, "--recipe", "growth", "--water", "tap")
    assert result.returncode == 0
    rows = [line.split() for line in result.stdout.splitlines() if "1:" in line]
    assert rows == [["25", "%", "2.5", "1:400", "25", "0.65"], ["50", "%", "5", "1:200", "50", "0.8"],
                    ["75", "%", "7.5", "1:133", "75", "0.95"], ["100", "%", "10", "1:100", "100", "1.1"]]


def test_the_same_as_json(house):
    assert doses(house, "--recipe", "growth", "--water", "tap", "--strength", 40, "--litres", 20) == {
        "pump": None, "recipe": "growth", "label": "15-5-15", "water": "tap", "water_ec": 0.5, "stock_g_per_l": 66.7, "alarm_ec": 1.2,
        "refusal_ec": 1.5, "water_over_alarm": False, "litres": 20.0, "doses": [
            {"strength_percent": 40.0, "ml_per_litre": 4.0, "grams_per_litre": 0.267, "injector_ratio": 250.0, "ppm_n": 40.0, "ec": 0.74,
             "given_percent": 40.0, "tank_stock_ml": 80.0, "tank_grams": 5.3, "problem": None, "over_alarm": False}]}
    table = doses(house, "--recipe", "growth", "--water", "tap")["doses"]
    assert [row["strength_percent"] for row in table] == [25, 50, 75, 100]


def test_plain_water_needs_no_stock(house):
    [row] = doses(house, "--pump", "line", "--strength", 0)["doses"]
    assert row["ml_per_litre"] == 0 and row["injector_ratio"] is None and row["problem"] is None and row["ec"] == 0.5


def test_a_ready_liquid_is_weighed_itself(house):
    result = dose(house, "--recipe", "liquid", "--water", "tap", "--strength", 100)
    assert "ready liquid of 1.2 kg/L" in result.stdout and "3 g of the liquid in a litre" in result.stdout


def test_the_only_pump_with_a_recipe_need_not_be_named(house):
    assert doses(house, "--strength", 50)["pump"] == "line"
    several = dose(TERN_BANK, "--strength", 50)
    assert several.returncode == 2 and "courtyard, long, mist" in several.stderr


def test_the_pumps_steps_round_down(house):
    result = dose(house, "--strength", 50)
    assert result.returncode == 0
    assert "line gives this in its steps of 0.4 mL a litre, 48 % instead of 50 %" in result.stdout
    assert "48 ppm N" in result.stdout


@pytest.mark.parametrize("strength, word, says", [(15, "too-little", "less than the pump doses (at least 2"), (85, "too-much", "more than the pump doses (at most 8)")])
def test_what_the_pump_cannot_give_is_plain_water_and_exit_code_1(house, strength, word, says):
    result = dose(house, "--pump", "line", "--strength", strength)
    assert result.returncode == 1 and says in result.stderr and "stock       none" in result.stdout
    [row] = doses(house, "--pump", "line", "--strength", strength, code=1)["doses"]
    assert row["problem"] == word and row["ml_per_litre"] == 0
    assert dose(house, "--pump", "line").returncode == 0  # a table shows it too, but is an answer


def test_over_the_refusal_limit_is_exit_code_1_and_the_reason(house):
    result = dose(house, "--recipe", "strong", "--water", "tap", "--strength", 90)
    assert result.returncode == 1
    assert "90 %: plain water: the feed would have 1.58 mS/cm, over the refusal limit of 1.5" in result.stderr
    table = doses(house, "--recipe", "strong", "--water", "tap", code=1)["doses"]
    assert [row["problem"] for row in table] == [None, None, None, "over-refusal"]


def test_warnings_over_the_alarm_limit(house):
    feed = dose(house, "--recipe", "strong", "--water", "tap", "--strength", 60)
    assert feed.returncode == 0 and "the feed passes the alarm limit of 1.2 mS/cm at 60 %" in feed.stdout
    water = dose(house, "--recipe", "growth", "--water", "hard", "--strength", 10)
    assert "the water alone passes the alarm limit" in water.stdout
    assert "warning" not in dose(house, "--strength", 50).stdout


@pytest.mark.parametrize("arguments", [["--recipe", "growth"], ["--water", "tap"], ["--pump", "line", "--recipe", "growth", "--water", "tap"],
                                       ["--strength", "101"], ["--strength", "-1"], ["--strength", "nan"], ["--litres", "0"], ["--litres", "inf"]])
def test_wrong_usage_is_exit_code_2(house, arguments):
    assert dose(house, *arguments).returncode == 2


@pytest.mark.parametrize("arguments, says", [(["--pump", "lien"], 'there is no pump "lien"; did you mean line?'),
                                             (["--recipe", "grwoth", "--water", "tap"], "did you mean growth?"),
                                             (["--recipe", "growth", "--water", "tab"], "did you mean tap?"),
                                             (["--recipe", "growth", "--water", "sea-salt"], "there are hard, tap")])
def test_unknown_names_are_reported(house, arguments, says):
    result = dose(house, *arguments)
    assert result.returncode == 1 and says in result.stderr and result.stdout == ""


def test_settings_whose_full_strength_is_refused_give_no_dose(house):
    house.write_text(HOUSE.replace("recipe: growth", "recipe: strong"))
    result = dose(house, "--pump", "line", "--strength", 10)
    assert result.returncode == 1 and "over the refusal limit of bench east (1.5 mS/cm)" in result.stderr


def test_a_pump_without_a_recipe_says_so(house):
    house.write_text(HOUSE.replace(", recipe: growth, water: tap", ""))
    named = dose(house, "--pump", "line", "--strength", 10)
    assert named.returncode == 1 and "pump line has no recipe" in named.stderr
    unnamed = dose(house, "--strength", 10)
    assert unnamed.returncode == 2 and "no pump has a recipe" in unnamed.stderr
