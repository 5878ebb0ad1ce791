"""plainwater import: last year's log goes into the store before the service runs, and the service goes on from there."""
import contextlib
import datetime
import json
import math
import os
import pty
import signal
import sqlite3

import pytest

from clock import now
from conftest import run, spawn, wait_for
from season import export, readings, rehearse, simulate, tern_bank_settings
from waiting import PATIENCE

DAY = datetime.timedelta(days=1)
SENSORS = ("east-air", "west-air")


def air(moment, cold):
    """Warm nights, and from `cold` on cool ones."""
    mean = 21 if moment < cold else 13
    return mean + 3 * math.cos((moment.hour - 14) / 24 * 2 * math.pi)


def log(path, first, last, cold=None, sensors=SENSORS, step=datetime.timedelta(hours=1)):
    """Readings from `first` to `last` days ago, as a logger with local times would have them; cool from `cold` days ago."""
    moment, end, lines = now() - first * DAY, now() - last * DAY, ["Time;" + ";".join(sensors)]
    fall = now() - (cold if cold is not None else -1) * DAY
    while moment <= end:
        value = f"{air(moment, fall):.2f}".replace(".", ",")
        lines.append(f"{moment:%d.%m.%Y %H:%M:%S};" + ";".join([value] * len(sensors)))
        moment += step
    path.write_text("\n".join(lines) + "\n")
    return path


def columns(sensors=SENSORS):
    return ("--columns", "time=Time," + ",".join(f"{s}={s}" for s in sensors), "--times", "day-first", "--zone", "UTC")


def import_(daemon, *arguments):
    return run("plainwater", "import", "--settings", daemon.settings, *arguments)


def audited(daemon):
    result = run("plainwater", "audit", "--store", daemon.store)
    assert result.returncode == 0, result.stdout + result.stderr
    assert "identical: " in result.stdout and "unchanged since they were written" in result.stdout


def ledger(daemon):
    path = daemon.store.with_suffix(".jsonl")
    assert run("plainwater", "export", "--store", daemon.store, "--ledger", path).returncode == 0
    return [json.loads(line) for line in path.read_text().splitlines()]


def leftovers(daemon):
    return [path.name for path in daemon.store.parent.iterdir() if ".importing" in path.name or ".restoring" in path.name]


def waiting(daemon):
    """Kinds of what waits in the outbox."""
    with sqlite3.connect(daemon.store) as store:
        return {kind for kind, in store.execute("SELECT DISTINCT kind FROM outbox")}


def test_the_service_goes_on_from_last_years_log(make_daemon, broker, life, tmp_path):
    daemon = make_daemon()
    result = import_(daemon, log(tmp_path / "log.csv", 200, 0, cold=90), *columns(), "--yes")
    assert result.returncode == 0, result.stderr
    print(result.stdout)
    assert "readings of 2 sensors" in result.stdout and "nights, used to" in result.stdout
    assert waiting(daemon) == set() and leftovers(daemon) == []
    audited(daemon)
    past = ledger(daemon)
    assert any(d["decision"] == "hold-placed" and d["bench"] == "east" for d in past)

    with broker.client() as client:
        heard = client.subscribe("plainwater/testing/#")
        daemon.start(env=life.env())
        order = wait_for(lambda: [m.json() for m in heard if m.topic.endswith("benches/east/order")], "an order")[-1]
        climate = wait_for(lambda: [m.json() for m in heard if m.topic.endswith("benches/east/climate")], "the climate")[-1]
        assert climate["learning"] is False and order["feeding"] in ("reduced", "full")
        life.looks(3)
        client.caught_up()
        assert [m.payload for m in heard if "/notices/" in m.topic] == []
    assert "former client id" not in daemon.log.read_text(), "no session is looked for that never was"
    daemon.stop()
    audited(daemon)
    assert [d for d in ledger(daemon)][:len(past)] == past


def test_an_import_decides_what_a_rehearsal_decides(make_daemon, tmp_path):
    """The whole ledger of a house whose time comes from the readings, but for the questions that an import closes."""
    daemon = make_daemon(tern_bank_settings(), name="tern-bank")
    season = simulate("--interval", "60m", "--from", "2026-08-20", "--to", "2026-12-20")
    head, *rows = season.splitlines(keepends=True)
    halves = [tmp_path / "later.csv", tmp_path / "earlier.csv"]
    halves[0].write_text(head + "".join(rows[len(rows) // 2:]))
    halves[1].write_text(head + "".join(sorted(rows[:len(rows) // 2], key=lambda row: row.split(",")[1])))
    result = import_(daemon, *halves, "--yes")
    assert result.returncode == 0, result.stderr
    audited(daemon)
    text, decided = export(daemon)
    assert readings(text) == readings(season)
    rehearsed = rehearse(daemon.settings, season, tmp_path)
    assert rehearsed and decided.startswith(rehearsed)
    more = [json.loads(line) for line in decided[len(rehearsed):].splitlines()]
    assert all((d["decision"], d["cause"]) == ("notice", "grower") for d in more), more


def test_old_nights_do_not_end_plain_water_before_the_first_night(make_daemon, broker, life, tmp_path):
    daemon = make_daemon()
    result = import_(daemon, log(tmp_path / "log.csv", 120, 40), *columns(), "--yes")
    assert result.returncode == 0, result.stderr
    assert "What lasts now" in result.stdout and "east-air" in result.stdout
    with broker.client() as client:
        heard = client.subscribe("plainwater/testing/#")
        daemon.start(env=life.env())
        order = wait_for(lambda: [m.json() for m in heard if m.topic.endswith("benches/east/order")], "an order")[-1]
        # Of a bench that is still learnt it would be said so.
        assert order["feeding"] == "plain-water" and "no night of the last fortnight is known" in order["because"]
        life.looks(3)
        client.caught_up()
        assert [m.payload for m in heard if "/notices/" in m.topic] == []
    daemon.stop()
    audited(daemon)


def test_it_is_refused_while_the_service_runs_and_after_its_first_reading(make_daemon, client, tmp_path):
    daemon = make_daemon()
    daemon.start()
    path = log(tmp_path / "log.csv", 30, 0)
    running = import_(daemon, path, *columns(), "--yes")
    assert running.returncode == 1 and "another plainwater service writes this store" in running.stderr
    client.publish("house/east/air", {"t": 20, "time": now().strftime("%Y-%m-%dT%H:%M:%SZ")})
    wait_for(lambda: daemon.state()["readings"] >= 1, "the first reading")
    daemon.stop()
    late = import_(daemon, path, *columns(), "--yes")
    assert late.returncode == 1 and "it has readings already" in late.stderr, late.stderr
    assert leftovers(daemon) == []
    audited(daemon)


def test_before_its_first_reading_a_service_may_have_run(make_daemon, client, tmp_path):
    daemon = make_daemon()
    daemon.start()
    asked = {"id": "i-1", "who": "Ines", "request": "hold", "bench": "west"}
    assert client.ask("plainwater/testing/requests", asked)["done"]
    daemon.stop()
    result = import_(daemon, log(tmp_path / "log.csv", 60, 0), *columns(), "--yes")
    assert result.returncode == 0, result.stderr
    kept = [path for path in tmp_path.iterdir() if ".before-import-" in path.name]
    assert len(kept) == 1 and kept[0].name in result.stdout
    daemon.start()
    with daemon.broker.client() as other:
        orders = other.subscribe("plainwater/testing/benches/west/order")
        held = wait_for(lambda: orders, "an order for the west bench")[-1].json()
    assert held["feeding"] == "plain-water" and held["hold"]["cause"] == "grower"
    assert client.ask("plainwater/testing/requests", asked)["done"], "the same request gets the same answer"
    daemon.stop()
    audited(daemon)


def test_it_says_what_it_would_do_and_asks(make_daemon, tmp_path):
    daemon = make_daemon()
    path = tmp_path / "own.csv"
    time = (now() - 5 * DAY).strftime("%Y-%m-%dT%H:00:00Z")
    lines = ["time,sensor,temperature_c", f"{time},east-air,20", f"{time},east-air,20", f"{time},east-air,19", f"{time},attic,20",
             f"{(now() + DAY).strftime('%Y-%m-%dT%H:00:00Z')},east-air,20", "1970-01-01T00:00:00Z,east-air,20"]
    path.write_text("\n".join(lines) + "\n")
    result = import_(daemon, path)
    assert result.returncode == 1 and "--yes" in result.stderr and "Write this into" in result.stderr
    for part in ("1 reading is there twice", "another value: the smaller counts", '1 reading of "attic" is left out'):
        assert part in result.stdout, result.stdout
    assert "own.csv:6: the time is" in result.stderr and "in the future" in result.stderr
    assert "own.csv:7: the time is 1970-01-01" in result.stderr
    assert not daemon.store.exists() and leftovers(daemon) == []


def test_names_in_a_file_reach_the_terminal_without_controls_and_not_all(make_daemon, tmp_path):
    daemon = make_daemon()
    path = tmp_path / "log.csv"
    before = (now() - 2 * DAY).strftime("%Y-%m-%dT00:00:00Z")
    rows = "".join(f"{before},a\x1b]0;{n:02}\x07b,20\n" for n in range(25))
    path.write_text("time,sensor,temperature_c\n" + rows)
    nothing = import_(daemon, path, "--yes")
    assert nothing.returncode == 1 and "and 5 more sensors that are on no bench" in nothing.stderr, nothing.stderr
    assert nothing.stderr.count("is on no bench") == 20 and 'sensor "a ]0;00 b" is on no bench' in nothing.stderr
    path.write_text(path.read_text() + f"{(now() - DAY).strftime('%Y-%m-%dT%H:00:00Z')},east-air,20\n")
    asked = import_(daemon, path)
    assert '1 reading of "a ]0;19 b" is left out' in asked.stdout and "Readings of 5 more sensors are left out too." in asked.stdout, asked.stdout
    rehearsed = run("plainwater", "rehearse", "--settings", daemon.settings, "--readings", path)
    assert 'sensor "a ]0;00 b" is on no bench' in rehearsed.stderr, rehearsed.stderr
    assert not [c for done in (nothing, asked, rehearsed) for c in done.stdout + done.stderr if c in "\x1b\x07"]


def test_nothing_used_is_exit_code_1(make_daemon, tmp_path):
    daemon = make_daemon()
    path = tmp_path / "log.csv"
    path.write_text("time,sensor,temperature_c\n2026-01-01T00:00:00Z,attic,20\n")
    result = import_(daemon, path, "--yes")
    assert result.returncode == 1 and 'sensor "attic" is on no bench' in result.stderr and "no reading was used" in result.stderr
    path.write_text("Zeit;T1\n2026-01-01 00:00;20\n")
    result = import_(daemon, path, "--yes")
    assert result.returncode == 1 and 'the file has "Zeit", "T1"' in result.stderr
    assert import_(daemon, tmp_path / "none.csv", "--yes").returncode == 1
    assert not daemon.store.exists()


@contextlib.contextmanager
def asking(daemon, out, *arguments):
    """An import that waits at its question; yields what answers yes and returns its exit code."""
    controller, terminal = pty.openpty()
    process = spawn("plainwater", "import", "--settings", daemon.settings, *arguments, log=out, stdin=terminal)

    def yes():
        os.write(controller, b"yes\n")
        return process.wait(PATIENCE)
    try:
        wait_for(lambda: "Write this into" in out.read_text() or process.poll() is not None, "the question")
        yield yes
    finally:
        process.kill()
        process.wait(PATIENCE)
        os.close(controller)
        os.close(terminal)


def test_of_two_imports_the_one_that_was_first_is_written(make_daemon, tmp_path):
    daemon = make_daemon()
    first, second = log(tmp_path / "first.csv", 30, 0), log(tmp_path / "second.csv", 60, 31)
    with asking(daemon, tmp_path / "out", first, *columns()) as yes:
        other = import_(daemon, second, *columns(), "--yes")
        assert other.returncode == 1 and "another import is writing this" in other.stderr, other.stdout + other.stderr
        assert not daemon.store.exists() and leftovers(daemon) != []
        assert yes() == 0, (tmp_path / "out").read_text()
    text, _ = export(daemon)
    assert len(readings(text)) == 2 * (len(first.read_text().splitlines()) - 1)
    assert leftovers(daemon) == []
    audited(daemon)


def test_a_refused_import_leaves_that_of_another_alone(make_daemon, tmp_path):
    daemon = make_daemon()
    path = log(tmp_path / "log.csv", 30, 0)
    with asking(daemon, tmp_path / "out", path, *columns()) as yes:
        daemon.start()
        before = leftovers(daemon)
        refused = import_(daemon, path, *columns(), "--yes")
        assert refused.returncode == 1 and "another plainwater service writes this store" in refused.stderr, refused.stderr
        assert leftovers(daemon) == before != []
        daemon.stop()
        assert yes() == 0, (tmp_path / "out").read_text()
    audited(daemon)


@pytest.mark.parametrize("ran_before", [False, True])
def test_a_request_that_came_while_it_asked_is_not_lost(make_daemon, client, tmp_path, ran_before):
    daemon = make_daemon()
    if ran_before:
        daemon.start()
        daemon.stop()
    with asking(daemon, tmp_path / "out", log(tmp_path / "log.csv", 30, 0), *columns()) as yes:
        daemon.start()
        assert client.ask("plainwater/testing/requests", {"id": "i-1", "who": "Ines", "request": "hold", "bench": "west"})["done"]
        daemon.stop()
        assert yes() == 1, (tmp_path / "out").read_text()
    said = (tmp_path / "out").read_text()
    assert "a service took requests or pumps' reports since the import began" in said, said
    assert [path.name for path in tmp_path.iterdir() if ".before-import-" in path.name] == [] and leftovers(daemon) == []
    again = import_(daemon, tmp_path / "log.csv", *columns(), "--yes")
    assert again.returncode == 0, again.stderr
    assert any(d["decision"] == "hold-placed" and d["bench"] == "west" for d in ledger(daemon))


def test_what_cannot_be_removed_is_named(make_daemon, tmp_path):
    daemon = make_daemon()
    (tmp_path / f"{daemon.store.name}.importing-wal" / "in-it").mkdir(parents=True)
    result = import_(daemon, log(tmp_path / "log.csv", 30, 0), *columns(), "--yes")
    assert result.returncode == 1 and ".importing-wal: cannot be removed" in result.stderr, result.stderr
    assert not daemon.store.exists()


@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGKILL])
def test_interrupted_at_the_question_it_leaves_no_store(make_daemon, tmp_path, sign):
    daemon = make_daemon()
    path = log(tmp_path / "log.csv", 30, 0)
    controller, terminal = pty.openpty()
    try:
        process = spawn("plainwater", "import", "--settings", daemon.settings, path, *columns(), log=tmp_path / "out", stdin=terminal)
        wait_for(lambda: "Write this into" in (tmp_path / "out").read_text(), "the question")
        assert not daemon.store.exists()
        process.send_signal(sign)
        assert process.wait(60) == (1 if sign == signal.SIGINT else -signal.SIGKILL)
    finally:
        os.close(controller)
        os.close(terminal)
    assert not daemon.store.exists()
    if sign == signal.SIGINT:
        assert leftovers(daemon) == []
    assert import_(daemon, path, *columns(), "--yes").returncode == 0
    assert leftovers(daemon) == []
    audited(daemon)


def test_killed_at_any_moment_the_store_is_whole_or_not_there(make_daemon, tmp_path):
    daemon = make_daemon()
    path = log(tmp_path / "log.csv", 300, 0, step=datetime.timedelta(minutes=10))
    for _ in range(3):
        process = spawn("plainwater", "import", "--settings", daemon.settings, path, *columns(), "--yes", log=tmp_path / "out")
        wait_for(lambda: any(name.endswith("-wal") for name in leftovers(daemon)) or process.poll() is not None, "the unfinished store")
        process.kill()
        process.wait(60)
        if daemon.store.exists():
            break
    if not daemon.store.exists():
        assert import_(daemon, path, *columns(), "--yes").returncode == 0
    audited(daemon)
