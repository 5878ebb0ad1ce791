"""The daemon's publications: every retained message compared with its schema, and how long it is valid."""
import datetime
import json
import subprocess
import time

import jsonschema
import pytest

from clock import in_days, instant, now, now_text
from conftest import PATIENCE, ROOT, wait_for
from mqtt5 import Client

BASE = "plainwater/testing"


def schema(name):
    return json.loads((ROOT / "config" / "schemas" / f"{name}.json").read_text())


def retained(broker, topic):
    """The retained messages that a later client gets."""
    def ask():
        with Client(broker.port) as late:
            messages = late.subscribe(topic)
            try:
                return wait_for(lambda: messages, topic, patience=1)[-1]
            except pytest.fail.Exception:
                return None
    return wait_for(ask, f"a retained message on {topic}")


def kept_now(broker, topic):
    """What a client gets that subscribes now, with the time at which it did; None when nothing is retained."""
    with Client(broker.port) as late:
        asked, messages = now(), late.subscribe(topic)
        late.caught_up()
        for message in messages:
            message.asked = asked
        return messages[-1] if messages else None


def validate(message, name):
    jsonschema.Draft202012Validator.check_schema(schema(name))
    jsonschema.validate(message.json(), schema(name), format_checker=jsonschema.FormatChecker())


@pytest.mark.parametrize("bench", ["east", "west"])
def test_orders_are_retained_and_match_the_schema(daemon, broker, bench):
    order = retained(broker, f"{BASE}/benches/{bench}/order")
    assert order.retain and order.qos == 1
    validate(order, "order")
    assert order.json()["bench"] == bench
    assert order.json()["pump_mode"] == "advise"
    assert order.json()["pump"] == ("east" if bench == "east" else None)


def test_an_order_expires(make_daemon, broker):
    make_daemon(more="feeding:\n  order_valid: 1 h\n  reissue: 30 min\n").start()
    topic = f"{BASE}/benches/east/order"
    asked = now()
    first = retained(broker, topic)
    assert 0 < first.expiry_s <= 3600
    order = first.json()
    issued, until = (instant(order[key]) for key in ("issued", "valid_until"))
    assert until - issued == datetime.timedelta(hours=1)
    # The message must not outlive its content, whatever the time between issue and publishing.
    assert first.expiry_s <= (until - asked).total_seconds() + 2
    wait_for(lambda: retained(broker, topic).expiry_s < first.expiry_s, "the broker to count the interval down")


def test_nobody_gets_an_order_after_its_expiry(make_daemon, broker):
    """What a pump or a board gets that subscribes late, after the service has died: nothing, which means plain water."""
    daemon = make_daemon(more="feeding:\n  order_valid: 10 s\n  reissue: 5 s\n")
    daemon.start()
    topic = f"{BASE}/benches/east/order"
    mosquitto_sub = ["mosquitto_sub", "-h", "127.0.0.1", "-p", str(broker.port), "-t", topic, "-C", "1", "-W"]
    alive = subprocess.run([*mosquitto_sub, str(PATIENCE)], capture_output=True, text=True)
    assert json.loads(alive.stdout)["bench"] == "east"
    daemon.kill()
    while kept := kept_now(broker, topic):
        # The broker counts whole seconds.
        assert kept.asked <= instant(kept.json()["valid_until"]) + datetime.timedelta(seconds=2), "it has ended, and is still handed out"
        time.sleep(0.2)
    late = subprocess.run([*mosquitto_sub, "2"], capture_output=True, text=True)
    assert late.stdout == "" and late.returncode != 0


def test_climate_shows_the_last_reading(daemon, broker, client):
    messages = client.subscribe(f"{BASE}/benches/east/climate")
    client.publish("house/east/air", {"t": 21.4, "rh": 63.0, "time": now_text()})
    found = wait_for(lambda: [m for m in messages if m.json()["temperature_c"] == 21.4], "the reading on the climate topic", patience=90)
    validate(found[-1], "climate")
    assert found[-1].json()["humidity_percent"] == 63.0


def test_placards_are_two_short_lines(daemon, broker):
    placard = retained(broker, f"{BASE}/benches/east/placard")
    lines = placard.payload.decode("ascii").split("\n")
    assert len(lines) == 2 and all(0 < len(line) <= 20 for line in lines)
    assert placard.expiry_s


def test_strength_is_plain_text_never_retained_and_zero_until_armed(make_daemon, broker, client):
    daemon = make_daemon()
    daemon.hear_a_night()
    strengths = client.subscribe(f"{BASE}/benches/+/strength")
    daemon.start()
    first = wait_for(lambda: strengths, "a strength")[0]
    assert first.topic == f"{BASE}/benches/east/strength"
    assert first.payload == b"0" and not first.retain and 0 < first.expiry_s <= 900
    reply = client.ask(f"{BASE}/requests", {"id": "arm-1", "who": "a test", "request": "arm", "pump": "east"})
    assert reply["done"], reply
    expected = b"%d" % retained(broker, f"{BASE}/benches/east/order").json()["pump_strength_percent"]
    assert int(expected) > 0
    wait_for(lambda: strengths[-1].payload == expected, f"strength {expected}")
    with Client(broker.port) as late:
        seen = late.subscribe(f"{BASE}/benches/+/strength")
        # The order comes after the strengths would, had they been retained.
        orders = late.subscribe(f"{BASE}/benches/+/order")
        wait_for(lambda: orders, "orders")
        assert not [m for m in seen if m.retain]
    assert not [m for m in strengths if "/west/" in m.topic], "a bench without a pump has no strength"


def test_the_heartbeat_matches_the_schema_and_a_stop_says_offline(daemon, broker):
    topic = f"{BASE}/service/main"
    heartbeat = retained(broker, topic)
    validate(heartbeat, "service")
    assert heartbeat.json()["state"] == "online" and heartbeat.expiry_s <= 180
    daemon.stop()
    wait_for(lambda: retained(broker, topic).json()["state"] == "offline", "offline after a stop")
    validate(retained(broker, topic), "service")


def test_a_killed_daemon_is_reported_offline(daemon, broker, client):
    messages = client.subscribe(f"{BASE}/service/main")
    daemon.kill()
    wait_for(lambda: messages and messages[-1].json()["state"] == "offline", "the will", patience=90)
    validate(messages[-1], "service")


def test_a_newer_order_of_a_second_daemon_stays(make_daemon, broker, client):
    daemon = make_daemon()
    daemon.start()
    topic = f"{BASE}/benches/east/order"
    newer = {**retained(broker, topic).json(), "epoch": 99, "instance": "restored", "store": 16 * "0", "lineage": 16 * "0"}
    daemon.stop()
    client.publish(topic, newer, retain=True)
    orders = client.subscribe(f"{BASE}/benches/+/order")
    daemon.start()
    wait_for(lambda: [m for m in orders if "/west/" in m.topic and not m.retain], "the other bench's order")
    assert retained(broker, topic).json() == newer


def test_ledger_lines_match_the_schema(daemon, client, broker):
    from season import export
    assert client.ask(f"{BASE}/requests", {"id": "1", "who": "a test", "request": "hold", "bench": "east", "until": in_days(20)})["done"]
    lines = [json.loads(line) for line in export(daemon)[1].splitlines()]
    assert [line for line in lines if line["decision"] == "hold-placed" and line["cause"] == "grower"]
    for line in lines:
        jsonschema.validate(line, schema("decision"), format_checker=jsonschema.FormatChecker())
