"""The pages show what the API returns and the ledger holds."""
import pytest

TAKES_S = 150


@pytest.fixture(params=["season", "autumn"])
def either(request):
    """The house in May, when all is calm, and in October, with many holds."""
    return request.getfixturevalue({"season": "house", "autumn": "autumn_house"}[request.param])


def test_october_has_all_kinds_of_feeding(autumn_house):
    """Otherwise the tests below would not see them all."""
    found = {bench["feeding"] for bench in autumn_house.api("/api/now")["benches"]}
    assert {"plain-water", "reduced"} <= found, found


def test_today_matches_the_api(check, either):
    check("today-matches-the-api", either)


def test_today_matches_the_latest_ledger_rows(check, either):
    check("today-matches-the-latest-ledger-rows", either)


def test_bench_matches_the_api(check, either):
    check("bench-matches-the-api", either)


def test_bench_shows_its_orders_and_ledger(check, house):
    check("bench-shows-its-orders-and-ledger", house, bench="cold-end")


def test_bench_draws_its_air(check, house):
    check("bench-draws-its-air", house, bench="cold-end")


def test_season_matches_the_api(check, either):
    check("season-matches-the-api", either)


def test_season_has_the_nights_of_a_rehearsal(check, house, tmp_path):
    nights = tmp_path / "nights.csv"
    house.season.rehearse("--nights", nights)
    check("season-has-the-nights-of-a-rehearsal", house, {"NIGHTS": str(nights)})


def test_season_has_the_holds_of_the_ledger(check, house):
    check("season-has-the-ledger's-holds", house)


def test_wall_matches_the_api(check, either):
    check("wall-matches-the-api", either)


def test_ledger_shows_every_row_of_the_export(check, house):
    check("ledger-shows-every-row-of-the-export", house, {"LEDGER": str(house.season.shown)})


def test_ledger_filters_by_bench_and_date(check, house):
    check("ledger-filters", house, bench="cold-end")


def test_ledger_shows_the_figures_behind_a_decision(check, house):
    check("ledger-shows-the-figures", house, bench="cold-end")


def test_ledger_download_equals_the_export(check, house):
    check("ledger-download-equals-the-export", house, {"LEDGER": str(house.season.shown)})


def test_fahrenheit_by_a_setting(check, make_house):
    check("fahrenheit-everywhere", make_house("  unit: fahrenheit\n"))
