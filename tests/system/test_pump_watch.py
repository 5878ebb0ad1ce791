"""The watch over pumps, with the real broker, daemon and pump stand-ins: a season in which every pump is broken in its own
way, and what remains of an order when somebody pulls a plug."""
import csv
import datetime
import io
import json
import os
import random

import pytest

from clock import UTC, instant as at, now
from conftest import SETTINGS, run, spawn, wait_for
from houses import FEED, PLAYED, house
from mqtt5 import Client
from season import export, simulate

TAKES_S = 90

ROUNDS = int(os.environ.get("PLAINWATER_SOAK_ROUNDS", "1"))
PATIENCE = 400

# fault, since when, and the cause of its first notice; None: no notice may be sent.
FAULTS = {
    "healthy": (None, None),
    "stuck-open": ("2026-09-26", "fed-in-plain-water"),
    "siphoning": ("2026-09-26", "fed-in-plain-water"),
    "replaying": ("2026-09-26", "fed-in-plain-water"),
    "wrong-ratio": ("2026-08-26", "over-strength"),
    "dead": ("2026-09-26", "pump-silent"),
}
BASE = "plainwater/tern-bank"
FROM, TO = "2026-08-15", "2026-10-08"
EVERY_HOURS = 24

COLD_END = """\
  cold-end-a:
    topic: ternbank/senml/cold-end-a
    form: senml
    temperature: "cold-end-a:temperature"
    humidity: "cold-end-a:humidity"
"""


def season_settings():
    benches = "".join(f"  {name}:\n    group: cool\n    sensors: [cold-end-a]\n    pots: 30\n    pot_litres: 0.5\n    watering_days: 3\n" for name in FAULTS)
    pumps = "".join(f"  {name}:\n    benches: [{name}]\n    recipe: growth\n    water: rain\n    silent_hours: 36\n    grace_minutes: 60\n" for name in FAULTS)
    return house(COLD_END, benches, pumps, name="tern-bank", sections=PLAYED + FEED)


class Pumps:
    """One stand-in per bench, each with its fault; their logs record what really went out."""

    def __init__(self, folder, broker):
        self.logs = {name: folder / f"{name}.jsonl" for name in FAULTS}
        self.processes = [self.start(folder, broker, name) for name in FAULTS]
        for name in FAULTS:
            wait_for(lambda: "listens" in (folder / f"{name}.out").read_text(), f"pump {name} to listen")

    def start(self, folder, broker, name):
        since, _ = FAULTS[name]
        fault = ("--fault", f"{name}:{since}/2027-06-01") if since else ()
        # In the evening, half a day after orders change.
        return spawn("pump-stand-in", "--broker", broker.url, "--site", "tern-bank", "--pump", name, "--bench", name, "--every", f"{EVERY_HOURS}h", "--offset", "18h",
                     "--litres", "4", "--clock", "topic", "--clock-topic", "ternbank/air/+", "--clock-field", "time", "--log", self.logs[name], *fault,
                     log=folder / f"{name}.out")

    def stop(self):
        for process in self.processes:
            process.terminate()
        for process in self.processes:
            process.wait(30)

    def waterings(self, name):
        return [json.loads(line) for line in self.logs[name].read_text().splitlines()]


class Days:
    """Plays the simulator's days as fast as the service and the pumps can follow: it waits for them at noon, when the day's
    orders are out, and at eight in the evening, when the watering of six is reported. Played by the clock, a loaded machine
    would make a pump late for its order in a season of one minute, which would rightly be reported."""

    def __init__(self, client):
        self.client, self.reports = client, client.subscribe(f"{BASE}/benches/+/dosed")

    def play(self, first, end):
        before = ""
        for row in csv.DictReader(io.StringIO(simulate("--interval", "20m", "--from", first, "--to", end))):
            for mark in ("T12", "T20"):
                if mark in row["time"] and mark not in before:
                    self.follow(row["time"][:10], mark == "T20")
            before = row["time"]
            air = {"t": float(row["temperature_c"]), "time": row["time"]}
            if row["sensor"] == "cold-end-a":
                records = [{"bn": "cold-end-a:", "bt": at(row["time"]).timestamp(), "n": "temperature", "u": "Cel", "v": air["t"]},
                        {"n": "humidity", "u": "%RH", "v": float(row["humidity_percent"])}]
                self.client.client.publish("ternbank/senml/cold-end-a", json.dumps(records), qos=1)
            elif row["sensor"] == "mist-a":  # the pumps' clock
                self.client.client.publish("ternbank/air/mist-a", json.dumps(air), qos=1)
        self.barrier()

    def follow(self, day, evening):
        self.barrier()
        if evening:
            waters = {name for name, (since, _) in FAULTS.items() if name != "dead" or day < since}
            wait_for(lambda: waters <= {m.topic.split("/")[-2] for m in list(self.reports) if m.json()["time"][:10] == day}, f"the reports of {day}", PATIENCE)
            self.reports.clear()
            self.barrier()

    def barrier(self):
        assert not self.client.ask(f"{BASE}/requests", {"id": "barrier"}, PATIENCE)["done"]


def spans(ledger, bench):
    """When the bench had to have plain water, by the ledger: [(from, to)]."""
    found, since = [], None
    for d in ledger:
        if d["bench"] != bench:
            continue
        plain = d["feeding"] == "plain-water"
        if plain and since is None:
            since = at(d["time"])
        if not plain and since is not None:
            found.append((since, at(d["time"])))
            since = None
    return found + ([(since, datetime.datetime.max.replace(tzinfo=UTC))] if since else [])


def check_orders(orders, ledger):
    """Not one millilitre is ordered while the ledger says plain water. An order's `issued` is when its content fell due."""
    locked = 0
    for order in orders:
        inside = any(start <= at(order["issued"]) < end for start, end in spans(ledger, order["bench"]))
        if inside:
            locked += 1
            assert (order["stock"], order["pump_strength_percent"], order["dose"]["ml_per_litre"]) == ("locked", 0, 0), order
    return locked


def test_a_season_in_which_every_pump_is_broken_in_its_own_way(make_daemon, broker, tmp_path, capsys):
    daemon = make_daemon(season_settings(), name="pumps")
    daemon.start(more=["--stand-in-pumps"])
    with Client(broker.port) as listener:
        orders = listener.subscribe("plainwater/tern-bank/benches/+/order")
        notices = listener.subscribe("plainwater/tern-bank/notices/urgent/json")
        pumps = Pumps(tmp_path, broker)
        try:
            days = Days(listener)
            days.play(FROM, "2026-08-16")
            wait_for(lambda: daemon.state()["engine_time"] and daemon.state()["engine_time"] > "2026-08-15T23", "the first day")
            for name in FAULTS:
                armed = run("plainwater", "arm", name, "--yes", "--settings", daemon.settings)
                assert armed.returncode == 0, armed.stderr
            days.play("2026-08-16", TO)
            wait_for(lambda: daemon.state()["engine_time"] > "2026-10-07T23:30", "the last day", PATIENCE)
            wait_for(lambda: "2026-10-07T18:00" in pumps.logs["healthy"].read_text(), "the last watering")
        finally:
            pumps.stop()
        text = export(daemon)[1]
        daemon.stop()
        ledger = [json.loads(line) for line in text.splitlines()]

    for name in FAULTS:
        held = [d for d in ledger if d["bench"] == name and d["decision"] == "hold-placed"]
        assert held and "2026-09-15" <= held[0]["time"] < "2026-09-22", f"the front of 14 September holds {name}"
    given = [m.json() for m in orders if not m.retain]
    assert {order["bench"] for order in given if order["stock"] == "open"} == set(FAULTS), "every pump was ordered to feed before"
    assert check_orders(given, ledger) > 100

    rows = []
    for name, (since, cause) in FAULTS.items():
        reported = [d for d in ledger if d["decision"] == "notice" and d["evidence"].get("pump") == name]
        waterings = pumps.waterings(name)
        if cause is None:
            assert not [d for d in reported if d["cause"] != "grower"], "no notice is sent about a pump that obeys"
            fed = {w["feed_ml"] > 0 for w in waterings}
            assert fed == {True, False}, "it fed in August, and not in the hold"
            continue
        wrong = [w for w in waterings if w["time"] >= since and (w["litres"] == 0 if name == "dead" else w["feed_ml"] > 0)]
        first = next(d for d in reported if d["cause"] == cause)
        late = at(first["time"]) - at(wrong[0]["time"])
        if name == "dead":
            assert late <= datetime.timedelta(hours=36)
            assert any(d["cause"] == "no-watering" and d["bench"] == name for d in ledger), "and its bench is dry"
        else:
            assert first["evidence"]["reported"] == wrong[0]["time"], "reported at the first report"
            untrusted = next(d for d in reported if d["cause"] == "pump-untrusted")
            assert [m for m in notices if m.json()["evidence"].get("pump") == name], "and said at once, as urgent"
            after = [order for order in given if order["bench"] == name and at(order["issued"]) > at(untrusted["time"])]
            assert after and all(order["untrusted"] and order["stock"] == "locked" for order in after)
        rows.append((name, wrong[0]["time"], first["cause"], first["time"], late, first["evidence"].get("by", "silence")))
    with capsys.disabled():
        print("\n\n| fault | first wrong watering | reported as | found by | after |\n|---|---|---|---|---|")
        for name, when, cause, _, late, by in rows:
            print(f"| {name} | {when} | {cause} | {by} | {late} |")


SHORT = FEED + """\
feeding:
  order_valid: 10 s
  reissue: 5 s
"""
VALID = datetime.timedelta(seconds=10)


@pytest.mark.parametrize("round_number", range(ROUNDS))
@pytest.mark.parametrize("victim", ["daemon", "broker", "pump", "daemon and broker"])
def test_whoever_is_killed_the_pump_is_on_plain_water_when_its_order_expires(make_daemon, broker, tmp_path, victim, round_number):
    text = SETTINGS.replace("    benches: [east]\n", "    benches: [east]\n    recipe: growth\n    water: rain\n")
    daemon = make_daemon(text, more=SHORT)
    daemon.hear_a_night()
    daemon.start()
    with Client(broker.port) as sender:
        sender.publish("house/east/air", {"t": 19.5, "rh": 70, "time": now().isoformat()})
    assert run("plainwater", "arm", "east", "--yes", "--settings", daemon.settings).returncode == 0
    log = tmp_path / "pump.jsonl"

    def pump():
        return spawn("pump-stand-in", "--broker", broker.url, "--site", "testing", "--pump", "east", "--bench", "east", "--every", "200ms",
                     "--litres", "1", "--log", log, log=tmp_path / "pump.out")

    def waterings():
        lines = log.read_text().splitlines(keepends=True) if log.exists() else []
        return [json.loads(line) for line in lines if line.endswith("\n")]

    process = pump()
    try:
        wait_for(lambda: any(w["feed_ml"] > 0 for w in waterings()), "the pump to feed")
        wait_for(lambda: len(waterings()) > random.Random(round_number).randrange(5, 40), "some waterings more")
        if "daemon" in victim:
            daemon.kill()
        if "broker" in victim:
            broker.process.kill()
            broker.process.wait(30)
        if victim == "pump":
            process.kill()
            process.wait(30)
            daemon.kill()  # a restarting pump finds the retained order, but nobody renews it
            process = pump()
        killed = now()  # nothing was ordered later

        def plain_for_good():
            last = waterings()[-1]
            return at(last["time"]) > killed + VALID and last["feed_ml"] == 0
        wait_for(plain_for_good, "plain water", 30)
        fed = [at(w["time"]) for w in waterings() if w["feed_ml"] > 0]
        assert max(fed) <= killed + VALID + datetime.timedelta(seconds=1)
        assert all(w["litres"] == 1 for w in waterings()), "watering goes on"
    finally:
        process.kill()
        process.wait(30)
