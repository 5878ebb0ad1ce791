"""At least once, counted: kill -9 of the service, of the broker and of both, again and again, during a stream of readings.

Whatever the publisher got acknowledged must be in the store when only the service was killed. When the broker was killed too,
that applies to messages that it delivered and the service acknowledged. A broker keeps its state in memory between two saves,
so it may lose a message that it has just acknowledged: those are counted separately."""
import csv
import io
import random
import re
import threading
import time

import paho.mqtt.client as paho
import pytest

from conftest import Broker, wait_for
from faults import OrderWatch, record, times
from proxy import Proxy
from season import export, readings, rehearse, simulate, tern_bank_settings

# Saving at every change would lose less, but the broker then writes its whole queue for each acknowledgement, and under
# quick kills never gets through a long one.
SAVES_OFTEN = "allow_anonymous true\nautosave_interval 1\n"
PATIENCE = 400
RATE = 200  # messages per second
MOST_WAITING = 500  # at the broker
STRETCH = times(("--from", "2026-09-01", "--to", "2026-12-01"), ("--from", "2026-08-01", "--to", "2027-06-01"))
INTERVAL = times("60m", "20m")


class Publisher:
    """Plays a season as JSON, one instant at a time: the next begins when the broker has acknowledged the last, so that
    nothing can come later than its night allows. Unacknowledged messages are sent again after a reconnect."""

    def __init__(self, port, truth, taken):
        """`taken`: how many the service has acknowledged; the stream waits for a service that is far behind."""
        self.truth, self.taken, self.acknowledged, self.enough = truth, taken, {}, threading.Event()
        self.waiting, self.changed, self.written_off = {}, threading.Condition(), 0
        self.client = paho.Client(client_id="counted-stream", protocol=paho.MQTTv311, clean_session=False)
        self.client.max_inflight_messages_set(100)
        self.client.reconnect_delay_set(0.2, 0.2)
        self.client.on_publish = self._done
        self.client.connect("127.0.0.1", port)
        self.client.loop_start()
        self.thread = threading.Thread(target=self._play)
        self.thread.start()

    def _done(self, _client, _data, number):
        with self.changed:
            if number in self.waiting:
                payload, key = self.waiting.pop(number)
                self.acknowledged[key] = payload
            self.changed.notify_all()

    def _play(self):
        instants = {}
        for time_of, sensor in sorted(self.truth):
            instants.setdefault(time_of, []).append(sensor)
        for time_of, sensors in instants.items():
            self._wait_for_the_service()
            last, began = self.enough.is_set(), time.monotonic()
            for sensor in sensors:
                payload = payload_of(time_of, sensor, self.truth)
                with self.changed:
                    sent = self.client.publish(f"ternbank/air/{sensor}", payload, qos=1)
                    self.waiting[sent.mid] = (payload.encode(), (time_of, sensor))
            with self.changed:
                assert self.changed.wait_for(lambda: not self.waiting, PATIENCE), "the broker acknowledges nothing any more"
            self.last = payload.encode()
            if last:
                return
            time.sleep(max(0, began + len(sensors) / RATE - time.monotonic()))
        pytest.fail("the season is too short for so many kills")

    def _wait_for_the_service(self):
        since = time.monotonic()
        while (behind := len(self.acknowledged) - self.taken()) - self.written_off > MOST_WAITING and not self.enough.is_set():
            time.sleep(0.05)
            if time.monotonic() - since > 5:
                self.written_off = behind  # the broker has lost them: they will never come

    def finish(self):
        """Plays one more instant; returns when everything sent is acknowledged."""
        self.enough.set()
        self.thread.join()
        self.client.disconnect()
        self.client.loop_stop()


def payload_of(time_of, sensor, truth):
    fields = [f'"{name}":{value}' for name, value in zip(("t", "rh"), truth[time_of, sensor]) if value is not None]
    return "{" + ",".join([*fields, f'"time":"{time_of}"', f'"sensor":"{sensor}"']) + "}"


def one_form(settings):
    """Tern Bank whose sensors all send the same JSON: a reading is identified by its payload."""
    return re.sub(r"\n  # [^\n]*\n  (long-c|cold-end-a):\n(    [^\n]*\n)+", "\n", settings)


@pytest.fixture(scope="module")
def truth():
    return readings(simulate("--interval", INTERVAL, *STRETCH))


@pytest.fixture
def broker(tmp_path):
    broker = Broker(tmp_path, SAVES_OFTEN)
    broker.start()
    yield broker
    broker.stop()


@pytest.mark.parametrize("victims, kills", [(("service",), times(10, 200)), (("broker",), times(7, 200)), (("service", "broker"), times(7, 200))],
                         ids=["service", "broker", "both"])
def test_acknowledged_readings_survive_kills(make_daemon, broker, truth, tmp_path, victims, kills):
    proxy = Proxy(broker.port)
    daemon = make_daemon(one_form(tern_bank_settings()).replace("{url}", f"{proxy.url()}\n  longest_backoff: 4 s"), name="tern-bank")
    daemon.start()
    chance, recoveries = random.Random(20261125), []
    with OrderWatch(broker, "tern-bank") as watch:
        publisher = Publisher(broker.port, truth, lambda: len(proxy.acknowledged))
        try:
            wait_for(lambda: proxy.acknowledged, "the first reading in the store")
            for _ in range(kills):
                # Every third kill comes while it still starts, connects or drains.
                time.sleep(chance.uniform(0, 0.4) if chance.random() < 0.33 else chance.uniform(0.3, 1.0))
                for victim in chance.sample(victims, len(victims)):
                    (daemon if victim == "service" else broker).kill()
                began, count = time.monotonic(), len(watch.seen())
                for victim in chance.sample(victims, len(victims)):
                    daemon.spawn() if victim == "service" else broker.start()
                if chance.random() < 0.67:
                    drained = wait_for(lambda: proxy.past_backlog(began), f"the backlog drained after a kill; log:\n{daemon.tail()}", PATIENCE)
                    recoveries.append(drained - began)
        finally:
            publisher.finish()
        # The broker delivers in order of arrival: the last one comes last.
        wait_for(lambda: publisher.last in proxy.acknowledged, f"the last reading in the store; log:\n{daemon.tail()}", PATIENCE)
        wait_for(lambda: proxy.past_backlog(began), f"the backlog drained; log:\n{daemon.tail()}", PATIENCE)
        wait_for(lambda: len(watch.seen()) > count, "an order after the last kill")
        text, ledger = export(daemon)
        daemon.stop()
        wrong = watch.wrong(ledger)
    acknowledged, stored = publisher.acknowledged, readings(text)
    handed = {key for key, payload in acknowledged.items() if payload in proxy.acknowledged}
    gone = {key for key in acknowledged if stored.get(key) != truth[key]}
    by_broker = gone - handed if "broker" in victims else set()
    often = [(row["time"], row["sensor"]) for row in csv.DictReader(io.StringIO(text)) if row["temperature_c"]]
    proxy.close()
    print(f"{' and '.join(victims)}: {kills} kills, {len(acknowledged)} acknowledged to the publisher, {len(handed)} of them acknowledged by the "
          f"service on the wire, {len(stored)} stored, {proxy.redelivered()} redelivered ({proxy.flagged} with DUP), "
          f"{len(by_broker)} lost by the broker, {len(gone - by_broker)} lost by the service, {len(watch.seen())} orders")
    # Also compare the decisions with those of a run without kills.
    differs = ledger != rehearse(daemon.settings, text, tmp_path)
    record(f"kill -9 of {'both' if len(victims) == 2 else 'the ' + victims[0]}", kills, len(gone - by_broker), len(wrong) + differs, max(recoveries),
         f"{len(acknowledged):,} acknowledged, {proxy.redelivered():,} redelivered" + (f", {len(by_broker)} lost by the broker itself" if "broker" in victims else ""))
    assert not gone - by_broker
    assert len(often) == len(set(often)), "a reading is in the journal twice"
    assert set(stored) <= set(acknowledged), "a reading that nobody sent"
    assert not wrong
    assert not differs, "the ledger differs from the rehearsal of the same readings"
    assert len(acknowledged) > kills * 50 and watch.seen()

