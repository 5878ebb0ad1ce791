"""The command line of a house of another language: what it says about the house is in that language. Usage, the key
reference, findings of `check` and faults of files stay English."""
import datetime
import re

import pytest

import pseudo
from clock import now
from conftest import SETTINGS, run, wait_for
from season import simulate, tern_bank_settings

TAKES_S = 30

BASE = "plainwater/testing"
NAMES = ("east", "west", "main", "Ines", "mist", "long", "courtyard", "cold-end", "tern-bank", "line", "drip", "pots", "pot_litres")


@pytest.fixture(scope="module")
def language(tmp_path_factory):
    return pseudo.write(tmp_path_factory.mktemp("languages") / "pseudo")


@pytest.fixture
def house(make_daemon, language, tmp_path):
    daemon = make_daemon(SETTINGS + f'board:\n  listen: ""\n  language: {language}\n')
    daemon.start(more=["--ledger"])
    return daemon


def english_in(text, *places):
    """Words of plain letters outside of names, paths, commands and units."""
    for place in sorted(map(str, places), key=len, reverse=True):
        text = text.replace(place, " ")
    text = re.sub(r"\.before-restore-\w+", " ", text)
    text = re.sub(r"`[^`]*`|\b[0-9a-f]{64}\b", " ", text)  # words to be typed; a seal
    text = re.sub(r"\b(mL/L|mS/cm|EC|PUMP)\b", " ", text)
    return pseudo.unaccented(text, NAMES)


def check(result, *places, code=0, lines=1):
    said = result.stdout + result.stderr
    assert result.returncode == code, said
    assert len(said.splitlines()) >= lines and "⟦" in said, said
    left = [(english_in(line, *places), line) for line in said.splitlines() if english_in(line, *places)]
    assert not left, left


def test_every_command_speaks_the_language_of_the_house(house, client, tmp_path):
    settings = ("--settings", house.settings)
    orders = client.subscribe(f"{BASE}/benches/east/order")
    for request in (["hold", "east"], ["extend", "east", "--until", "2090-01-01T00:00:00Z"], ["extend", "east", "--until", "2090-01-01T00:00:00Z", "--yes"], ["release", "east", "--full"], ["release", "east"],
                    ["watered", "west", "--litres", "3"], ["arm", "east"], ["arm", "east", "--yes"], ["disarm", "east"], ["growth-started", "west"], ["hold", "wset"],
                    ["exempt", "west", "--until", "2020-01-01T00:00:00Z"], ["acknowledge", "sensor-silent/nowhere"], ["move", "west", "--to", "outdoors"],
                    ["runoff", "west", "--ec", "1.2"], ["trust", "east"]):
        result = run("plainwater", *request, *settings, "--who", "Ines")
        check(result, "wset", "sensor-silent/nowhere", "--yes", code=result.returncode)
        assert result.returncode in (0, 1)
    wait_for(lambda: orders and orders[-1].json()["because"], "an order")
    check(run("plainwater", "show", *settings), lines=5)
    copy = tmp_path / "copy.db"
    check(run("plainwater", "backup", *settings, "--to", copy), tmp_path, "copy.db", "testing.db")
    for place in (settings, ("--store", copy)):
        check(run("plainwater", "audit", *place), tmp_path)
    ledger = [line for line in house.log.read_text().splitlines() if re.match(r"\d{4}-\d\d-\d\d \d\d:\d\d  ", line) and "⟦" in line]
    assert len(ledger) >= 5
    for line in ledger:
        assert not english_in(line), line
    house.stop()
    check(run("plainwater", "show", *settings), code=3, lines=5)
    check(run("plainwater", "restore", *settings, "--from", copy, "--replace"), tmp_path, "copy.db", house.store, lines=4)
    check(run("plainwater", "restore", "--store", tmp_path / "spare.db", *settings, "--from", copy, "--spare"), tmp_path, "copy.db", "spare.db", lines=2)


def test_an_import_speaks_it_too(make_daemon, language, tmp_path):
    daemon = make_daemon(SETTINGS + f'board:\n  listen: ""\n  language: {language}\n')
    times = [now() - datetime.timedelta(hours=hour) for hour in range(24 * 20, 24 * 10, -1)]
    rows = [f"{time:%Y-%m-%dT%H:%M:%SZ},{sensor},20" for time in times for sensor in ("east-air", "attic-air")]
    history = tmp_path / "history.csv"
    history.write_text("\n".join(["time,sensor,temperature_c", *rows, rows[0], rows[0][:-2] + "19"]) + "\n")
    places = (tmp_path, "testing.db", "east-air", "west-air", "attic-air")
    check(run("plainwater", "import", "--settings", daemon.settings, history), *places, "--yes", code=1, lines=8)
    check(run("plainwater", "import", "--settings", daemon.settings, history, "--yes"), *places, lines=10)


def test_a_rehearsal_and_its_picture_speak_it_too(language, tmp_path):
    settings = tmp_path / "tern-bank.yaml"
    settings.write_text(tern_bank_settings().format(url="mqtt://127.0.0.1:1", store=tmp_path / "none.db") + f"board:\n  language: {language}\n")
    readings, requests = tmp_path / "r.csv", tmp_path / "q.jsonl"
    readings.write_text(simulate("--interval", "60m", "--from", "2026-08-20", "--to", "2026-11-10"))
    requests.write_text('{"time": "2026-10-20T10:00:00Z", "id": "a", "who": "Ines", "request": "release", "bench": "mist"}\n'
                        '{"time": "2040-10-20T10:00:00Z", "id": "b", "who": "Ines", "request": "release", "bench": "mist"}\n')
    common = ("rehearse", "--settings", settings, "--readings", readings, "--requests", requests)
    check(run("plainwater", *common, "--chart", tmp_path / "s.svg"), tmp_path, "q.jsonl", lines=30)
    texts = re.findall(r">([^<>{}]+)</(?:text|title|tspan)>", (tmp_path / "s.svg").read_text())
    assert len(texts) > 40 and any("⟦" in text for text in texts)
    assert not [(english_in(text), text) for text in texts if english_in(text)]
    assert run("plainwater", *common, "--chart", tmp_path / "s.html").returncode == 0
    page = (tmp_path / "s.html").read_text()
    skeleton = re.sub(r"<(script|style)\b.*?</\1>", " ", page, flags=re.DOTALL)
    assert '<html lang="en-XA">' in skeleton
    assert not english_in(re.sub(r"<[^>]*>", " ", skeleton))
