"""The pump stand-in over a real broker: it obeys orders, gives plain water when it has none, breaks as asked, and tells."""
import datetime
import json
import signal
import subprocess

import jsonschema
import pytest
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from conftest import BIN, ROOT, run, wait_for

BASE = "plainwater/testing"
ORDER = f"{BASE}/benches/east/order"
STRENGTH = f"{BASE}/benches/east/strength"
DOSED = f"{BASE}/benches/east/dosed"
SCHEMA = json.loads((ROOT / "config" / "schemas" / "dosed.json").read_text())
WATER_EC, FULL_ML, EC_PER_ML = 0.2, 10.0, 0.08


def text(time):
    return time.strftime("%Y-%m-%dT%H:%M:%SZ")


def order(percent=40, good_for=3600, now=None, **changes):
    """An order for `east` of the pump `one`, full feed being 10 mL in a litre."""
    now = now or datetime.datetime.now(datetime.timezone.utc)
    ml = FULL_ML * percent / 100
    dose = {"recipe": "house", "water": "rain", "ml_per_litre": ml, "injector_ratio": 1000 / ml if ml else None, "ppm_n": 1.25 * percent,
            "ec": round(WATER_EC + ml * EC_PER_ML, 3), "water_ec": WATER_EC, "problem": None}
    return {"bench": "east", "feeding": "reduced" if percent else "plain-water", "strength_percent": percent, "stock": "open" if percent else "locked",
            "cause": "dull-season", "because": "Days are short.", "hold": None, "issued": text(now),
            "valid_until": text(now + datetime.timedelta(seconds=good_for)), "epoch": 0, "sequence": int(now.timestamp()), "pump": "one", "pump_mode": "armed",
            "pump_strength_percent": percent, "limited_by": None, "untrusted": False, "dose": dose, "instance": "main", **changes}


def expiring(interval_s):
    properties = Properties(PacketTypes.PUBLISH)
    properties.MessageExpiryInterval = interval_s
    return properties


class Pump:
    """A running stand-in for `east`, ten waterings a second."""

    def __init__(self, folder, broker, *more, every="100ms"):
        self.log, self.out = folder / "pump.jsonl", folder / "pump.out"
        arguments = ["--broker", broker.url, "--site", "testing", "--pump", "one", "--bench", "east", "--every", every, "--litres", "2", "--log", self.log, *more]
        self.process = subprocess.Popen([BIN / "pump-stand-in", *map(str, arguments)], stdout=open(self.out, "a"), stderr=subprocess.STDOUT)
        wait_for(lambda: "listens" in self.told() or self.process.poll() is not None, "the pump to listen")
        assert self.process.poll() is None, self.told()

    def told(self):
        return self.out.read_text()

    def waterings(self):
        return [json.loads(line) for line in self.log.read_text().splitlines(keepends=True) if line.endswith("\n")]

    def last(self):
        assert self.process.poll() is None, self.told()
        waterings = self.waterings()
        return waterings[-1] if waterings else {}

    def gives_feed(self, percent):
        wait_for(lambda: self.last().get("strength_percent") == percent, f"feed of {percent} %; log: {self.log.read_text()[-300:]}")

    def gives_plain_water(self, because):
        last = wait_for(lambda: self.last().get("plain_water_because") == because and self.last(), f"plain water by {because}; log: {self.log.read_text()[-300:]}")
        assert (last["litres"], last["feed_ml"], last["strength_percent"]) == (2, 0, 0)

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(30)


@pytest.fixture
def start(tmp_path, broker):
    pumps = []

    def make(*more, **how):
        pumps.append(Pump(tmp_path, broker, *more, **how))
        return pumps[-1]
    yield make
    for pump in pumps:
        if pump.process.poll() is None:
            pump.process.kill()
            pump.process.wait()


def test_it_obeys(start, client):
    reports = client.subscribe(DOSED)
    pump = start()
    pump.gives_plain_water("no-order")
    first = order()
    client.publish(ORDER, first, expiring(3600), retain=True)
    pump.gives_feed(40)
    told = wait_for(lambda: [r for r in reports if r.json()["strength_percent"] == 40], "a report")[-1]
    assert not told.retain and told.qos == 1
    report = told.json()
    assert report == {"time": report["time"], "pump": "one", "litres": 2, "feed_ml": 8, "strength_percent": 40, "ec": 0.52, "epoch": 0, "sequence": first["sequence"]}
    client.publish(ORDER, order(0, sequence=first["sequence"] + 1), expiring(3600), retain=True)
    pump.gives_plain_water("locked")
    client.publish(ORDER, order(60, sequence=first["sequence"] + 2, pump_mode="advise"), expiring(3600), retain=True)
    pump.gives_plain_water("advise")
    # Older than what it has seen: ignored.
    client.publish(ORDER, first)
    wait_for(lambda: "older" in pump.told(), "the refusal of an older order")
    pump.gives_plain_water("advise")
    assert pump.stop() == 0
    times = [datetime.datetime.fromisoformat(r.json()["time"].replace("Z", "+00:00")) for r in reports]
    assert times == sorted(times)
    for r in reports:
        jsonschema.validate(r.json(), SCHEMA, format_checker=jsonschema.FormatChecker())


def test_the_schema_of_reports_is_one_and_refuses_what_the_service_refuses():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    for good in ({"litres": 2}, {"runoff_ec": 1.2, "ec_compensated": False, "water_c": 14.5}, {"feed_ml_total": 5.5, "litres_total": 100}):
        jsonschema.validate(good, SCHEMA)
    for bad in ({}, {"time": "2026-10-12T12:00:00Z", "pump": "one"}, {"litres": -1}, {"litres": 1, "colour": "blue"}, {"strength_percent": 101}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(bad, SCHEMA)


@pytest.mark.parametrize("bad", ["", "{", "[1]", json.dumps(order())[:-1], json.dumps(order(pump_strength_percent=400)), json.dumps(order(bench="west"))])
def test_what_it_does_not_understand_is_plain_water_until_a_good_order(start, client, bad):
    pump = start()
    client.publish(ORDER, order())
    pump.gives_feed(40)
    client.publish(ORDER, bad)
    pump.gives_plain_water("other-bench" if '"west"' in bad else "not-understood")
    client.publish(ORDER, order())
    pump.gives_feed(40)


def test_an_order_ends_while_the_service_is_silent(start, client):
    pump = start()
    client.publish(ORDER, order(good_for=2))
    pump.gives_feed(40)
    pump.gives_plain_water("expired")


def test_without_a_clock_the_messages_expiry_ends_it(start, client, broker):
    pump = start("--clock", "none")
    # By its own text it would be good for an hour; nobody without a clock may go by that.
    client.publish(ORDER, order(), expiring(2), retain=True)
    pump.gives_feed(40)
    assert pump.last()["time"] is None
    pump.gives_plain_water("expired")


def test_a_retained_order_that_has_ended_feeds_nothing(start, client):
    client.publish(ORDER, order(good_for=-60), retain=True)
    pump = start()
    pump.gives_plain_water("expired")
    assert not [w for w in pump.waterings() if w["feed_ml"]]


def test_without_clock_and_expiry_a_retained_order_feeds_nothing(start, client):
    client.publish(ORDER, order(), retain=True)
    pump = start("--clock", "none", "--mqtt", "3.1.1")
    pump.gives_plain_water("age-unknown")
    client.publish(ORDER, order())
    pump.gives_feed(40)


def test_when_the_broker_dies_the_order_ends_and_water_goes_on(start, client, broker):
    pump = start()
    client.publish(ORDER, order(good_for=4))
    pump.gives_feed(40)
    broker.stop()
    pump.gives_plain_water("expired")


def test_a_simple_pump_follows_the_strength_and_silence_is_plain_water(start, client):
    pump = start("--follow", "strength", "--patience", "2s")
    pump.gives_plain_water("silent")
    client.publish(STRENGTH, "25")
    pump.gives_feed(25)
    pump.gives_plain_water("silent")
    client.publish(STRENGTH, "0")
    pump.gives_plain_water("nothing-ordered")
    client.publish(STRENGTH, "a quarter")
    pump.gives_plain_water("not-understood")


def test_reports_made_while_the_broker_is_away_come_later(start, broker):
    """A listener with a persistent session hears of every watering, with its own time."""
    listen = ["mosquitto_sub", "-h", "127.0.0.1", "-p", str(broker.port), "-i", "listener", "-c", "-q", "1", "-t", DOSED]
    assert subprocess.run([*listen, "-E"]).returncode == 0
    pump = start()
    for _ in range(2):
        count = len(pump.waterings())
        wait_for(lambda: len(pump.waterings()) > count + 5, "waterings")
        broker.stop()
        count = len(pump.waterings())
        wait_for(lambda: len(pump.waterings()) > count + 15, "waterings without a broker")
        listens = pump.told().count("listens")
        broker.start()
        wait_for(lambda: pump.told().count("listens") > listens, "the pump to come back")
    assert pump.stop() == 0, pump.told()
    done = {w["time"] for w in pump.waterings()}
    heard = subprocess.run([*listen, "-W", "3"], capture_output=True, text=True)
    reported = [json.loads(line)["time"] for line in heard.stdout.splitlines()]
    assert done <= set(reported), sorted(done - set(reported))
    assert set(reported) <= done


FAULTS = {
    # fault: reported strength, reported mL, EC; stock really drawn
    "stuck-open": (0, 20, WATER_EC + 10 * EC_PER_ML, 20),
    "siphoning": (0, 0, WATER_EC + 4 * EC_PER_ML, 8),
    "wrong-ratio": (40, 8, WATER_EC + 8 * EC_PER_ML, 16),
    "replaying": (40, 8, WATER_EC + 4 * EC_PER_ML, 8),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_shows_in_its_reports(start, client, fault):
    reports = client.subscribe(DOSED)
    pump = start("--fault", fault)
    first = order()
    client.publish(ORDER, first)
    wait_for(lambda: pump.last().get("epoch") == 0, "the order to be followed")
    followed = first["sequence"]
    if fault != "wrong-ratio":
        client.publish(ORDER, order(0, sequence=first["sequence"] + 1))
        if fault != "replaying":
            followed += 1
            wait_for(lambda: pump.last()["sequence"] == followed, "the locked order to be known")
    seen = len(reports)
    report = wait_for(lambda: reports[seen + 2:], "reports")[0].json()
    strength, ml, ec, drawn = FAULTS[fault]
    assert (report["strength_percent"], report["feed_ml"], report["sequence"]) == (strength, ml, followed)
    assert report["ec"] == pytest.approx(ec, abs=0.001)
    assert pump.last()["feed_ml"] == drawn


def test_a_dead_pump_neither_waters_nor_reports(start, client):
    reports = client.subscribe(DOSED)
    pump = start("--fault", "dead")
    client.publish(ORDER, order())
    wait_for(lambda: len(pump.waterings()) > 10, "times when it should have watered")
    assert {(w["litres"], w["plain_water_because"]) for w in pump.waterings()} == {(0, "dead")}
    assert pump.stop() == 0
    assert not reports


def test_the_ec_cut_out_stops_the_water_too_until_a_person_resets_it(start, client):
    reports = client.subscribe(DOSED)
    pump = start("--ec-limit", "0.6")
    client.publish(ORDER, order(60))
    wait_for(lambda: pump.last().get("plain_water_because") == "cut-out" and pump.last()["litres"] == 0, "the cut-out")
    client.publish(ORDER, order(20, sequence=order()["sequence"] + 1))
    count = len(pump.waterings())
    wait_for(lambda: len(pump.waterings()) > count + 5, "waterings that give nothing")
    assert pump.last()["plain_water_because"] == "cut-out"
    assert max(r.json().get("ec", 0) for r in reports) == pytest.approx(WATER_EC + 6 * EC_PER_ML)
    pump.process.send_signal(signal.SIGUSR1)
    pump.gives_feed(20)


def test_its_own_cap_holds_whatever_is_ordered(start, client):
    pump = start("--daily-feed-ml", "30")
    client.publish(ORDER, order())
    pump.gives_plain_water("daily-cap")
    assert sum(w["feed_ml"] for w in pump.waterings()) == 24


def test_counters_for_those_who_would_rather_add(start, client):
    reports = client.subscribe(DOSED)
    pump = start("--reports-totals")
    client.publish(ORDER, order())
    pump.gives_feed(40)
    wait_for(lambda: len(reports) > 20, "reports")
    assert pump.stop() == 0
    totals = [r.json() for r in reports]
    assert all("litres" not in t and "feed_ml" not in t for t in totals)
    litres = [t["litres_total"] for t in totals]
    assert litres == sorted(litres) and litres[0] < litres[-1]
    waterings = pump.waterings()
    assert totals[-1]["litres_total"] == sum(w["litres"] for w in waterings)
    assert totals[-1]["feed_ml_total"] == sum(w["feed_ml"] for w in waterings)
    jsonschema.validate(totals[-1], SCHEMA)


def test_it_waters_by_the_time_in_messages_and_a_fault_has_its_days(broker, client, tmp_path, start):
    """A season played fast: every mark gets its watering, with its own time, and orders are judged by that time."""
    reports = client.subscribe(f"{BASE}/benches/+/dosed")
    begin = datetime.datetime(2026, 10, 1, 6, tzinfo=datetime.timezone.utc)
    pump = start("--bench", "west", "--clock", "topic", "--clock-topic", "house/#", "--clock-field", "time", "--offset", "8h",
                 "--fault", "stuck-open:2026-10-04/2026-10-05", "--fault", "dead:2026-10-06/2026-10-07", "--waterings", "16", every="24h")
    client.publish("house/air", {"time": text(begin)})
    client.publish(ORDER, order(now=begin, good_for=26 * 3600))
    for hour in range(0, 9 * 24, 3):
        # A second sensor is behind; the newest time counts. What has no time is passed over.
        client.publish("house/air", {"time": text(begin + datetime.timedelta(hours=hour))})
        client.publish("house/late", {"time": text(begin + datetime.timedelta(hours=hour - 40))})
        client.publish("house/word", "good morning")
    assert pump.process.wait(30) == 0, pump.told()
    marks = [f"2026-10-{day:02}T08:00:00Z" for day in range(1, 9)]
    east = [w for w in pump.waterings() if w["bench"] == "east"]
    assert [w["time"] for w in east] == marks
    assert [w["plain_water_because"] for w in east] == [None, "expired", "expired", "expired", "expired", "dead", "expired", "expired"]
    assert [w["feed_ml"] for w in east] == [8, 0, 0, 20, 0, 0, 0, 0]
    told = [r.json()["time"] for r in reports if "/east/" in r.topic]
    assert told == [mark for mark in marks if "-06T" not in mark]
    assert len([r for r in reports if "/west/" in r.topic]) == 7


GOOD = ("--broker", "mqtt://127.0.0.1:1", "--site", "testing", "--pump", "one", "--bench", "east")


@pytest.mark.parametrize("arguments, says", [
    ((), "--broker"),
    (GOOD[:-2], "--bench"),
    ((*GOOD, "--fault", "tired"), "tired"),
    ((*GOOD, "--fault", "dead:2026-11-04/2026-11-03"), "before"),
    ((*GOOD, "--clock", "none", "--fault", "dead:2026-11-03/2026-11-04"), "needs a clock"),
    ((*GOOD, "--clock", "topic"), "--clock-topic"),
    ((*GOOD, "--clock-field", "time"), "--clock-topic"),
    ((*GOOD, "--every", "often"), "often"),
    ((*GOOD, "--every", "1ms"), "too short"),
    ((*GOOD, "--bench", "a/b"), "a/b"),
    ((*GOOD, "--follow", "its nose"), "its nose"),
    (("--broker", "carrier-pigeon://loft", *GOOD[2:]), "carrier-pigeon"),
])
def test_wrong_usage_is_told(arguments, says):
    result = run("pump-stand-in", *arguments)
    assert result.returncode == 2
    assert says in result.stderr


def test_an_unreachable_broker_is_exit_code_3():
    result = run("pump-stand-in", *GOOD)
    assert result.returncode == 3
    assert "127.0.0.1:1" in result.stderr
