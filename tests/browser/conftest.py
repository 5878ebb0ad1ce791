"""Fixtures for the pages: two states of one season, played once, and a house with its board for each."""
import os
import pathlib
import subprocess

import pytest

from browser.house import HERE, PATIENCE, Check, House, Season
from browser.lived_house import LivedHouse


@pytest.fixture(scope="session", autouse=True)
def chromium():
    """One browser for all checks, each with a fresh profile: starting one takes longer than most checks."""
    serving = subprocess.Popen(["node", HERE / "chromium.js"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    os.environ["CHROMIUM_AT"] = serving.stdout.readline().strip()
    assert os.environ["CHROMIUM_AT"], "no Chromium: node chromium.js ended"
    yield
    serving.stdin.close()
    serving.wait(PATIENCE)


@pytest.fixture(scope="session")
def shots(tmp_path_factory):
    """Where pictures of the pages are stored: PLAINWATER_SCREENSHOTS, or a folder of this run."""
    wanted = os.environ.get("PLAINWATER_SCREENSHOTS")
    folder = pathlib.Path(wanted) if wanted else tmp_path_factory.mktemp("shots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def season(tmp_path_factory):
    """The whole season, August to May."""
    return Season(tmp_path_factory.mktemp("season"), "2027-06-01")


@pytest.fixture(scope="session")
def autumn(tmp_path_factory):
    """Up to a day in October on which benches have plain water, weak feed and full feed."""
    return Season(tmp_path_factory.mktemp("autumn"), "2026-10-22")


@pytest.fixture(scope="session")
def house(tmp_path_factory, season):
    """For tests that only read."""
    house = House(tmp_path_factory.mktemp("house"), season)
    yield house
    house.close()


@pytest.fixture(scope="session")
def autumn_house(tmp_path_factory, autumn):
    house = House(tmp_path_factory.mktemp("autumn-house"), autumn)
    yield house
    house.close()


@pytest.fixture
def make_house(tmp_path, season):
    """make_house(more): a separate house for the test, with more settings of the board, and other names of benches."""
    made = []

    def make(more="", of=season, renamed=()):
        made.append(House(tmp_path / f"house-{len(made)}", of, more, renamed))
        return made[-1]
    yield make
    for house in made:
        house.close()


@pytest.fixture
def lived(tmp_path):
    """lived(board, ines="care"): a house of today; with the pages open to its keeper unless `board` says otherwise."""
    made = []

    def make(*board, **people):
        made.append(LivedHouse(tmp_path / f"lived-{len(made)}", *board, **people))
        return made[-1]
    yield make
    for house in made:
        house.close()


@pytest.fixture(scope="session")
def shown_house(tmp_path_factory):
    """For tests that look, and change what no other of them looks at."""
    house = LivedHouse(tmp_path_factory.mktemp("shown"))
    yield house
    house.close()


@pytest.fixture
def check(shots):
    """check(name, house, …): runs a check from checks/, which must succeed."""
    def check(name, house, env=(), **asked):
        with Check(name, house.url, shots, {**({"LEDGER": str(house.season.ledger)} if house.season else {}), **dict(env)}, **asked):
            pass
    return check
