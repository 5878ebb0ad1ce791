"""A storm of malformed messages at full speed: memory and log stay flat, each message is counted, good readings still flow."""
import collections
import json
import random
import threading
import time

import paho.mqtt.client as paho

from clock import now_text
from conftest import PATIENCE, SETTINGS, wait_for
from faults import OrderWatch, record, times
from mqtt5 import Client
from season import export, readings

GOOD = "house/east/air"
STORM_SETTINGS = SETTINGS.replace("sensors:\n", "sensors:\n  \"{{1}}\":\n    topic: fleet/+/air\n    form: json\n    temperature: /t\n    time: /time\n", 1)
FLAT_KIB = 4096  # allowed growth of RSS after the first tenth, however many messages follow
LOG_BYTES = 100_000

WELL_FORMED_REQUEST = {"id": "q", "who": "Sam", "request": "hold", "bench": "nobody"}
WELL_FORMED_DOSE = {"id": "d1", "litres": 2.0, "stock_ml": 0, "strength_percent": 0}


def mutated(chance, valid):
    payload = bytearray(json.dumps(valid).encode())
    for _ in range(chance.randint(1, 6)):
        payload[chance.randrange(len(payload))] = chance.randrange(256)
    if chance.random() < 0.2:
        del payload[chance.randrange(len(payload)):]
    return bytes(payload)


def counted(chance, n):
    """(topic, payload, reason): refused once each, for this reason."""
    return chance.choice([
        lambda: (GOOD, b'{"t": 21.0', "not-json"),
        lambda: (GOOD, b'{"t": %d, "x": "%s"}' % (n, b"y" * chance.choice([66_000, 70_000])) if n % 200 == 0 else b"[" * chance.randint(1, 40), None),
        lambda: (GOOD, b'{"t": 21.0, "x": "\xff\xfe%d"}' % n, "not-utf8"),
        lambda: (GOOD, b'{"t": ' + b"[" * chance.randint(20, 200) + b"]" * 20 + b"}", None),
        lambda: (GOOD, b'{"temperature": %d}' % n, "missing-field"),
        lambda: (GOOD, b'{"t": "warm %d"}' % n, "not-a-number"),
        lambda: (GOOD, b'{"t": 1e%d}' % chance.randint(310, 9999), "not-finite"),
        lambda: (GOOD, b'{"t": 21.0, "time": "%d o\'clock"}' % n, "bad-time"),
        lambda: (GOOD, b'{"t": %d}' % chance.randint(5000, 10**9), "out-of-domain"),
        lambda: ("house/west/air", chance.choice([b"", b"NaN", b"inf", b"21,5", b"0x15", b"1" * 400]), None),
        lambda: (f"fleet/{chance.randrange(10**9)}/air", b'{"t": 21.0}', "unmapped-topic"),
        lambda: ("fleet/" + "x" * chance.randint(1, 2000) + f"{n}/air", b"21.0", "unmapped-topic"),
        lambda: ("plainwater/testing/requests", b"{%d" % n, "request-not-json"),
        lambda: ("plainwater/testing/requests", b'{"id": "s%d", "who": "x", "request": "flood-%d"}' % (n, n), "request-unknown-request"),
        lambda: (f"plainwater/testing/benches/{chance.randrange(10**9)}/dosed", json.dumps(WELL_FORMED_DOSE).encode(), None),
        lambda: ("plainwater/testing/benches/east/dosed", b'{"litres": %d' % n, "dose-not-json"),
    ])()


def uncounted(chance, n):
    """(topic, payload): valid by chance, or of no concern."""
    return chance.choice([
        lambda: (GOOD, mutated(chance, {"t": 21.5, "rh": 60, "time": "2020-01-01T00:00:00Z"})),
        lambda: (f"fleet/{n}/air", mutated(chance, {"t": 21.5})),
        lambda: ("plainwater/testing/requests", mutated(chance, WELL_FORMED_REQUEST)),
        lambda: ("plainwater/testing/benches/east/dosed", mutated(chance, WELL_FORMED_DOSE)),
        lambda: ("plainwater/testing/benches/east/order", mutated(chance, {"bench": "east", "epoch": 1, "sequence": 1, "valid_until": "2020-01-01T00:00:00Z"})),
        lambda: (f"plainwater/testing/benches/no-{n}/order",
                 json.dumps({"epoch": 1, "sequence": n, "valid_until": "2099-01-01T00:00:00Z", "bench": f"no-{n}"}).encode()),
    ])()


class Publisher:
    """At full speed, never more than a few thousand unacknowledged."""

    def __init__(self, broker):
        self.client = paho.Client(client_id="storm", protocol=paho.MQTTv311)
        self.client.max_inflight_messages_set(500)
        self.client.max_queued_messages_set(0)
        self.sent, self.acknowledged = 0, 0
        self.client.on_publish = self._published
        self.client.connect("127.0.0.1", broker.port)
        self.client.loop_start()

    def _published(self, *_):
        self.acknowledged += 1

    def send(self, topic, payload, qos, retain=False):
        while self.sent - self.acknowledged > 1000:
            time.sleep(0.001)
        self.sent += 1
        self.client.publish(topic, payload, qos=qos, retain=retain)

    def settle(self):
        wait_for(lambda: self.acknowledged == self.sent, "all to be acknowledged", 300)

    def close(self):
        self.client.disconnect()
        self.client.loop_stop()


class GoodReadings:
    def __init__(self, broker):
        self.broker, self.sent, self.running = broker, {}, True
        self.thread = threading.Thread(target=self._run)
        self.thread.start()

    def _run(self):
        with Client(self.broker.port) as client:
            while self.running:
                at = now_text()
                value = 17 + len(self.sent) % 50 / 8
                # Do not wait for the broker's acknowledgement here: the storm keeps it busy.
                last = client.client.publish(GOOD, json.dumps({"t": value, "rh": 60.5, "time": at}), qos=1)
                self.sent[at] = value
                time.sleep(1)
            last.wait_for_publish(PATIENCE)

    def stop(self):
        self.running = False
        self.thread.join()

    def lost(self, daemon):
        stored = readings(export(daemon)[0])
        return [at for at, value in self.sent.items() if stored.get((at, "east-air"), (None,))[0] != value]


class OurOrders(OrderWatch):
    """Log lines not caused by the storm."""

    def _keep(self, client, data, message):
        try:
            order = json.loads(message.payload)
        except ValueError:
            return
        if isinstance(order, dict) and "issued" in order:
            super()._keep(client, data, message)


def memory_kib(daemon):
    status = open(f"/proc/{daemon.process.pid}/status").read()
    return int(status.split("VmRSS:")[1].split()[0])


def refused(client, daemon):
    """Counts by reason, from a heartbeat after this call."""
    beats = client.subscribe(daemon.topic)
    known = len(beats)
    wait_for(lambda: len(beats) > known and not beats[-1].retain, "a heartbeat", 90)
    assert len(beats[-1].payload) < 4096, beats[-1].payload
    return beats[-1].json().get("refused", {})


def test_a_storm_of_malformed_messages(broker, make_daemon):
    whole = times(50_000, 1_000_000)
    chance = random.Random(20261124)
    daemon = make_daemon(STORM_SETTINGS)
    daemon.start()
    with OurOrders(broker, "testing") as watch, Client(broker.port) as client:
        storm, good = Publisher(broker), GoodReadings(broker)
        begun, expected, with_qos_1, early = time.monotonic(), collections.Counter(), 0, None
        try:
            # Every message of the first half is counted; the second half may contain valid ones by chance.
            for n in range(whole // 2):
                topic, payload, reason = counted(chance, n)
                storm.send(topic, payload, 1)
                with_qos_1 += 1
                expected[reason] += 1
                if n == whole // 10:
                    storm.settle()
                    early = memory_kib(daemon), len(daemon.log.read_text())
            storm.settle()
            client.publish(GOOD, b"the last of them")
            with_qos_1 += 1
            deadline = time.monotonic() + 120
            while sum((counts := refused(client, daemon)).values()) < with_qos_1 and time.monotonic() < deadline:
                pass
            for n in range(whole // 2, whole):
                topic, payload = uncounted(chance, n)
                storm.send(topic, payload, n % 2, retain=n % 5000 == 0)
            storm.settle()
            took = time.monotonic() - begun
            # A request is answered after everything that came before it.
            reply = client.ask("plainwater/testing/requests", {"id": "last", "who": "Sam", "request": "hold", "bench": "nowhere"})
        finally:
            good.stop()
            storm.close()
        late = memory_kib(daemon), len(daemon.log.read_text())
        deadline = time.monotonic() + 30
        while (lost := good.lost(daemon)) and time.monotonic() < deadline:
            time.sleep(0.2)
        wrong = watch.wrong(export(daemon)[1])
    print(f"RSS {early[0]} KiB after a tenth, {late[0]} KiB at the end; log {early[1]} and {late[1]} bytes; {whole / took:.0f} messages/s")
    record("malformed payloads", whole, len(lost), len(wrong), None, f"memory {late[0] - early[0]:+} KiB after the first tenth")
    assert reply["problem"] == "unknown-bench", reply
    assert sum(counts.values()) == with_qos_1, (counts, expected)
    for reason, count in expected.items():
        assert reason is None or counts[reason] >= count, (reason, count, counts)
    assert not lost and not wrong
    assert late[0] - early[0] < FLAT_KIB
    assert late[1] < LOG_BYTES
    assert len(good.sent) > took / 3, "good readings did not flow"
