"""Backup beside a running service and restore afterwards: every pump on advice, a higher epoch, the old store kept."""
import contextlib
import datetime
import json
import sqlite3
import zoneinfo

import pytest

from clock import UTC, now, text_of, text_of_s
from conftest import run, wait_for

TAKES_S = 75

BASE = "plainwater/testing"
LONDON = zoneinfo.ZoneInfo("Europe/London")


def ask(client, **fields):
    reply = client.ask(f"{BASE}/requests", {"who": "a test", **fields})
    assert reply["done"], reply
    return reply


def backup(daemon, to):
    return run("plainwater", "backup", "--settings", daemon.settings, "--to", to)


def restore(daemon, source, *options):
    return run("plainwater", "restore", "--settings", daemon.settings, "--from", source, *options)


def live_order(client, condition, what):
    """The newest order of the east bench that satisfies the condition, retained or new."""
    orders = client.subscribe(f"{BASE}/benches/east/order")
    wait_for(lambda: orders and condition(orders[-1].json()), what)
    return orders[-1].json()


@contextlib.contextmanager
def opened(path):
    """The store itself, while no service holds it; committed and closed afterwards."""
    with contextlib.closing(sqlite3.connect(path)) as store, store:
        yield store


def kept_stores(daemon):
    return sorted(path for path in daemon.store.parent.iterdir() if ".before-restore-" in path.name)


@pytest.fixture
def armed(daemon, client, tmp_path):
    """A daemon whose pump is armed, and a backup made while it runs."""
    ask(client, id="arm-1", request="arm", pump="east")
    order = live_order(client, lambda o: o["pump_mode"] == "armed", "the pump to be armed")
    made = backup(daemon, tmp_path / "backup.db")
    assert made.returncode == 0, made.stderr
    assert "backed up" in made.stdout and "backup.db" in made.stdout
    assert made.stderr == ""  # no progress bar without a terminal
    return order


@pytest.mark.parametrize("killed", [False, True], ids=["stopped", "killed"])
def test_after_a_restore_each_pump_is_on_advice_and_the_epoch_rose(daemon, client, armed, tmp_path, killed):
    ask(client, id="hold-1", request="hold", bench="east")  # not in the backup
    held = live_order(client, lambda o: o["hold"], "the hold")
    daemon.kill() if killed else daemon.stop()

    result = restore(daemon, tmp_path / "backup.db", "--replace")
    assert result.returncode == 0, result.stderr
    assert "Every pump is on advice: east." in result.stdout
    assert "plainwater arm" in result.stdout
    [kept] = kept_stores(daemon)
    assert kept.name in result.stdout

    # The broker keeps the orders of before; nobody must take them for those of the restored store.
    show = ("plainwater", "show", "--settings", daemon.settings)
    assert "ORDERED BEFORE THE RESTORE" in run(*show).stdout
    daemon.start()
    order = live_order(client, lambda o: o["epoch"] > held["epoch"], "an order of the new epoch")
    assert "BEFORE THE RESTORE" not in run(*show).stdout
    assert order["pump_mode"] == "advise"
    assert order["hold"] is None
    assert "missing in the ledger" not in daemon.tail() and "reading the store back" not in daemon.tail()
    # Earlier requests are recognised, so the same id arms nothing; a new one does.
    assert ask(client, id="arm-1", request="arm", pump="east")
    assert live_order(client, lambda o: True, "an order")["pump_mode"] == "advise"
    ask(client, id="arm-2", request="arm", pump="east")
    live_order(client, lambda o: o["pump_mode"] == "armed", "the pump to be armed again")

    # The disarm is in the ledger, and the hold in the store that was kept.
    daemon.stop()
    ledger = tmp_path / "ledger.jsonl"
    assert run("plainwater", "export", "--store", daemon.store, "--ledger", ledger).returncode == 0
    assert "asked for by restore" in ledger.read_text()
    with opened(kept) as store:
        assert store.execute("SELECT count(*) FROM ledger WHERE decision = 'hold-placed'").fetchone()[0] == 1


def test_a_restore_beside_a_running_service_is_refused(daemon, client, armed, tmp_path):
    result = restore(daemon, tmp_path / "backup.db", "--replace")
    assert result.returncode == 1
    assert "another plainwater service" in result.stderr
    assert kept_stores(daemon) == []
    assert live_order(client, lambda o: True, "an order")["pump_mode"] == "armed"


def test_a_store_is_replaced_only_on_request(daemon, armed, tmp_path):
    daemon.stop()
    before = daemon.store.read_bytes()
    result = restore(daemon, tmp_path / "backup.db")
    assert result.returncode == 1
    assert "--replace" in result.stderr
    assert daemon.store.read_bytes() == before
    daemon.store.unlink()
    result = restore(daemon, tmp_path / "backup.db")
    assert result.returncode == 0, result.stderr
    daemon.start()


def test_a_file_that_is_no_backup_is_reported_and_changes_nothing(daemon, armed, tmp_path):
    daemon.stop()
    before = daemon.store.read_bytes()
    whole = (tmp_path / "backup.db").read_bytes()
    (tmp_path / "cut.db").write_bytes(whole[:len(whole) // 2])
    (tmp_path / "text.db").write_text("benches:\n" * 1000)
    for name in ("cut.db", "text.db", "none.db"):
        result = restore(daemon, tmp_path / name, "--replace")
        assert result.returncode == 1
        assert name in result.stderr
        assert daemon.store.read_bytes() == before
    assert kept_stores(daemon) == []
    assert not [path for path in tmp_path.iterdir() if ".restoring" in path.name]


def test_a_backup_made_with_an_untrusted_clock_leaves_no_pump_armed(daemon, armed, tmp_path):
    """Then the engine accepts no other requests."""
    daemon.stop()
    with opened(daemon.store) as store:
        store.execute("INSERT INTO journal (kind, now_ms, body) SELECT 3, max(now_ms), 'unsettled' FROM journal")
    assert backup(daemon, tmp_path / "unsettled.db").returncode == 0
    result = restore(daemon, tmp_path / "unsettled.db", "--replace")
    assert result.returncode == 0, result.stderr
    with opened(daemon.store) as store:
        disarmed = store.execute("SELECT json FROM ledger WHERE cause = 'grower' ORDER BY id DESC LIMIT 1").fetchone()[0]
        assert "Pump east is on advice only" in disarmed
        assert store.execute("SELECT count(*) FROM outbox WHERE acked_ms IS NULL").fetchone() == (0,)


def test_a_pump_that_only_the_backup_knows_is_disarmed_too(daemon, client, armed, tmp_path):
    """Returning to the old settings must not find it armed."""
    daemon.stop()
    text = daemon.settings.read_text()
    daemon.settings.write_text(text.replace("  east:\n    benches: [east]\n", "  other:\n    benches: [east]\n"))
    result = restore(daemon, tmp_path / "backup.db", "--replace")
    assert result.returncode == 0, result.stderr
    daemon.settings.write_text(text)
    daemon.start()
    assert live_order(client, lambda o: o["epoch"] > armed["epoch"], "an order of the restored store")["pump_mode"] == "advise"


def test_a_backup_never_overwrites_and_needs_a_store(daemon, armed, tmp_path, make_daemon):
    result = backup(daemon, tmp_path / "backup.db")
    assert result.returncode == 1
    assert "already" in result.stderr
    fresh = make_daemon(name="fresh")  # never started: no store yet
    result = backup(fresh, tmp_path / "other.db")
    assert result.returncode == 1
    assert "fresh.db" in result.stderr
    assert not fresh.store.exists() and not (tmp_path / "other.db").exists()


def test_backups_follow_each_other_while_readings_come_in(daemon, client, tmp_path):
    """A copy contains what the service had recorded at its moment, complete and in order; one after the last reading contains
    all."""
    copies = [tmp_path / f"{i}.db" for i in range(4)]
    for i, copy in enumerate(copies[:3]):
        for n in range(50):
            client.publish("house/west/air", f"{15 + i}.{n:03}")
        assert backup(daemon, copy).returncode == 0
    wait_for(lambda: daemon.state()["readings"] >= 150, "all readings", patience=90)
    assert backup(daemon, copies[3]).returncode == 0
    rows = []
    for copy in copies:
        with opened(copy) as store:
            assert store.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            rows.append(store.execute("SELECT seq, now_ms, sensor_id, time_ms, value_milli FROM journal WHERE kind = 0 ORDER BY seq").fetchall())
    for earlier, later in zip(rows, rows[1:]):
        assert earlier == later[: len(earlier)]
    assert len(rows[-1]) == 150


def test_waterings_by_hand_are_journaled_and_can_be_rehearsed(daemon, client, tmp_path):
    """Whatever the service answers: the words and figures of the command line are in the request that it received."""
    day = (now() - datetime.timedelta(days=30)).date()
    midnight = datetime.datetime.combine(day, datetime.time(), LONDON).astimezone(UTC)
    for arguments in (["watered", "east", "--litres", "5.5", "--strength", "25", "--at", str(day), "--note", "with the can"],
                      ["runoff", "east", "--ec", "1.8"], ["trust", "east"], ["hold", "west"]):
        result = run("plainwater", arguments[0], "--settings", daemon.settings, *arguments[1:], "--who", "a test")
        assert result.returncode in (0, 1), result.stderr
        assert result.stdout or result.stderr
    client.publish("house/west/air", "17.5")
    wait_for(lambda: daemon.state()["readings"] > 0, "the reading", patience=90)
    daemon.stop()
    with opened(daemon.store) as store:
        now_ms, = store.execute("SELECT max(now_ms) FROM journal").fetchone()
        for pump in ("east", "unheard-of"):
            body = {"time": f"{day}T00:00:00Z", "pump": pump, "litres": 5}
            store.execute("INSERT INTO journal (kind, now_ms, body) VALUES (5, ?, ?)", (now_ms, json.dumps(body)))
    files = {name: tmp_path / f"{name}.out" for name in ("readings", "requests", "doses")}
    result = run("plainwater", "export", "--store", daemon.store, *(x for name, path in files.items() for x in (f"--{name}", path)))
    assert result.returncode == 0, result.stderr

    requests = [json.loads(line) for line in files["requests"].read_text().splitlines()]
    assert [r["request"] for r in requests] == ["watered", "runoff", "trust", "hold"]
    assert all(list(r)[0] == "time" for r in requests)
    watered = requests[0]
    assert (watered["litres"], watered["strength_percent"], watered["from"], watered["note"]) == (5.5, 25, f"{midnight:%Y-%m-%dT%H:%M:%SZ}", "with the can")
    assert requests[1]["ec"] == 1.8 and requests[2]["pump"] == "east"
    doses = [json.loads(line) for line in files["doses"].read_text().splitlines()]
    assert [d["pump"] for d in doses] == ["east", "unheard-of"] and all(d["now"] > d["time"] for d in doses)

    # A last reading after all of it: a rehearsal ends with the readings.
    with files["readings"].open("a") as readings:
        later = text_of_s(now_ms / 1000 + 3600)
        readings.write(f"{later},west-air,17.5,\n")
    decisions = tmp_path / "decisions.jsonl"
    result = run("plainwater", "rehearse", "--settings", daemon.settings, "--decisions", decisions,
                 *(x for name, path in files.items() for x in (f"--{name}", path)))
    assert result.returncode == 0, result.stderr
    assert '"hold-placed"' in decisions.read_text()
    assert " doses not used" in result.stderr


def test_a_report_received_twice_counts_once_and_can_be_rehearsed(daemon, client, tmp_path):
    live_order(client, lambda o: True, "an order")
    reported = now()
    report = {"time": text_of(reported), "pump": "east", "litres": 2.5, "ec": 0.4}
    for payload in (report, report, {**report, "liters": 1}, {**report, "pump": "west"}, b"{", dict(report)):
        client.publish(f"{BASE}/benches/east/dosed", payload)
    client.publish(f"{BASE}/benches/west/dosed", report)  # no pump feeds it
    ask(client, id="after", request="hold", bench="west")
    files = {name: tmp_path / f"{name}.out" for name in ("requests", "doses")}
    result = run("plainwater", "export", "--store", daemon.store, *(x for name, path in files.items() for x in (f"--{name}", path)))
    assert result.returncode == 0, result.stderr
    [line] = files["doses"].read_text().splitlines()
    dose = json.loads(line)
    assert list(dose)[:5] == ["now", "time", "pump", "bench", "source"]
    assert (dose["litres"], dose["ec"], dose["bench"]) == (2.5, 0.4, "east")

    files["readings"] = tmp_path / "readings.out"
    times = [reported - datetime.timedelta(hours=1), reported + datetime.timedelta(hours=1)]
    files["readings"].write_text("time,sensor,temperature_c\n" + "".join(f"{text_of(t)},west-air,17.5\n" for t in times))
    result = run("plainwater", "rehearse", "--settings", daemon.settings, "--decisions", tmp_path / "decisions.jsonl",
                 *(x for name, path in files.items() for x in (f"--{name}", path)))
    assert result.returncode == 0, result.stderr
    assert "0 refused requests, 0 doses not used" in result.stderr


def test_an_unreadable_dose_line_is_reported_with_its_place(daemon, tmp_path):
    readings, doses = tmp_path / "r.csv", tmp_path / "d.jsonl"
    readings.write_text("time,sensor,temperature_c,humidity_percent\n2026-10-12T00:00:00Z,west-air,17.5,\n")
    doses.write_text('\n{"now":"2026-10-12T00:00:00Z","time":"2026-10-12T00:00:00Z","liters":5}\n')
    result = run("plainwater", "rehearse", "--settings", daemon.settings, "--readings", readings, "--doses", doses)
    assert result.returncode == 2
    assert 'd.jsonl:2: a report has no field "liters"' in result.stderr
