"""A house whose broker goes away: its settings, its sensors, and the resources that the service may use while it waits."""
import datetime
import os
import pathlib
import time

from clock import instant, now, text_of_ms
from conftest import wait_for
from houses import any_sensor, bench, house
from season import export, readings

LONGEST_BACKOFF = 2
KEEP_ALIVE = 5
BASE = "plainwater/testing"
SETTINGS = house(any_sensor(), bench("east", "intermediate", "east-a", "east-b"), broker="  longest_backoff: 2 s\n  keep_alive: 5 s\n")


class Sensors:
    """Sends readings that are identified by their times."""

    def __init__(self):
        self.sent, self.last = {}, None

    def send(self, client, sensor="east-a", celsius=None, when=None):
        when = when or max(now(), (self.last or now()) + datetime.timedelta(milliseconds=1))
        self.last = when
        celsius = 17 + len(self.sent) % 100 / 50 if celsius is None else celsius
        self.sent[instant(text_of_ms(when)), sensor] = round(celsius, 3)
        client.publish(f"house/{sensor}/air", {"t": round(celsius, 3), "time": text_of_ms(when)})

    def missing(self, daemon):
        stored = {(instant(at), sensor): values[0] for (at, sensor), values in readings(export(daemon)[0]).items()}
        return [key for key, celsius in self.sent.items() if stored.get(key) != celsius]


def in_store(daemon, sensors):
    """Waits until everything sent is stored; returns what is missing in the end."""
    deadline = time.monotonic() + 20
    while (missing := sensors.missing(daemon)) and time.monotonic() < deadline:
        time.sleep(0.1)
    return missing


def arm(broker):
    with broker.client() as client:
        reply = client.ask(f"{BASE}/requests", {"id": "arm-1", "who": "a test", "request": "arm", "pump": "east"})
        assert reply["done"], reply


class Usage:
    """The daemon's use of processor time, log lines and memory while it waits."""

    def __init__(self, daemon):
        self.daemon, self.began = daemon, time.monotonic()
        self.cpu, self.lines, self.memory = self._cpu(), self._lines(), self._memory()

    def _cpu(self):
        fields = pathlib.Path(f"/proc/{self.daemon.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def _lines(self):
        return len(self.daemon.log.read_text().splitlines())

    def _memory(self):
        return int(pathlib.Path(f"/proc/{self.daemon.process.pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")

    def text(self):
        """The log since then."""
        return "\n".join(self.daemon.log.read_text().splitlines()[self.lines:])

    def assert_idle(self, decisions=0):
        """No busy loop, no flood of log lines, no growth; `decisions` may be made and stored on top."""
        waited = time.monotonic() - self.began
        cpu, lines, grown = self._cpu() - self.cpu, self._lines() - self.lines, (self._memory() - self.memory) / 1e6
        print(f"waited {waited:.1f} s: {cpu:.2f} s of processor time, {lines} log lines, {grown:+.1f} MB")
        assert cpu < 0.3 + 0.05 * waited + 0.05 * decisions, f"{cpu} s of processor time in {waited} s"
        assert lines <= 16 + decisions, self.text()
        assert grown < 8 + 0.1 * decisions, f"{grown} MB"


def assert_backed_off(proxy, since, until, client="", clients=1, per_attempt=1):
    """The connection attempts during a time without a broker: pauses of 1, 2, 2 ... s."""
    tried = [at - since for at in proxy.tried(since, client) if at < until]
    at, due = 0.0, 0
    pause = 1
    while at <= until - since:  # the earliest possible moments
        at, due, pause = at + pause, due + 1, min(2 * pause, LONGEST_BACKOFF)
    allowed = clients * per_attempt * due
    print(f"{len(tried)} attempts{' of ' + client if client else ''} in {until - since:.1f} s, {allowed} allowed: {[round(t, 1) for t in tried]}")
    assert len(tried) <= allowed, tried
    assert tried or until - since < 3, "it has not even tried"
    if clients == per_attempt == 1:
        for number, (before, after) in enumerate(zip(tried, tried[1:])):
            assert after - before > 0.9 * min(2 ** (number + 1), LONGEST_BACKOFF), tried


def wait_while(seconds, daemon):
    """A time that must really pass, because that is what is tested."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        assert daemon.process.poll() is None, daemon.tail()
        time.sleep(0.05)


def back_again(daemon, orders, given, began, what):
    """Seconds from `began` to the first order that is not among those `given` before; orders retained by a broker do not
    count."""
    known = {(order["epoch"], order["sequence"]) for order in orders.seen()[:given]}
    wait_for(lambda: any((order["epoch"], order["sequence"]) not in known for order in orders.seen()[given:]), f"a new order {what}; log:\n{daemon.tail()}", 60)
    return time.monotonic() - began


def restart(broker):
    broker.stop()
    broker.start()
