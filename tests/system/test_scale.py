"""A large house: its plain water is sent before everything else. For the time this takes run tools/bench --only scale."""
import json

from conftest import wait_for
from houses import bay, many

BENCHES = 200
BASE = "plainwater/testing"
FENCE = f"{BASE}/service/main/fence"


def is_plain_water(message):
    """True for an order that locks the stock, or the strength of such a bench."""
    if message.topic.endswith("/strength"):
        return message.payload == b"0"
    return message.topic.endswith("/order") and message.json()["stock"] == "locked"


def test_after_the_backlog_plain_water_is_sent_first(make_daemon, client):
    """Every second bench is held, and all pumps are armed: the service restarts, with readings waiting for it."""
    daemon = make_daemon(many(BENCHES))
    daemon.hear_a_night([f"house/{bay(number)}/air" for number in range(1, BENCHES + 1)])
    daemon.start()
    held = {bay(number) for number in range(1, BENCHES + 1, 2)}
    requests = [{"id": f"arm-{number}", "request": "arm", "pump": bay(number)} for number in range(1, BENCHES + 1)]
    requests += [{"id": f"hold-{bench}", "request": "hold", "bench": bench} for bench in sorted(held)]
    for request in requests[:-1]:
        client.client.publish(f"{BASE}/requests", json.dumps({"who": "a test", **request}), qos=1)
    assert client.ask(f"{BASE}/requests", {"who": "a test", **requests[-1]})["done"]
    daemon.stop()
    for number in range(1, BENCHES + 1):
        client.client.publish(f"house/{bay(number)}/air", json.dumps({"t": 18}), qos=1)
    client.caught_up()
    heard = client.subscribe(f"{BASE}/#")
    client.caught_up()
    before = len(heard)
    daemon.start()

    def fed():
        return {m.topic for m in heard[before:] if m.topic.endswith("/order") and m.json()["stock"] == "open"}
    wait_for(lambda: len(fed()) == BENCHES - len(held), "the orders of those who are fed")
    began = next(at for at, message in enumerate(heard) if at >= before and message.topic == FENCE)
    new = heard[began:]
    first = next(at for at, message in enumerate(new) if is_plain_water(message))
    plain = new[first:first + 2 * len(held)]
    assert [message.topic for message in plain if not is_plain_water(message)] == []
    assert {message.topic for message in plain} == {f"{BASE}/benches/{bench}/{what}" for bench in held for what in ("order", "strength")}
    # Only a few messages were in flight at that moment, and no order among them.
    assert len(new[:first]) <= 32 + 1
    assert not [message.topic for message in new[:first] if message.topic.endswith(("/order", "/strength"))]
