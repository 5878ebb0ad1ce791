"""Rules for every page: no browser errors, nothing loaded from elsewhere, accessibility, no scrolling sideways. Stores
pictures of all pages."""
import pytest

TAKES_S = 190

PAGES = ["/", "/season", "/bench/cold-end", "/ledger", "/wall", "/enter"]


@pytest.fixture(scope="session")
def guarded(tmp_path_factory, season):
    """Where one enters by a token, or by name."""
    from browser.house import House
    from signing import people
    folder = tmp_path_factory.mktemp("guarded")
    token = folder / "token"
    token.write_text("bulbs-and-leaves-0123\n")
    token.chmod(0o600)
    house = House(folder, season, f"  token_file: {token}\n" + people(folder, ines="care"))
    yield house
    house.close()


@pytest.fixture(params=PAGES)
def page(request, autumn_house):
    house = request.getfixturevalue("guarded") if request.param == "/enter" else autumn_house
    return house, request.param


def test_page_has_no_errors_and_loads_only_from_its_own_house(check, page):
    check("page-is-quiet", page[0], path=page[1])


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 1440])
def test_page_is_accessible(check, page, width, dark):
    """Accessible, no wider than the screen, in light and dark; with a picture of it."""
    check("page-is-read-by-anybody", page[0], path=page[1], width=width, dark=dark)


def test_season_of_may_is_accessible_too(check, house):
    """With every kind of hold in its tables."""
    check("page-is-read-by-anybody", house, path="/season", called="season-of-may", width=360, dark=False)
