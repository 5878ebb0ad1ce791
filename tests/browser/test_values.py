"""What stands on the pages is what the service tells and the ledger holds."""
import pytest

TAKES_S = 150


@pytest.fixture(params=["season", "autumn"])
def either(request):
    """The house in May, when all is calm, and in October, when much is held."""
    return request.getfixturevalue({"season": "house", "autumn": "autumn_house"}[request.param])


def test_october_has_all_kinds_of_feeding(autumn_house):
    """Else the tests below would not see them."""
    found = {bench["feeding"] for bench in autumn_house.api("/api/now")["benches"]}
    assert {"plain-water", "reduced"} <= found, found


def test_today_tells_what_the_api_tells(check, either):
    check("today-tells-what-the-api-tells", either)


def test_today_tells_the_last_word_of_the_ledger(check, either):
    check("today-tells-the-ledger's-last-word", either)


def test_bench_tells_what_the_api_tells(check, either):
    check("bench-tells-what-the-api-tells", either)


def test_bench_tells_its_orders_and_its_ledger(check, house):
    check("bench-tells-its-orders-and-ledger", house, bench="cold-end")


def test_bench_draws_its_air(check, house):
    check("bench-draws-its-air", house, bench="cold-end")


def test_season_tells_what_the_api_tells(check, either):
    check("season-tells-what-the-api-tells", either)


def test_season_has_the_nights_of_a_rehearsal(check, house, tmp_path):
    nights = tmp_path / "nights.csv"
    house.season.rehearse("--nights", nights)
    check("season-has-the-nights-of-a-rehearsal", house, {"NIGHTS": str(nights)})


def test_season_has_the_holds_of_the_ledger(check, house):
    check("season-has-the-ledger's-holds", house)


def test_wall_tells_what_the_api_tells(check, either):
    check("wall-tells-what-the-api-tells", either)


def test_ledger_shows_every_row_of_the_export(check, house):
    check("ledger-shows-every-row-of-the-export", house)


def test_ledger_filters_by_bench_and_date(check, house):
    check("ledger-filters", house, bench="cold-end")


def test_ledger_shows_the_figures_behind_a_decision(check, house):
    check("ledger-shows-the-figures", house, bench="cold-end")


def test_ledger_download_equals_the_export(check, house):
    check("ledger-download-equals-the-export", house)


def test_fahrenheit_by_a_setting(check, make_house):
    check("fahrenheit-everywhere", make_house("  unit: fahrenheit\n"))
