"""Payloads that no sensor should send: survived and counted, and good readings still flow."""
import json
import random

from clock import now_s, text_of_s
from conftest import wait_for
from season import export, readings

TOPIC = "house/east/air"


def good(t, seconds_ago=0):
    return {"t": t, "rh": 60.5, "time": text_of_s(now_s() - seconds_ago)}


def good_one_arrives(client, daemon, t):
    """A good reading is stored although it comes after the bad ones."""
    client.publish(TOPIC, good(t))
    wait_for(lambda: any(value[0] == t for value in readings(export(daemon)[0]).values()), f"the good reading {t} in the journal")
    assert daemon.process.poll() is None, daemon.tail()


def refused(client, daemon, *reasons):
    """Waits for a heartbeat whose counts include all of these."""
    heartbeats = client.subscribe(daemon.topic)
    wait_for(lambda: heartbeats and all(heartbeats[-1].json().get("refused", {}).get(reason, 0) > 0 for reason in reasons),
             f"counts of {reasons}, last: {heartbeats[-1].json() if heartbeats else None}", patience=90)
    return heartbeats[-1].json()["refused"]


BAD = {
    "too-large": b'{"t": 21.0, "x": "' + b"y" * 70_000 + b'"}',
    "not-utf8": b'{"t": 21.0, "x": "\xff\xfe"}',
    "not-json": b'{"t": 21.0',
    "too-deep": b'{"t": ' + b"[" * 30_000 + b"]" * 30_000 + b"}",
    "missing-field": b'{"temperature": 21.0}',
    "not-a-number": b'{"t": "warm"}',
    "not-finite": b'{"t": 1e400}',
    "bad-time": b'{"t": 21.0, "time": "yesterday"}',
    "out-of-domain": b'{"t": 5000.0}',
}


def test_each_kind_is_counted_by_name_and_good_readings_still_flow(daemon, client):
    for payload in BAD.values():
        client.publish(TOPIC, payload)
    client.publish("house/west/air", b"NaN")
    client.publish("house/west/air", b"inf")
    client.publish("house/west/air", b"")
    good_one_arrives(client, daemon, 21.25)
    refused(client, daemon, *BAD)
    stored = readings(export(daemon)[0])
    assert all(value[0] == 21.25 for value in stored.values()), stored


def test_readings_of_a_wrong_time_decide_nothing(daemon, client):
    client.publish(TOPIC, {"t": 2.0, "rh": 50, "time": "1970-01-01T00:00:05Z"})
    client.publish(TOPIC, good(3.0, seconds_ago=-86400))
    good_one_arrives(client, daemon, 20.5)
    counts = refused(client, daemon, "bad-time", "future")
    assert counts["future"] >= 1


def test_a_retained_reading_without_a_time_is_not_used(make_daemon, client):
    client.publish("house/west/air", b"11.5", retain=True)
    daemon = make_daemon()
    daemon.start()
    client.publish("house/west/air", b"12.5")
    wait_for(lambda: any(value[0] == 12.5 for value in readings(export(daemon)[0]).values()), "the live reading")
    assert not any(value[0] == 11.5 for value in readings(export(daemon)[0]).values())
    refused(client, daemon, "untimed-retained")


def test_every_prefix_of_a_good_payload(daemon, client):
    text = json.dumps(good(22.75)).encode()
    for length in range(len(text)):
        client.publish(TOPIC, text[:length])
    good_one_arrives(client, daemon, 22.5)
    assert {value[0] for value in readings(export(daemon)[0]).values()} == {22.5}


def test_thousands_of_random_payloads(daemon, client):
    chance = random.Random(20260914)
    valid = json.dumps(good(19.5)).encode()
    for _ in range(3000):
        payload = bytearray(valid)
        for _ in range(chance.randint(1, 6)):
            payload[chance.randrange(len(payload))] = chance.randrange(256)
        client.publish(chance.choice([TOPIC, "house/west/air", "plainwater/testing/requests"]), bytes(payload))
    good_one_arrives(client, daemon, 18.125)
