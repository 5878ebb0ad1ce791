"""What a person meets who uses the command line for the first time: exit codes, which house is meant, what is said."""
import re

import pytest

from conftest import SETTINGS, run, wait_for
from season import simulate

HEAD = "time,sensor,temperature_c,humidity_percent\n"
BASE = "plainwater/testing"


@pytest.fixture
def settings(tmp_path):
    path = tmp_path / "house.yaml"
    path.write_text(SETTINGS.format(url="mqtt://127.0.0.1:1", store=tmp_path / "house.db", more=""))
    return path


def ask(client, **fields):
    reply = client.ask(f"{BASE}/requests", {"who": "Ines", **fields})
    assert reply["done"], reply
    return reply


def shown(daemon, *options):
    return run("plainwater", "show", "--settings", daemon.settings, *options)


def test_show_tells_by_its_exit_code_whether_a_service_is_heard(make_daemon, client):
    daemon = make_daemon()
    for options in ((), ("--json",)):
        assert shown(daemon, *options).returncode == 3
    assert "No service is heard here" in shown(daemon).stdout
    daemon.start()
    for options in ((), ("--json",)):
        assert shown(daemon, *options).returncode == 0
    daemon.stop()
    gone = shown(daemon)
    assert gone.returncode == 3 and "Service main is offline; what follows is what it said last." in gone.stdout


def test_show_says_of_a_former_service_only_that_it_is_offline(make_daemon, client):
    """As after a restore under another instance: what follows is the new one's word."""
    daemon = make_daemon()
    daemon.start()
    client.publish(f"{BASE}/service/former", {"state": "offline", "instance": "former"}, retain=True)
    wait_for(lambda: "former" in shown(daemon).stdout, "the former service to be shown")
    lines = shown(daemon).stdout.splitlines()
    assert "Service former is offline." in lines and "what it said last" not in "\n".join(lines)


def test_the_house_is_named_by_settings_or_by_its_store(daemon, client, tmp_path):
    ask(client, id="h1", request="hold", bench="east")
    places = {"settings": ("--settings", daemon.settings), "store": ("--store", daemon.store)}
    for name, place in places.items():
        assert run("plainwater", "show", *place).stdout.splitlines()[1:3] == shown(daemon).stdout.splitlines()[1:3]
        assert run("plainwater", "audit", *place).returncode == 0
        assert "hold-placed" in run("plainwater", "export", *place, "--ledger", "-").stdout
        done = run("plainwater", "backup", *place, "--to", tmp_path / f"{name}.backup")
        assert done.returncode == 0 and (tmp_path / f"{name}.backup").exists(), done.stderr
    asked = run("plainwater", "release", "east", "--store", daemon.store)
    assert asked.returncode == 0, asked.stderr
    daemon.stop()
    for number, place in enumerate((("--settings", daemon.settings, "--store", tmp_path / "other.db"), ("--store", tmp_path / "third.db"))):
        done = run("plainwater", "restore", *place, "--from", tmp_path / "store.backup")
        assert done.returncode == 0, done.stderr
        assert place[-1].exists() and str(place[-1]) in done.stdout


@pytest.mark.parametrize("command", [["audit"], ["export", "--ledger", "-"], ["backup", "--to", "x"], ["restore", "--from", "x"], ["show"], ["hold", "east"]])
def test_a_house_is_needed(command):
    result = run("plainwater", *command)
    assert result.returncode == 2 and "no settings: name a file" in result.stderr


def test_settings_may_stand_before_the_command(daemon):
    for before in (("--settings", daemon.settings), (f"--settings={daemon.settings}",), ("--store", daemon.store)):
        result = run("plainwater", *before, "show")
        assert result.returncode == 0 and "east" in result.stdout, result.stderr
    wrong = run("plainwater", "--settings", daemon.settings, "shwo")
    assert wrong.returncode == 2 and "shwo: did you mean show?" in wrong.stderr


def test_the_service_offers_near_words_too():
    result = run("plainwaterd", "--setings", "x.yaml")
    assert result.returncode == 2 and "--setings: did you mean --settings?" in result.stderr.splitlines()


@pytest.mark.parametrize("chart", ["season.pdf", "season", "season.svg.gz", "-"])
def test_a_chart_of_another_kind_is_refused_by_name(settings, tmp_path, chart):
    readings = tmp_path / "r.csv"
    readings.write_text(simulate("--interval", "60m", "--from", "2026-08-20", "--to", "2026-08-22"))
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", readings, "--chart", chart, cwd=tmp_path)
    assert result.returncode == 2 and f"--chart {chart}: " in result.stderr and ".svg" in result.stderr and ".html" in result.stderr
    assert not (tmp_path / chart).is_file()


@pytest.mark.parametrize("text", ["", HEAD, HEAD + "\n\n"], ids=["nothing", "head", "blank"])
def test_readings_without_a_row_are_no_rehearsal(settings, tmp_path, text):
    readings = tmp_path / "r.csv"
    readings.write_text(text)
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", readings)
    assert result.returncode == 1
    assert HEAD.strip() in result.stderr and str(readings) in result.stderr


def test_an_audit_leaves_nothing_beside_a_backup(daemon, tmp_path):
    folder = tmp_path / "kept"
    folder.mkdir()
    assert run("plainwater", "backup", "--settings", daemon.settings, "--to", folder / "b.db").returncode == 0
    before = (folder / "b.db").read_bytes()
    run("plainwater", "audit", "--store", folder / "b.db")
    run("plainwater", "export", "--store", folder / "b.db", "--ledger", "-")
    assert [path.name for path in folder.iterdir()] == ["b.db"]
    assert (folder / "b.db").read_bytes() == before


def test_the_log_shows_what_a_bad_reading_was(daemon, client):
    client.publish("house/east/air", b"warm, about twenty degrees I think, perhaps more")
    wait_for(lambda: '"warm, about twenty degrees I think, perh"; ' in daemon.log.read_text(), "the payload in the log")


def test_the_log_names_the_notice_that_was_acknowledged(daemon, client):
    client.ask(f"{BASE}/requests", {"id": "a1", "who": "Ines", "request": "acknowledge", "notice": "sensor-silent/east-air"})
    wait_for(lambda: "request a1 of Ines: acknowledge sensor-silent/east-air: no notice" in daemon.log.read_text(), "the request in the log")


def test_what_somebody_asked_reads_well_whatever_the_name(daemon, client):
    assert re.search(r", asked for by me\.$", ask(client, id="h1", who="me", request="hold", bench="east")["text"])
    assert "as me" not in ask(client, id="p1", who="me", request="disarm", pump="east")["text"]


def test_one_of_a_thing_is_told_in_the_singular(settings, tmp_path):
    path = tmp_path / "one.csv"
    path.write_text(HEAD + "2026-09-14T06:40:00Z,east-air,18.2,71\n")
    told = run("plainwater", "rehearse", "--settings", settings, "--readings", path).stdout
    assert "1 row from 2026-09-14 to 2026-09-14, 0 bad, 0 refused requests" in told.splitlines(), told


def test_a_reading_of_the_future_is_left_out_in_the_singular(daemon, client, tmp_path):
    # One that the watch over times keeps for later: it is in the journal, and no rehearsal may begin with it.
    client.publish("house/east/air", {"t": 18.2, "time": "2089-09-14T06:40:00Z"})
    store = ("--store", daemon.store, "--readings", "-")
    wait_for(lambda: "future" in run("plainwater", "export", *store).stderr, "the reading in the journal")
    assert "1 reading was dated in the future when it came and is left out" in run("plainwater", "export", *store).stderr


def test_a_full_release_is_the_growers_word_not_the_seasons(daemon, client):
    ask(client, id="h1", request="hold", bench="east")
    ask(client, id="r1", request="release", bench="east", full=True)
    orders = client.subscribe(f"{BASE}/benches/east/order")
    wait_for(lambda: orders and not orders[-1].json()["hold"], "the order after the release")
    assert "days are long" not in orders[-1].json()["because"]
