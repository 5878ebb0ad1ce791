"""Stores of older programs: migrated, with every row unchanged, and then used."""
import gzip
import json
import re
import sqlite3

import pytest

from conftest import ROOT, run, wait_for

OWN = int(re.search(r"kRulesRevision = (\d+);", (ROOT / "daemon" / "engine" / "engine.h").read_text())[1])
TABLES = {"journal": "seq", "sensors": "id", "ledger": "id", "nights": "bench, night", "hourly": "sensor_id, quantity, hour"}
SITE = "plainwater/old"


def rows(path, columns=None):
    """{table: rows} with the columns that the table had at the first read."""
    with sqlite3.connect(path) as store:
        columns = columns or {table: ", ".join(c[1] for c in store.execute(f"PRAGMA table_info({table})")) for table in TABLES}
        return {table: store.execute(f"SELECT {columns[table]} FROM {table} ORDER BY {key}").fetchall() for table, key in TABLES.items()}, columns


def audit(daemon):
    return run("plainwater", "audit", "--store", daemon.store)


@pytest.mark.parametrize("schema", (1, 2, 3, 4, 5, 6))
def test_an_old_store_is_read_audited_and_used(make_daemon, broker, client, tmp_path, schema):
    old = tmp_path / "old.db"
    old.write_bytes(gzip.decompress((ROOT / "tests" / "data" / "stores" / f"schema-{schema}.db.gz").read_bytes()))
    before, columns = rows(old)
    assert len(before["journal"]) > 5000 and len(before["ledger"]) > 5
    record = json.loads([row for row in before["journal"] if row[1] == 2][-1][-1])
    text = re.sub(r"url: [^}]*}", "url: URL}", record["settings"])
    text = re.sub(r"path: [^,]*,", "path: STORE,", text).replace("{", "{{").replace("}", "}}").replace("URL", "{url}").replace("STORE", "{store}")
    head, rest = text.split("\n", 1)  # the fixture expects the site's name on a line of its own
    text = "site:\n  " + head.removeprefix("site: {{").removesuffix("}}").replace(", ", "\n  ") + "\n" + rest
    daemon = make_daemon(text, name="old")

    first = audit(daemon)
    assert first.returncode == 1 and "start the service once" in first.stderr

    daemon.start()
    after, _ = rows(daemon.store, columns)
    for table in TABLES:
        kept = after[table][:len(before[table])] if table in ("journal", "ledger") else after[table]
        assert kept == before[table], table
    # It continues where it was: an old reading is recognised, and a new day brings decisions.
    engine_time = daemon.state()["engine_time"]
    assert engine_time and engine_time[:10] == "2026-10-01"
    for day in range(2, 12):
        for hour in range(24):
            client.publish("old/air/cold-end-a", {"t": 11.5 + hour / 8, "rh": 80, "time": f"2026-10-{day:02}T{hour:02}:00:00Z"})
    reply = client.ask(f"{SITE}/requests", {"id": "new-1", "who": "Ines", "request": "hold", "bench": "courtyard", "until": "2026-11-10T00:00:00Z"})
    assert reply["done"], reply
    wait_for(lambda: daemon.state()["engine_time"] >= "2026-10-11T23:00:00Z", "the new readings")
    daemon.stop()
    with sqlite3.connect(daemon.store) as store:
        assert store.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert store.execute("PRAGMA foreign_key_check").fetchall() == []
        new = store.execute("SELECT COUNT(*) FROM ledger").fetchone()[0] - len(before["ledger"])
    store.close()
    assert new > 0

    second = audit(daemon)
    print(second.stdout)
    assert second.returncode == 0, second.stdout + second.stderr
    identical = next(line for line in second.stdout.splitlines() if line.startswith("identical: "))
    if record["rules_revision"] != OWN:
        assert f"{len(before['ledger'])} decisions from 2026-08-20" in second.stdout
        assert f"were decided by rules revision {record['rules_revision']}, this program has {OWN}; not compared" in second.stdout
        assert identical.startswith(f"identical: {new} decisions of 2 benches")
    else:
        assert identical.startswith(f"identical: {new + len(before['ledger'])} decisions of 2 benches")
