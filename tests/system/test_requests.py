"""Growers' requests over MQTT 5: replies with correlation data, errors as data, the same id never counts twice."""
import json

import jsonschema
import pytest
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from clock import in_days, instant
from conftest import ROOT, run, wait_for
from season import export

BASE = "plainwater/testing"
REQUESTS = f"{BASE}/requests"
REPLY = json.loads((ROOT / "config" / "schemas" / "reply.json").read_text())


@pytest.fixture
def daemon(fed_daemon):
    return fed_daemon


@pytest.fixture
def ask(daemon, client):
    """ask(request=…, bench=…): the reply, checked against its schema. Without an id each gets its own."""
    numbers = iter(range(1000))

    def ask(**fields):
        request = {"id": f"r{next(numbers)}", "who": "a test", **fields}
        reply = client.ask(REQUESTS, request)
        jsonschema.validate(reply, REPLY)
        assert reply["id"] == request["id"]
        assert reply["text"]
        return reply
    return ask


@pytest.fixture
def order(client, daemon):
    """order(condition): waits until the east bench's order satisfies it, and returns the order."""
    orders = client.subscribe(f"{BASE}/benches/east/order")

    def wait(condition, what):
        wait_for(lambda: orders and condition(orders[-1].json()), what)
        return orders[-1].json()
    return wait


def test_hold_extend_and_release(ask, order):
    before = order(lambda o: True, "an order")
    assert before["feeding"] != "plain-water"
    assert ask(request="hold", bench="east", until=in_days(20), note="repotted")["done"]
    held = order(lambda o: o["feeding"] == "plain-water", "plain water")
    assert held["stock"] == "locked" and held["strength_percent"] == 0
    assert held["hold"]["cause"] == "grower"

    later = in_days(25)
    assert ask(request="extend", bench="east", until=later)["done"]
    order(lambda o: o["hold"]["latest_end"] == later, "the later end")

    assert ask(request="release", bench="east", full=True)["done"]
    released = order(lambda o: o["hold"] is None, "no hold")
    assert released["feeding"] != "plain-water" and released["stock"] == "open"


def test_a_hold_from_a_later_day_begins_then(ask, order):
    order(lambda o: o["feeding"] != "plain-water", "an order")
    assert ask(request="hold", bench="east", **{"from": in_days(3)}, until=in_days(20))["done"]
    # The answer to a second request proves that the first had its effect, if it had one.
    ask(request="release", bench="west")
    assert order(lambda o: True, "an order")["feeding"] != "plain-water"


def test_growth_started_is_accepted_and_recorded(ask, daemon, order):
    before = order(lambda o: True, "an order")
    assert ask(request="growth-started", bench="east")["done"]
    started = [json.loads(line) for line in export(daemon)[1].splitlines() if '"growth-started"' in line]
    assert started and all(d["bench"] == "east" for d in started)
    # Feed rises by a ramp, so not at once, but never falls.
    assert started[-1]["strength_percent"] >= before["strength_percent"]


def test_exempt_is_accepted(ask):
    assert ask(request="exempt", bench="east", until=in_days(30))["done"]


@pytest.mark.parametrize("fields, problem", [
    (dict(request="hold", bench="nowhere"), "unknown-bench"),
    (dict(request="arm", pump="nowhere"), "unknown-pump"),
    (dict(request="release", bench="east"), "nothing-to-release"),
    (dict(request="hold", bench="east", until="2020-01-01T00:00:00Z"), "until-in-the-past"),
    (dict(request="hold", bench="east", untill=in_days(3)), "unknown-field"),
    (dict(request="hold", bench="east", until="in May"), "bad-value"),
    (dict(request="hold"), "missing-field"),
    (dict(request="exempt", bench="east"), "missing-field"),
    (dict(request="water-the-lawn", bench="east"), "unknown-request"),
    (dict(request="extend", bench="east", until=in_days(3)), None),
    (dict(request="acknowledge", bench="east"), None),
])
def test_an_impossible_request_gets_a_reason(ask, daemon, fields, problem):
    before = export(daemon)[1]
    reply = ask(**fields)
    assert not reply["done"] and reply["problem"]
    if problem:
        assert reply["problem"] == problem
    assert export(daemon)[1] == before


@pytest.mark.parametrize("payload", [b"", b"{", b"[]", b"null", b"\xff\xfe", b'"hold"', b"{" * 5000, b"x" * 20000])
def test_malformed_requests_are_answered(client, daemon, payload):
    reply = client.ask(REQUESTS, payload)
    jsonschema.validate(reply, REPLY)
    assert not reply["done"] and reply["problem"] in ("not-json", "too-long")


def test_the_same_id_again_gets_the_same_answer_and_changes_nothing(ask, daemon, order):
    request = dict(id="hold-7", request="hold", bench="east", until=in_days(20))
    first = ask(**request)
    assert first["done"]
    ledger = export(daemon)[1]
    assert ask(**request) == first
    assert export(daemon)[1] == ledger
    # Also after a restart, and also when the hold has been released meanwhile.
    assert ask(id="release-7", request="release", bench="east")["done"]
    daemon.kill()
    daemon.start()
    ledger = export(daemon)[1]
    assert ask(**request) == first
    assert export(daemon)[1] == ledger


def test_a_request_without_a_response_topic_is_accepted_too(client, daemon, order):
    client.publish(REQUESTS, {"id": "quiet", "who": "a test", "request": "hold", "bench": "east", "until": in_days(5)})
    order(lambda o: o["feeding"] == "plain-water", "plain water")


def test_a_hold_survives_kill(client, ask, daemon, order):
    assert ask(request="hold", bench="east", until=in_days(20))["done"]
    held = order(lambda o: o["feeding"] == "plain-water", "plain water")["hold"]
    daemon.kill()
    orders = client.subscribe(f"{BASE}/benches/+/order")
    seen = len(orders)
    daemon.start()
    found = wait_for(lambda: [m for m in orders[seen:] if "/east/" in m.topic and not m.retain], "the order after the restart")
    assert found[-1].json()["hold"] == held


def test_an_id_used_for_something_else_does_not_get_its_answer(ask, order):
    order(lambda o: o["feeding"] != "plain-water", "an order")
    assert not ask(id="twice", request="release", bench="west")["done"]
    assert ask(id="twice", request="hold", bench="east")["problem"] == "id-reused"
    assert ask(request="release", bench="east")["problem"] == "nothing-to-release"


@pytest.mark.parametrize("times, problem", [
    (dict(sent=in_days(-1), expires=in_days(-0.5)), "expired"),
    (dict(sent=in_days(1)), "sent-in-the-future"),
    (dict(sent=in_days(-8)), "sent-too-long-ago"),
])
def test_a_request_outside_its_time_is_not_obeyed(ask, times, problem):
    assert ask(request="hold", bench="east", **times)["problem"] == problem
    assert ask(request="release", bench="east")["problem"] == "nothing-to-release"


def test_a_reply_cannot_be_sent_to_a_notice_topic(client, ask, order):
    notices = client.subscribe(f"{BASE}/notices/#")
    properties = Properties(PacketTypes.PUBLISH)
    properties.ResponseTopic = f"{BASE}/notices/urgent"
    client.publish(REQUESTS, {"id": "sly", "who": "a test", "request": "hold", "bench": "east"}, properties)
    order(lambda o: o["feeding"] == "plain-water", "plain water")  # obeyed all the same
    ask(request="release", bench="west")  # its answer comes after everything published before
    assert not [m for m in notices if b'"done"' in m.payload], "a reply"


def test_a_request_does_not_take_effect_after_its_command_gave_up(client, daemon, order):
    asked = client.subscribe(REQUESTS)
    order(lambda o: True, "an order")
    held = run("plainwater", "hold", "east", "--settings", daemon.settings)
    assert held.returncode == 0, held.stderr
    wait_for(lambda: asked, "the request")
    request = asked[0].json()
    # A minute by the broker's clock; the service's own may differ from the asker's by five.
    assert (instant(request["expires"]) - instant(request["sent"])).total_seconds() == 360
    assert asked[0].expiry_s == 60
    order(lambda o: o["feeding"] == "plain-water", "plain water")
