"""Faults are tried, counted and recorded: one row in the table of tests/README.md for each fault.

tools/test tries each a few times; tools/soak sets PLAINWATER_SOAK=1 and tries it many times. Both count the same way. A test
records its row before its assertions, so that a failure is in the table too."""
import json
import os
import struct
import threading
import uuid

import paho.mqtt.client as paho

from clock import instant
from programs import environment
from waiting import wait_for

LONG = os.environ.get("PLAINWATER_SOAK") == "1"


def times(short, long):
    """How often to try: `short` in tools/test, `long` in tools/soak."""
    return long if LONG else short


def record(fault, tried, lost, wrong, recovery_s, note=""):
    """One row: number of tries, inputs lost, orders that allowed feed when the ledger did not, longest recovery in seconds
    (None: nothing had to recover). Printed, and appended to the file named by PLAINWATER_FAULT_TABLE."""
    row = {"fault": fault, "tried": tried, "lost": lost, "wrong": wrong, "recovery_s": None if recovery_s is None else round(recovery_s, 2), "note": note}
    print(row)
    if table := os.environ.get("PLAINWATER_FAULT_TABLE"):
        with open(table, "a") as file:
            file.write(json.dumps(row) + "\n")


def preloaded(shim, **variables):
    """The environment for a program with tests/preload/<shim>.cpp loaded first."""
    return environment(None, shim, **variables)


class Clocks:
    """The wall clock and the boot clock of a daemon, set from a test: Daemon.start(env=clocks.env)."""

    def __init__(self, folder):
        self.file = folder / "clocks"
        self.file.write_bytes(bytes(24))
        self.env = preloaded("clock", PLAINWATER_TEST_CLOCK=self.file)
        self.shift()

    def shift(self, wall_s=0.0, boot_s=0.0, synchronised=True):
        """Seconds added to each clock; a machine that slept or ran on for a week needs both, a clock that was set the
        first."""
        with open(self.file, "r+b") as file:
            file.write(struct.pack("<qqq", int(wall_s * 1e9), int(boot_s * 1e9), int(synchronised)))


class Disk:
    """The disk below a daemon's store: Daemon.start(env=disk.env)."""

    def __init__(self, folder, store):
        self.file = folder / "disk"
        self.env = preloaded("disk", PLAINWATER_TEST_DISK=self.file, PLAINWATER_TEST_DISK_PATH=store)
        self.is_now("fine")

    def is_now(self, state):
        """fine, full, read-only, broken, or slow N (milliseconds per sync)."""
        whole = self.file.with_suffix(".new")
        whole.write_text(state + "\n")
        whole.rename(self.file)


class OrderWatch:
    """Collects every order that the broker delivers, even over its restarts, and compares them with a ledger."""

    def __init__(self, broker, site):
        self.orders, self.lock = [], threading.Lock()
        self.client = paho.Client(client_id=f"order-watch-{site}", protocol=paho.MQTTv311, clean_session=False)
        self.client.reconnect_delay_set(1, 1)
        if broker.user:
            self.client.username_pw_set(broker.user, broker.password)
        ready = threading.Event()
        self.mark, self.marks = f"test/marks/{uuid.uuid4().hex}", 0
        self.client.on_connect = lambda client, *_: client.subscribe([(f"plainwater/{site}/benches/+/order", 1), (self.mark, 1)])
        self.client.on_subscribe = lambda *_: ready.set()
        self.last_mark = None
        self.client.on_message = self._on_message
        self.client.connect("127.0.0.1", broker.port)
        self.client.loop_start()
        assert ready.wait(30), "the watch over the orders could not subscribe"

    def _on_message(self, client, data, message):
        if message.topic != self.mark:
            return self._keep(client, data, message)
        self.last_mark = message.payload

    def _keep(self, _client, _data, message):
        with self.lock:
            self.orders.append(json.loads(message.payload))

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.client.disconnect()
        self.client.loop_stop()

    def settled(self):
        """Returns when everything that the broker had received before this call has been collected."""
        self.marks += 1
        mark = str(self.marks).encode()
        self.client.publish(self.mark, mark, qos=1)
        wait_for(lambda: self.last_mark == mark, "the watch over the orders to have caught up")

    def seen(self):
        with self.lock:
            return list(self.orders)

    def wrong(self, ledger_text):
        """Orders that allow more than the ledger's last decision about their bench at their time of issue."""
        words = {}  # bench -> [(time, percent)]
        for line in ledger_text.splitlines():
            decision = json.loads(line)
            if decision["bench"]:
                words.setdefault(decision["bench"], []).append((instant(decision["time"]), decision["strength_percent"]))
        found = []
        for order in self.seen():
            at = instant(order["issued"])
            # Decisions of one moment all carry the feeding that they lead to together: the last one counts.
            before = [percent for time, percent in words.get(order["bench"], []) if time <= at]
            allowed = before[-1] if before else 0
            if order["strength_percent"] > allowed or (order["stock"] == "open" and allowed == 0):
                found.append(order)
        return found
