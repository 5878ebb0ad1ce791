"""A fault of the disk below a running daemon, from beginning to end, with observers."""
import datetime
import threading
import time

from clock import instant, now, text_of_ms
from conftest import wait_for
from faults import times
from mqtt5 import Client, Message
from season import export, readings

TOPIC, REQUESTS = "house/east/air", "plainwater/testing/requests"


class Stream:
    """A reading every `spacing` seconds, each with its own time, `step_ms` after the last, and a unique value; all are
    acknowledged by the broker."""

    def __init__(self, broker, spacing=0.2, step_ms=1000):
        self.client, self.spacing, self.step_ms = Client(broker.port), spacing, step_ms
        self.in_order, self.running = [], True
        self.begin = now() - datetime.timedelta(seconds=3000)
        self.thread = threading.Thread(target=self._run)
        self.thread.start()

    @property
    def sent(self):
        return set(self.in_order)

    def _run(self):
        while self.running:
            n = len(self.in_order)
            value = 15 + n % 97 / 8
            at = self.begin + n * datetime.timedelta(milliseconds=self.step_ms)
            self.client.publish(TOPIC, {"t": value, "time": text_of_ms(at)})
            self.in_order.append((text_of_ms(at), value))
            time.sleep(self.spacing)

    def stop_sending(self):
        self.running = False
        self.thread.join()

    def hang_up(self):
        self.client.client.disconnect()
        self.client.client.loop_stop()

    def stop(self):
        self.stop_sending()
        self.hang_up()

    def lost(self, daemon):
        """Readings that are not in the store yet."""
        stored = {(instant(time), value[0]) for (time, _), value in readings(export(daemon)[0]).items()}
        return {(at, value) for at, value in self.sent if (instant(at), value) not in stored}


class Trial:
    """One fault of a running daemon, from beginning to end."""

    def __init__(self, broker, daemon, systemd):
        self.broker, self.daemon, self.systemd = broker, daemon, systemd
        self.heartbeats = None
        self.id = 0

    def request(self, client):
        """Requests a hold or its end, in turn, which changes the order. Returns the reply."""
        self.id += 1
        what = {"request": "hold"} if self.id % 2 else {"request": "release", "full": True}
        return client.ask(REQUESTS, {"id": f"r{self.id}", "who": "Sam", "bench": "east", **what}, patience=120)

    def store_says(self, client):
        """From its last own heartbeat: a will, sent by the broker when a loaded machine loses the connection, does not report
        it."""
        if self.heartbeats is None:
            self.heartbeats = client.subscribe(self.daemon.topic)
        online = wait_for(lambda: [beat for beat in map(Message.json, list(self.heartbeats)) if beat["state"] == "online"], "a heartbeat")
        return online[-1]["store"]

    def during(self, client, watch, begin, end, log_word):
        """The fault, a request during it, and its end. (lost, wrong, seconds to recovery)"""
        stream = Stream(self.broker)
        answered = {}
        try:
            wait_for(lambda: len(stream.sent) > 3, "a few readings")
            assert self.store_says(client) == "healthy"
            log_before, began = len(self.daemon.log.read_text()), time.monotonic()
            begin()
            wait_for(lambda: self.store_says(client) != "healthy", "the service topic to say that the store fails", 60)
            wait_for(lambda: self.systemd.statuses[-1].startswith("store trouble"), "systemd's status")
            # A request sent now is held, at the broker or by the daemon, and answered when it is stored.
            asker = threading.Thread(target=lambda: answered.update(self.request_held()))
            asker.start()
            orders_before, in_force = len(watch.seen()), {o["bench"]: o["valid_until"] for o in watch.seen()}
            self.systemd.looks(times(2, 15))
            watch.settled()
            assert not answered, f"a request was answered while it could not be recorded: {answered}"
            new_orders = watch.seen()[orders_before:]
            assert not new_orders, f"ordered while nothing could be recorded: {new_orders}"
            assert in_force, "no order is in force that could stand"
            log = self.daemon.log.read_text()[log_before:]
            assert log_word in log, log
            lines = [line for line in log.splitlines() if "store" in line and ("[error]" in line or "[warning]" in line)]
            assert len(lines) <= 8, "more lines than facts:\n" + "\n".join(lines)
            silence = self.systemd.longest_silence(began)
            assert silence < 10, f"systemd heard nothing for {silence:.1f} s"
            ended = time.monotonic()
            end()
            wait_for(lambda: self.store_says(client) == "healthy", "the store to work again", 60)
            recovery = time.monotonic() - ended
            asker.join(60)
            assert answered.get("done"), f"the request that came meanwhile: {answered}"
            wait_for(lambda: self.systemd.statuses[-1] == "healthy", "systemd's status")
        finally:
            stream.stop()
        deadline = time.monotonic() + 30
        while (lost := stream.lost(self.daemon)) and time.monotonic() < deadline:
            time.sleep(0.2)
        wrong = watch.wrong(export(self.daemon)[1])
        return len(lost), len(wrong), recovery, len(stream.sent)

    def request_held(self):
        with Client(self.broker.port) as asker:
            return self.request(asker)
