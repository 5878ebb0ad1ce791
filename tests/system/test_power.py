"""The power fails below the file system of a running service: synced data is there when it returns, and of the rest whatever
the disk happened to have written, in any order (power_disk.py). The broker keeps its power.

With `durability: power` everything that the service acknowledged to the broker is then in its store, and the broker sends the
rest again: every reading acknowledged to a publisher ends in the store. With `process` the last moments may be lost, and no
more."""
import contextlib
import json
import os
import random
import sqlite3
import threading
import time

from conftest import SETTINGS, run, wait_for
from disk_trial import REQUESTS, Stream
from faults import OrderWatch, record, times
from mounts import may_mount
from mqtt5 import Client
from power_disk import PowerDisk
from season import export

SEED = int(os.environ.get("PLAINWATER_SEED", "20261124"))
MOST_CHANGES = 300  # between two cuts, about 50 commits
MOST_IN_A_START, MOST_IN_A_STOP = 40, 60


class Asker:
    """Requests a hold of the east bench and its end, in turn. Requests that the broker accepted must be obeyed; a reply may be
    lost if the service ends just then, so do not wait long for one."""

    def __init__(self, broker):
        self.broker, self.asked, self.done, self.running = broker, [], [], True
        self.thread = threading.Thread(target=self._run)
        self.thread.start()

    def _run(self):
        with Client(self.broker.port) as client:
            while self.running:
                what = {"request": "release", "full": True} if len(self.asked) % 2 else {"request": "hold"}
                self.asked.append(f"ask-{len(self.asked)}")
                with contextlib.suppress(AssertionError):
                    if client.ask(REQUESTS, {"id": self.asked[-1], "who": "Sam", "bench": "east", **what}, patience=3)["done"]:
                        self.done.append(self.asked[-1])
                time.sleep(0.05)

    def stop(self):
        self.running = False
        self.thread.join()


class Cuts:
    """A service on a disk whose power fails again and again, during readings and requests."""

    def __init__(self, make_daemon, broker, disk, durability):
        self.daemon = make_daemon(SETTINGS.replace("durability: process", f"durability: {durability}").replace("{store}", str(disk.folder / "store.db")))
        self.daemon.store = disk.folder / "store.db"
        self.broker, self.disk, self.chance = broker, disk, random.Random(SEED)
        self.tried, self.recoveries = 0, []
        self.watch = OrderWatch(broker, "testing")
        self.stream = self.asker = None

    def off_and_on(self):
        """Waits for the power to fail, then restores it."""
        self.disk.wait_for_cut()
        self.tried += 1
        self.disk.power_on(self.daemon.process)

    def start(self):
        began = time.monotonic()
        self.daemon.start()
        self.recoveries.append(time.monotonic() - began)

    def cut_in_a_start(self):
        self.disk.cut_in(self.chance.randint(1, MOST_IN_A_START))
        self.daemon.spawn()
        self.off_and_on()

    def cut_in_a_stop(self):
        """During an orderly stop, or just after it: the stop removes the log."""
        self.disk.cut_in(self.chance.randint(1, MOST_IN_A_STOP))
        self.daemon.process.terminate()
        wait_for(lambda: self.disk.is_cut() or self.daemon.process.poll() is not None, "the service to stop")
        self.disk.cut_in(0)
        self.off_and_on()

    def load(self):
        self.stream, self.asker = Stream(self.broker, spacing=0.01, step_ms=100), Asker(self.broker)

    def cut_under_load(self):
        self.disk.cut_in(self.chance.randint(1, MOST_CHANGES))
        self.off_and_on()
        if self.chance.random() < 0.4:
            self.cut_in_a_start()
        self.start()

    def end(self):
        """Waits until everything sent has been handled: a reply comes after everything that its sender sent before."""
        self.asker.stop()
        self.stream.stop_sending()
        assert self.stream.client.ask(REQUESTS, {"id": "the-last", "who": "Sam", "bench": "east", "request": "hold"})["done"]
        self.stream.hang_up()
        self.watch.settled()

    def clean_up(self):
        for running in filter(None, (self.asker, self.stream)):
            running.running = False
        self.daemon.clean_up()
        self.watch.__exit__()

    def requests_lost(self):
        result = run("plainwater", "export", "--store", self.daemon.store, "--requests", "-")
        assert result.returncode == 0, result.stderr
        kept = {json.loads(line)["id"] for line in result.stdout.splitlines()}
        return [one for one in self.asker.asked if one not in kept]

    def wrong(self):
        return self.watch.wrong(export(self.daemon)[1])

    def unsound(self):
        """Findings of an audit and of SQLite after an orderly stop; empty when the store is sound."""
        self.daemon.stop()
        audit = run("plainwater", "audit", "--store", self.daemon.store)
        with contextlib.closing(sqlite3.connect(self.daemon.store)) as store:
            found = store.execute("PRAGMA integrity_check").fetchall()
        return ("" if audit.returncode == 0 else audit.stdout + audit.stderr) + ("" if found == [("ok",)] else str(found))


@contextlib.contextmanager
def cuts(request, durability):
    fixture = request.getfixturevalue
    with PowerDisk(fixture("tmp_path") / "disk", SEED) as disk:
        trial = Cuts(fixture("make_daemon"), fixture("broker"), disk, durability)
        try:
            yield trial
        finally:
            trial.clean_up()


def cut_again_and_again(trial, rounds):
    trial.cut_in_a_start()  # this makes the store
    trial.start()
    trial.load()
    for _ in range(rounds):
        trial.cut_under_load()
    trial.cut_in_a_stop()
    trial.start()
    trial.end()


def test_nothing_acknowledged_is_lost_when_the_power_fails(request):
    if not may_mount(request):
        return
    with cuts(request, "power") as trial:
        cut_again_and_again(trial, times(2, 25))
        lost, forgotten, wrong = trial.stream.lost(trial.daemon), trial.requests_lost(), trial.wrong()
        record("power cut below a running service, durability power", trial.tried, len(lost) + len(forgotten), len(wrong), max(trial.recoveries),
             f"{len(trial.stream.sent):,} readings, {len(trial.asker.asked)} requests, {len(trial.asker.done)} of them answered")
        assert not lost and not forgotten, (lost, forgotten)
        assert not wrong
        assert not (unsound := trial.unsound()), unsound
        assert trial.stream.sent and trial.asker.done and trial.watch.seen()


def test_durability_process_loses_the_last_moments_at_most(request):
    if not may_mount(request):
        return
    with cuts(request, "process") as trial:
        cut_again_and_again(trial, times(2, 25))
        lost, wrong = trial.stream.lost(trial.daemon), trial.wrong()
        order = [reading in lost for reading in trial.stream.in_order]
        gaps = sum(now and not before for before, now in zip([False, *order], order))
        print(f"{trial.tried} cuts, {len(lost)} of {len(order)} readings lost in {gaps} gaps, {len(trial.requests_lost())} of {len(trial.asker.asked)} requests, {len(wrong)} orders without their decision")
        assert gaps <= trial.tried, "more is gone than the last moments before each cut"
        assert not (unsound := trial.unsound()), unsound


def test_a_disk_that_forgets_synced_data_is_detected(request):
    """Tests the tests above: they would notice lost data."""
    if not may_mount(request):
        return
    with cuts(request, "power") as trial:
        trial.start()
        trial.load()
        wait_for(lambda: trial.asker.done, "a request in the store")
        trial.disk.forget_syncs()
        asked = len(trial.asker.done)
        # Everything before the last but one of these has been acknowledged to the broker.
        wait_for(lambda: len(trial.asker.done) >= asked + 4, "more requests in the store")
        trial.disk.cut_in(0)
        trial.off_and_on()
        trial.start()
        trial.end()
        assert trial.stream.lost(trial.daemon)
        assert trial.requests_lost()
