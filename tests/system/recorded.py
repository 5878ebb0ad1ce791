"""A house with traffic on every topic, and a `#` subscriber that records all of it."""
import json

from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from clock import now_text
from conftest import wait_for

BASE = "plainwater/testing"


def ask(client, request):
    """Like the command line: the reply goes to a topic of the site."""
    topic = f"{BASE}/replies/{request['id']}"
    replies = client.subscribe(topic)
    properties = Properties(PacketTypes.PUBLISH)
    properties.ResponseTopic, properties.CorrelationData = topic, request["id"].encode()
    client.publish(f"{BASE}/requests", request, properties)
    reply = wait_for(lambda: replies, f"a reply to {request}")[0]
    assert reply.properties.CorrelationData == request["id"].encode()
    return reply.json()


def record(daemon, broker):
    """[(topic, payload text)] of a run from start to stop."""
    with broker.client() as listener, broker.client() as client:
        heard = listener.subscribe("#")
        daemon.start()
        # Sensors and pumps of the settings, and requests with replies, including a bad one.
        client.publish("house/east/air", {"t": 21.4, "rh": 63.0, "time": now_text()})
        client.publish("house/west/air", "19.5")
        client.publish(f"{BASE}/benches/east/dosed", {"time": now_text(), "pump": "east", "litres": 2.0, "strength_percent": 0})
        assert ask(client, {"id": "c-1", "who": "Ines", "request": "hold", "bench": "east"})["done"]
        assert not ask(client, {"id": "c-2", "who": "Ines", "request": "arm", "pump": "nobody's"})["done"]

        def seen(leaf, when=lambda payload: True):
            return wait_for(lambda: [m for m in heard if m.topic.endswith(leaf) and when(m.payload)], f"something on {leaf}", patience=90)
        for leaf in ("/order", "/strength", "/placard", "/position", "/fence"):
            seen(leaf)
        seen("east/climate", lambda payload: json.loads(payload)["temperature_c"] == 21.4)
        daemon.stop()
        seen("/service/main", lambda payload: json.loads(payload)["state"] == "offline")
        return [(m.topic, m.payload.decode()) for m in heard]
