"""What must hold on every page: no complaint of the browser, nothing from elsewhere, the accessibility rules, no
scrolling sideways. Pictures of all of them are kept."""
import pytest

TAKES_S = 190

PAGES = ["/", "/season", "/bench/cold-end", "/ledger", "/wall", "/enter"]


@pytest.fixture(scope="session")
def guarded(tmp_path_factory, season):
    """/enter is there when a token is wanted."""
    from browser.house import House
    folder = tmp_path_factory.mktemp("guarded")
    token = folder / "token"
    token.write_text("bulbs-and-leaves-0123\n")
    token.chmod(0o600)
    house = House(folder, season, f"  token_file: {token}\n")
    yield house
    house.close()


@pytest.fixture(params=PAGES)
def page(request, autumn_house):
    house = request.getfixturevalue("guarded") if request.param == "/enter" else autumn_house
    return house, request.param


def test_page_is_quiet_and_asks_only_its_own_house(check, page):
    check("page-is-quiet", page[0], path=page[1])


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 1440])
def test_page_is_read_by_anybody(check, page, width, dark):
    """Accessible, no wider than the screen, on light or dark paper; with a picture of it."""
    check("page-is-read-by-anybody", page[0], path=page[1], width=width, dark=dark)


def test_season_of_may_is_read_by_anybody_too(check, house):
    """With every kind of hold in its tables."""
    check("page-is-read-by-anybody", house, path="/season", called="season-of-may", width=360, dark=False)
