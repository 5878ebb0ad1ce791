"""The broker's address is answered by something else, or by a broken broker: half packets, garbage, impossible sizes. The
service survives, stays small, and reconnects as soon as the real broker is back."""
import contextlib
import os
import pathlib
import socket
import sqlite3
import struct
import threading

import paho.mqtt.client as paho
import pytest

from conftest import wait_for
from faults import OrderWatch
from outage import LONGEST_BACKOFF, SETTINGS, Sensors, arm, in_store
from proxy import hang_up, read_packet

TAKES_S = 125

CONNACK = b"\x20\x03\x00\x00\x00"


def publish(body, flags=2):
    return bytes([0x30 | flags]) + length(len(body)) + body


def length(size):
    out = b""
    while True:
        size, low = size >> 7, size & 127
        out += bytes([low | (128 if size else 0)])
        if not size:
            return out


def text(value):
    return struct.pack(">H", len(value)) + value


# The answer to the service's CONNECT; `hold`: then the connection stays open and silent.
ODD = {
    "nothing": (b"", False),
    "silence": (b"", True),
    "half a yes": (CONNACK[:3], True),
    "half a yes, the end": (CONNACK[:3], False),
    "an endless size": (b"\x20\xff\xff\xff\xff\xff\xff", True),
    "the largest size": (b"\x20\xff\xff\xff\x7f" + bytes(1000), True),
    "another protocol": (b"HTTP/1.1 400 Bad Request\r\nConnection: close\r\n\r\n", False),
    "an alert of TLS": (b"\x15\x03\x01\x00\x02\x02\x46", False),
    "zeros": (bytes(5000), False),
    "ones": (b"\xff" * 5000, False),
    "properties beyond the yes": (b"\x20\x03\x00\x00\x7f", True),
    "an unknown property": (b"\x20\x05\x00\x00\x02\x7d\x01", False),
    "a yes twice": (CONNACK * 2, True),
    "the largest message": (CONNACK + b"\x32\xff\xff\xff\x7f" + text(b"house/east-a/air") + bytes(1000), True),
    "a topic beyond its message": (CONNACK + publish(b"\xff\xffhouse"), False),
    "a message without a topic": (CONNACK + publish(b""), False),
    "properties beyond the message": (CONNACK + publish(text(b"house/east-a/air") + b"\x00\x01\x7f"), False),
    "properties without an end": (CONNACK + publish(text(b"house/east-a/air") + b"\x00\x01\xff\xff\xff\xff\xff"), False),
    "a topic that is no text": (CONNACK + publish(text(b"\xff\xfe\x00\xc3") + b"\x00\x01\x00{}"), False),
    "a quality of 3": (CONNACK + publish(text(b"house/east-a/air") + b"\x00\x01\x00{}", 6), False),
    "answers to no question": (CONNACK + b"\x90\x04\x00\x63\x00\x00" + b"\x40\x02\x00\x63" + b"\x62\x02\x00\x63" + b"\xb0\x04\x00\x63\x00\x00", False),
    "answers without codes": (CONNACK + b"\x90\x03\x00\x01\x00" + b"\x40\x00" + b"\x90\x00", False),
    "a question of a client": (CONNACK + b"\x10\x00" + b"\x82\x00" + b"\xc0\x00", False),
    "a reserved packet": (CONNACK + b"\x00\x00" + b"\xf0\x00", False),
    "goodbye at once": (CONNACK + b"\xe0\x01\x8b", False),
    "half a goodbye": (CONNACK + b"\xe0\x05\x8b\x03\x1f", False),
}


class Pretender:
    """Listens in the broker's place. While `odd` is set each connection gets that; otherwise it is passed on to the real one,
    except MQTT 5 while it is `old`."""

    def __init__(self, upstream, old=False):
        self.upstream, self.old, self.odd, self.served, self.open = upstream, old, None, 0, []
        self.listener = socket.socket()
        self.listener.bind(("127.0.0.1", 0))
        self.listener.listen(50)
        self.port = self.listener.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def be(self, odd):
        """Takes effect for new connections; existing ones end."""
        self.odd, self.served = odd, 0
        for end in self.open:
            hang_up(end)
        self.open = []

    def _accept(self):
        while True:
            try:
                service, _ = self.listener.accept()
            except OSError:
                return
            threading.Thread(target=self._serve, args=(service,), daemon=True).start()

    def _serve(self, service):
        self.open.append(service)
        try:
            if self.odd is None:
                _, body, first = read_packet(service)
                if self.old and body[6] == 5:
                    service.sendall(b"\x20\x02\x00\x01")
                    return hang_up(service)
                broker = socket.create_connection(("127.0.0.1", self.upstream))
                self.open.append(broker)
                broker.sendall(first)
                threading.Thread(target=pump, args=(broker, service), daemon=True).start()
                return pump(service, broker)
            says, hold = self.odd
            read_packet(service)
            service.sendall(says)
            self.served += 1
            while hold and service.recv(65536):
                pass
        except (OSError, ConnectionError):
            pass
        hang_up(service)


def pump(source, target):
    try:
        while data := source.recv(65536):
            target.sendall(data)
    except OSError:
        pass
    hang_up(source)
    hang_up(target)


def memory_kib(daemon):
    status = pathlib.Path(f"/proc/{daemon.process.pid}/status").read_text()
    return int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1])


@pytest.fixture
def behind(make_daemon, broker, life):
    pretender = Pretender(broker.port)
    daemon = make_daemon(SETTINGS.replace("{url}", f"mqtt://127.0.0.1:{pretender.port}"))
    daemon.start(env=life.env())
    yield pretender, daemon
    pretender.listener.close()


def test_it_survives_anything_but_a_broker_and_reconnects(behind, broker, life):
    pretender, daemon = behind
    sensors = Sensors()
    arm(broker)
    with OrderWatch(broker, "testing") as orders, broker.client() as client:
        wait_for(orders.seen, "an order")
        before = memory_kib(daemon)
        for name, odd in ODD.items():
            pretender.be(odd)
            wait_for(lambda: pretender.served >= 2, f"both clients to have met {name}; log:\n{daemon.tail()}")
            life.looks()
            assert daemon.process.poll() is None, f"{name}: {daemon.tail()}"
        sensors.send(client)
        grown = memory_kib(daemon) - before
        print(f"{grown} KiB more after {len(ODD)} kinds")
        assert grown < 64 * 1024 or "asan" in os.environ.get("PLAINWATER_BIN", "")
        given = len(orders.seen())
        pretender.be(None)
        wait_for(lambda: len(orders.seen()) > given, f"an order again; log:\n{daemon.tail()}", 60 + LONGEST_BACKOFF)
        assert not in_store(daemon, sensors), "what waited came in"
    daemon.stop()


def test_a_broker_without_mqtt_5_loses_nothing_either(make_daemon, broker, client, life):
    """With absences, kills, and a session from a version before client ids had a key, all over 3.1.1."""
    pretender, sensors = Pretender(broker.port, old=True), Sensors()
    daemon = make_daemon(SETTINGS.replace("{url}", f"mqtt://127.0.0.1:{pretender.port}"))
    orders = client.subscribe("plainwater/testing/benches/+/order")
    daemon.start(env=life.env())
    assert "MQTT 3.1.1" in daemon.tail() and "MQTT 5," not in daemon.tail()
    wait_for(lambda: orders, "an order")
    for end in (daemon.stop, daemon.kill):
        for _ in range(50):
            sensors.send(client)
        end()
        for _ in range(50):
            sensors.send(client)
        daemon.start(env=life.env())
        assert not in_store(daemon, sensors)
    daemon.stop()
    with contextlib.closing(sqlite3.connect(daemon.store)) as store, store:
        assert store.execute("DELETE FROM meta WHERE key LIKE 'client_key/%'").rowcount == 1
    former = paho.Client(client_id="plainwater-testing-main-in", clean_session=False, protocol=paho.MQTTv311)
    ready = threading.Event()
    former.on_connect = lambda *_: former.subscribe([("house/+/air", 1), ("plainwater/testing/service/main/fence", 1)])
    former.on_subscribe = lambda *_: ready.set()
    former.connect("127.0.0.1", broker.port)
    former.loop_start()
    assert ready.wait(60)
    former.disconnect()
    former.loop_stop()
    for _ in range(50):
        sensors.send(client)
    daemon.start(env=life.env())
    assert not in_store(daemon, sensors)
    assert "what waited under our former client id is in" in daemon.tail()
    assert not [m for m in orders if m.retain]
    daemon.stop()
