"""Tern Bank for tests: its settings, its season, and the content of a store."""
import csv
import io

from houses import tern_bank as tern_bank_settings  # noqa: F401
from programs import run


def play(broker, *arguments, timeout=300):
    """Runs the simulator to its end, publishing to a broker."""
    result = run("plainwater-sim", "--broker", broker.url, "--quiet", *arguments, timeout=timeout)
    assert result.returncode == 0, result.stderr


def simulate(*arguments):
    """The simulator's CSV as text."""
    result = run("plainwater-sim", "--csv", "-", "--quiet", *arguments)
    assert result.returncode == 0, result.stderr
    return result.stdout


def readings(text):
    """{(time, sensor): (temperature, humidity)} of a rehearsal CSV; a missing value is None."""
    found = {}
    for row in csv.DictReader(io.StringIO(text)):
        before = found.get((row["time"], row["sensor"]), (None, None))
        now = [round(float(row[name]), 3) if row[name] else None for name in ("temperature_c", "humidity_percent")]
        found[row["time"], row["sensor"]] = tuple(b if n is None else n for n, b in zip(now, before))
    return found


def export(daemon):
    """(readings CSV, ledger) of a daemon's store, as text; the daemon may be running."""
    out, ledger = daemon.store.with_suffix(".csv"), daemon.store.with_suffix(".jsonl")
    result = run("plainwater", "export", "--store", daemon.store, "--readings", out, "--ledger", ledger)
    assert result.returncode == 0, result.stderr
    return out.read_text(), ledger.read_text()


def rehearse(settings, readings_text, folder, *arguments):
    """The decisions of a rehearsal, as text."""
    source, decisions = folder / "rehearsed.csv", folder / "rehearsed.jsonl"
    source.write_text(readings_text)
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", source, "--decisions", decisions, *arguments)
    assert result.returncode == 0, result.stderr
    return decisions.read_text()
