"""plainwater audit: derives the ledger of part of a season again, with kills, a change of settings midway and a grower's
request."""
import shutil
import sqlite3

import pytest

from conftest import run, spawn, wait_for
from season import tern_bank_settings

FIRST, SECOND = ("--interval", "60m", "--from", "2026-08-20", "--to", "2026-09-16"), ("--interval", "60m", "--from", "2026-09-16", "--to", "2026-10-08")


def audit(store, *more):
    return run("plainwater", "audit", "--store", store, *more)


def play(daemon, broker, part, last, kills):
    """Plays one part through the broker, killing the service meanwhile; until its last day is taken."""
    simulator = spawn("plainwater-sim", "--broker", broker.url, "--quiet", *part, "--duration", "4s")
    for _ in range(kills):
        daemon.kill()
        daemon.start(past_backlog=False)
    assert simulator.wait(120) == 0
    wait_for(lambda: (daemon.state()["engine_time"] or "") >= last and not daemon.state()["backlog"], f"the readings up to {last}", 120)


@pytest.fixture
def played(make_daemon, broker, client):
    """The daemon, stopped, and its first settings."""
    text = tern_bank_settings()
    daemon = make_daemon(text, name="tern-bank")
    daemon.start()
    play(daemon, broker, FIRST, "2026-09-15T22:00:00Z", 2)
    asked = {"id": "audit-1", "who": "Ines", "request": "hold", "bench": "long", "until": "2026-09-25T00:00:00Z"}
    assert client.ask("plainwater/tern-bank/requests", asked)["done"]
    daemon.stop()
    # Another bench shares the cold end's sensor, another limit applies, and one sensor goes.
    settings = daemon.settings.read_text()
    first = daemon.settings.with_name("first.yaml")
    first.write_text(settings)
    changed = settings.replace("  cold-end:\n    group: cool\n", "  cold-shelf:\n    group: cool\n    sensors: [cold-end-a]\n  cold-end:\n    group: cool\n")
    changed = changed.replace("sensors: [long-a, long-b, long-c]", "sensors: [long-a, long-b]") + "\nfeeding:\n  dull_day: 12\n"
    assert changed.count("cold-shelf") == 1 and "long-c]" not in changed
    daemon.settings.write_text(changed)
    daemon.start()
    play(daemon, broker, SECOND, "2026-10-07T22:00:00Z", 2)
    running = audit(daemon.store)
    assert running.returncode == 0, running.stdout + running.stderr
    daemon.stop()
    return daemon, first


def test_the_ledger_follows_from_the_journal(played, tmp_path):
    daemon, first = played
    store = sqlite3.connect(daemon.store)
    decisions = sum(store.execute(f"SELECT COUNT(*) FROM {table}").fetchone()[0] for table in ("ledger", "carried"))
    inputs = store.execute("SELECT COUNT(*) FROM journal").fetchone()[0]
    epochs = store.execute("SELECT COUNT(*) FROM journal WHERE kind = 2").fetchone()[0]
    target = store.execute("SELECT journal_seq, time_ms, bench FROM ledger WHERE decision = 'hold-placed' AND bench = 'cold-end'").fetchone()
    store.close()
    assert epochs == 2 and target is not None
    result = audit(daemon.store)
    print(result.stdout)
    assert result.returncode == 0, result.stdout + result.stderr
    sealed, identical = result.stdout.splitlines(keepends=True)
    assert sealed.startswith(f"rows 1 to {inputs:,} are unchanged since they were written; seal ")
    assert identical == f"identical: {decisions} decisions of 5 benches derived again from {inputs:,} inputs, 20 August 2026 to 7 October 2026\n"

    # A backup, and the store restored from it, with the requests that the restore adds.
    backup = tmp_path / "backup.db"
    assert run("plainwater", "backup", "--settings", daemon.settings, "--to", backup).returncode == 0
    assert audit(backup).stdout == result.stdout
    assert run("plainwater", "restore", "--settings", daemon.settings, "--from", backup, "--replace").returncode == 0
    daemon.start()
    daemon.stop()
    restored = audit(daemon.store)
    assert restored.returncode == 0 and f"from {inputs + 3:,} inputs" in restored.stdout, restored.stdout + restored.stderr

    # Somebody changes one word in a copy.
    copy = tmp_path / "copy.db"
    shutil.copy(daemon.store, copy)
    with sqlite3.connect(copy) as store:
        store.execute("DROP TRIGGER ledger_is_final")
        store.execute("UPDATE ledger SET json = replace(json, '\"feeding\":\"plain-water\"', '\"feeding\":\"reduced\"') WHERE journal_seq = ? AND decision = 'hold-placed'", target[:1])
        assert store.execute("SELECT changes()").fetchone()[0] == 1
    store.close()
    result = audit(copy)
    print(result.stdout)
    assert result.returncode == 1
    assert f"different at journal row {target[0]}, " in result.stdout and "bench cold-end" in result.stdout
    recorded, derived = result.stdout.split("recorded:\n")[1].split("derived:\n")
    assert '  > feeding            "reduced"\n' in recorded and '  > feeding            "plain-water"\n' in derived
    assert all("evidence\n" in text and "mean" in text for text in (recorded, derived))
    assert "last backup" in result.stderr

    # Somebody changes readings or nights that decide nothing.
    for change, word in (("UPDATE journal SET value_milli = value_milli + 1 WHERE seq = (SELECT MAX(seq) - 50 FROM journal WHERE kind = 0)", "were changed, added or removed"),
                         ("UPDATE nights SET mean_c = mean_c + 0.001 WHERE bench = 'long' AND night = '2026-09-20'", "different in the nights of bench long: the night recorded is not the one derived")):
        touched = tmp_path / "touched.db"
        shutil.copy(daemon.store, touched)
        with sqlite3.connect(touched) as store:
            store.execute(change)
            assert store.execute("SELECT changes()").fetchone()[0] == 1
        store.close()
        result = audit(touched)
        assert result.returncode == 1 and word in result.stdout, result.stdout + result.stderr
        assert "the store is not what was recorded" in result.stderr

    # Somebody deletes a decision.
    with sqlite3.connect(copy) as store:
        store.execute("DROP TRIGGER ledger_is_kept")
        store.execute("DELETE FROM ledger WHERE journal_seq = ?", target[:1])
    store.close()
    result = audit(copy)
    assert result.returncode == 1 and f"different at journal row {target[0]}, " in result.stdout
    assert "recorded:\n    (nothing)\n" in result.stdout and "sharp-drop" in result.stdout

    # Somebody adds a decision without an input.
    for place in (0, inputs + 1000, 2**63 - 1):
        copy.unlink()
        shutil.copy(daemon.store, copy)
        with sqlite3.connect(copy) as store:
            store.execute("INSERT INTO ledger (journal_seq, ordinal, time_ms, bench, decision, cause, json) VALUES (?, 0, ?, 'long', 'notice', 'x', '{}')", (place, place))
        store.close()
        result = audit(copy)
        assert result.returncode == 1 and "the journal has no such row" in result.stdout, result.stdout + result.stderr

    # The previous settings for the whole time: later benches and rules are recognised.
    result = audit(daemon.store, "--with-settings", first)
    print(result.stdout[-1500:])
    assert result.returncode == 0, result.stderr
    lines = result.stdout.splitlines()
    assert "benches that only the recorded settings know: cold-shelf" in lines
    assert any(line.startswith("- ") and " cold-shelf " in line for line in lines) and not any(line.startswith("+ ") and "cold-shelf" in line for line in lines)
    same = next(line for line in lines if "decisions the same" in line)
    assert int(same.split()[0].replace(",", "")) > 20
    table = {line.split()[0]: line.split()[1:] for line in lines[lines.index(next(line for line in lines if line.startswith("bench  "))) + 2:]}
    assert table["cold-shelf"][1] == "-" and table["cold-end"][0] != "-"


def test_wrong_usage_is_reported(tmp_path):
    result = run("plainwater", "audit", "--store", tmp_path / "nowhere.db")
    assert result.returncode == 1 and "nowhere.db" in result.stderr
    assert run("plainwater", "audit").returncode == 2
