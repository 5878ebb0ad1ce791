"""A broken pump's behaviour and reports, its own limits, its counters, and a season played fast."""
import datetime
import signal

import jsonschema
import pytest

from clock import UTC
from conftest import wait_for
from pump import BASE, DOSED, EC_PER_ML, ORDER, SCHEMA, WATER_EC, order, start, text  # noqa: F401


def test_the_schema_of_reports_is_valid_and_refuses_what_the_service_refuses():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    for good in ({"litres": 2}, {"runoff_ec": 1.2, "ec_compensated": False, "water_c": 14.5}, {"feed_ml_total": 5.5, "litres_total": 100}):
        jsonschema.validate(good, SCHEMA)
    for bad in ({}, {"time": "2026-10-12T12:00:00Z", "pump": "one"}, {"litres": -1}, {"litres": 1, "colour": "blue"}, {"strength_percent": 101}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(bad, SCHEMA)


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


def test_counters_instead_of_single_reports(start, client):
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
    begin = datetime.datetime(2026, 10, 1, 6, tzinfo=UTC)
    pump = start("--bench", "west", "--clock", "topic", "--clock-topic", "house/#", "--clock-field", "time", "--offset", "8h",
                 "--fault", "stuck-open:2026-10-04/2026-10-05", "--fault", "dead:2026-10-06/2026-10-07", "--waterings", "16", every="24h")
    client.publish("house/air", {"time": text(begin)})
    client.publish(ORDER, order(at=begin, good_for=26 * 3600))
    for hour in range(0, 9 * 24, 3):
        # A second sensor is behind; the newest time counts. Messages without a time are skipped.
        client.publish("house/air", {"time": text(begin + datetime.timedelta(hours=hour))})
        client.publish("house/late", {"time": text(begin + datetime.timedelta(hours=hour - 40))})
        client.publish("house/word", "good morning")
    assert pump.process.wait(30) == 0, pump.output()
    marks = [f"2026-10-{day:02}T08:00:00Z" for day in range(1, 9)]
    east = [w for w in pump.waterings() if w["bench"] == "east"]
    assert [w["time"] for w in east] == marks
    assert [w["plain_water_because"] for w in east] == [None, "expired", "expired", "expired", "expired", "dead", "expired", "expired"]
    assert [w["feed_ml"] for w in east] == [8, 0, 0, 20, 0, 0, 0, 0]
    reported = [r.json()["time"] for r in reports if "/east/" in r.topic]
    assert reported == [mark for mark in marks if "-06T" not in mark]
    assert len([r for r in reports if "/west/" in r.topic]) == 7
