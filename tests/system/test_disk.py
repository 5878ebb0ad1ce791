"""A disk that is full, read-only, broken or slow below the daemon's store: the daemon reports it, orders nothing that it could
not record, holds what arrives meanwhile, and recovers automatically."""
import contextlib
import json
import os
import sqlite3
import subprocess
import threading
import time

from clock import now_s, text_of_s
from conftest import SETTINGS, run, wait_for
from disk_trial import REQUESTS, TOPIC, Stream, Trial
from faults import Disk, OrderWatch, record, times
from mounts import may_mount
from mqtt5 import Client
from season import export

TAKES_S = 100

# The least WatchdogSec that deploy must set: twice the longest silence on a disk that takes 3 s per sync.
WATCHDOG_SEC = 120
POWER = SETTINGS.replace("durability: process", "durability: power")


FAULTS = {"full": ("disk full", "space"), "read-only": ("disk read-only", "mounted for writing"), "broken": ("disk with errors", "I/O")}


def test_a_disk_that_refuses_writes(tmp_path, broker, make_daemon, client, life):
    daemon = make_daemon(POWER)
    disk = Disk(tmp_path, daemon.store)
    with OrderWatch(broker, "testing") as watch:
        daemon.start(env=life.env(disk.env))
        trial = Trial(broker, daemon, life)
        for fault, (row, says) in FAULTS.items():
            tried, lost, wrong, slowest, sent = 0, 0, 0, 0, 0
            for _ in range(times(1, 3)):
                gone, bad, recovery, count = trial.during(client, watch, lambda: disk.is_now(fault), lambda: disk.is_now("fine"), says)
                tried, lost, wrong, slowest, sent = tried + 1, lost + gone, wrong + bad, max(slowest, recovery), sent + count
            record(row, tried, lost, wrong, slowest, f"{sent} readings")
            assert (lost, wrong) == (0, 0)
            assert slowest < 20
        daemon.stop()


def on_a_small_disk(tmp_path, broker, make_daemon, client, life):
    """A real file system of 3 MiB: filled by a file beside the store, then by the store itself."""
    small = tmp_path / "small"
    small.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", small], check=True)
    try:
        daemon = make_daemon(POWER.replace("{store}", str(small / "store.db")))
        daemon.store = small / "store.db"
        filler = small / "filler"

        def fill(leave=0):
            with open(filler, "wb", buffering=0) as file, contextlib.suppress(OSError):
                while (free := os.statvfs(small).f_bavail * os.statvfs(small).f_frsize - leave) > 0:
                    file.write(b"x" * min(free, 65536))

        grown = []

        def grow():
            fill(leave=200_000)
            with Client(broker.port) as busy:
                until = time.monotonic() + 20
                while os.statvfs(small).f_bavail > 2 and time.monotonic() < until:
                    at = text_of_s(now_s() - 9000 + len(grown))
                    busy.client.publish(TOPIC, json.dumps({"t": 12.5, "time": at}), qos=1)
                    grown.append(at)

        with OrderWatch(broker, "testing") as watch:
            daemon.start(env=life.env())
            trial, tried, lost, wrong, slowest, sent = Trial(broker, daemon, life), 0, 0, 0, 0, 0
            for round_ in range(times(2, 4)):
                gone, bad, recovery, count = trial.during(client, watch, grow if round_ % 2 else fill, filler.unlink, "space")
                tried, lost, wrong, slowest, sent = tried + 1, lost + gone, wrong + bad, max(slowest, recovery), sent + count
            record("disk full", tried, lost, wrong, slowest, f"{sent} readings on a small file system")
            assert (lost, wrong) == (0, 0)
            daemon.stop()
    finally:
        subprocess.run(["umount", "--lazy", small], check=True)


def test_a_small_disk_that_fills_up(request):
    if may_mount(request):
        names = ("tmp_path", "broker", "make_daemon", "client", "life")
        on_a_small_disk(*(request.getfixturevalue(name) for name in names))


def test_a_slow_disk(tmp_path, broker, make_daemon, client, life):
    """Syncs of a quarter of a second are tolerated silently, of 3 s with a report. systemd must get our signs of life all the
    while. (Which times are reported as slow: core_store_test.cpp.)"""
    daemon = make_daemon(POWER)
    disk = Disk(tmp_path, daemon.store)
    with OrderWatch(broker, "testing") as watch:
        daemon.start(env=life.env(disk.env))
        trial, stream, silences = Trial(broker, daemon, life), Stream(broker, spacing=1), {}
        askers, answers = [], []
        try:
            for slow_ms, length in ((250, times(3, 60)), (3000, times(10, 120))):
                disk.is_now(f"slow {slow_ms}")
                began = time.monotonic()
                askers.append(threading.Thread(target=lambda: answers.append(trial.request_held())))
                askers[-1].start()
                time.sleep(length)
                silences[slow_ms] = life.longest_silence(began)
                if slow_ms == 250:
                    wait_for(lambda: answers, "the answer to a request")
            wait_for(lambda: trial.store_says(client).startswith("slow"), "the service topic to say that the store is slow", 120)
            wait_for(lambda: life.statuses[-1] == "store slow", "systemd's status", 120)
            assert daemon.log.read_text().count("the store is slow") == 1
            disk.is_now("fine")
            ended = time.monotonic()
        finally:
            stream.stop()
        for asker in askers:
            asker.join()
        assert len(answers) == 2 and all(answer["done"] for answer in answers), answers
        wait_for(lambda: not stream.lost(daemon), "all readings in the store", 60)
        recovery = time.monotonic() - ended
        wrong = watch.wrong(export(daemon)[1])
        note = f"{len(stream.sent)} readings; longest silence towards systemd {silences[250]:.1f} s at 250 ms a sync, {silences[3000]:.1f} s at 3 s"
        record("slow disk", 2, len(stream.lost(daemon)), len(wrong), recovery, note)
        assert not wrong
        assert silences[3000] < WATCHDOG_SEC / 2, silences
        daemon.stop()


def test_a_start_asks_systemd_for_time_before_it_reads_the_store(make_daemon, life):
    daemon = make_daemon(POWER)
    daemon.start(env=life.env())
    wait_for(lambda: "READY=1" in life.others, "the service to be ready")
    assert life.others.index("EXTEND_TIMEOUT_USEC=1800000000") < life.others.index("READY=1")
    assert life.statuses[0] == "reading the store back"
    daemon.stop()


def test_an_acknowledgement_is_not_forgotten_while_the_store_fails(tmp_path, broker, make_daemon, client):
    """A notice that the broker has is not sent again after a reconnect."""
    daemon = make_daemon(POWER)
    disk = Disk(tmp_path, daemon.store)
    daemon.start(env=disk.env)
    notices = client.subscribe("plainwater/testing/notices/#")
    trial = Trial(broker, daemon, None)
    assert trial.request(client)["done"]
    disk.is_now("slow 1000")
    by_hand = {"id": "by-hand", "who": "Sam", "request": "watered", "bench": "east", "litres": 5, "strength_percent": 100}
    asker = threading.Thread(target=lambda: client.publish(REQUESTS, by_hand))
    asker.start()
    wait_for(lambda: len(notices) >= 2, "a notice in both forms")
    disk.is_now("broken")  # while the first one's acknowledgement is being stored
    wait_for(lambda: trial.store_says(client) not in ("healthy", None) and not trial.store_says(client).startswith("slow"), "the store to fail", 60)
    disk.is_now("fine")
    wait_for(lambda: "the store works again" in daemon.log.read_text(), "the store to work again")
    asker.join()

    def pending():
        with contextlib.closing(sqlite3.connect(f"file:{daemon.store}?mode=ro", uri=True)) as store:
            return store.execute("SELECT COUNT(*) FROM outbox WHERE kind = 'notice' AND acked_ms IS NULL").fetchone()[0]
    wait_for(lambda: pending() == 0, "the notices to be struck off")
    broker.stop()
    broker.start()
    wait_for(lambda: daemon.log.read_text().count("publishing over MQTT") == 2, "the daemon to be back")
    daemon.stop()
    sent = [(message.topic, message.payload) for message in notices]
    assert len(sent) == len(set(sent)) >= 2, f"sent twice: {sent}"


def test_an_order_that_could_not_be_recorded_does_not_reach_simple_pumps(tmp_path, broker, make_daemon, client):
    """The disk refuses the end of a hold: until it is recorded, the repeated strength stays 0."""
    daemon = make_daemon(POWER)
    daemon.hear_a_night()
    disk = Disk(tmp_path, daemon.store)
    daemon.start(env=disk.env)
    assert client.ask(REQUESTS, {"id": "arm-1", "who": "Sam", "request": "arm", "pump": "east"})["done"]
    trial = Trial(broker, daemon, None)
    assert trial.request(client)["done"], "a hold"
    disk.is_now("full")
    client.publish(REQUESTS, {"id": "end-1", "who": "Sam", "request": "release", "bench": "east", "full": True})
    wait_for(lambda: "nothing is ordered until it works again" in daemon.log.read_text(), "the store to fail")
    broker.stop()
    broker.start()  # the service repeats the strengths once the broker is back
    with broker.client() as listener:
        strengths = listener.subscribe("plainwater/testing/benches/east/strength")
        wait_for(lambda: strengths, "a strength")
        assert {message.payload for message in strengths} == {b"0"}
        disk.is_now("fine")
        wait_for(lambda: strengths[-1].payload != b"0", "the release to be recorded and ordered", 60)
    assert "hold-ended" in export(daemon)[1]


def test_a_read_only_disk_at_the_start_is_reported(tmp_path, make_daemon):
    daemon = make_daemon(POWER)
    disk = Disk(tmp_path, daemon.store)
    for state in ("read-only", "full", "broken"):
        disk.is_now(state)
        result = run("plainwaterd", "--settings", daemon.settings, env=disk.env)
        assert result.returncode == 1 and str(daemon.store) in result.stderr, result.stderr
    disk.is_now("fine")
    daemon.start(env=disk.env)
    daemon.stop()


def test_an_input_that_can_never_be_stored(broker, make_daemon, client):
    """Set aside unchanged and reported; later input is taken, and the store works on."""
    daemon = make_daemon(POWER)
    daemon.start()
    notices, _ = client.subscribe("plainwater/testing/notices/soon/json"), client.caught_up()

    def publish(celsius, second):
        client.publish(TOPIC, {"t": celsius, "time": text_of_s(now_s() - 60 + second)})

    def readings():
        with contextlib.closing(sqlite3.connect(daemon.store)) as store:
            return [row[0] for row in store.execute("SELECT value_milli FROM journal WHERE kind = 0 ORDER BY seq")]

    def change(sql):
        with contextlib.closing(sqlite3.connect(daemon.store, timeout=30)) as store, store:
            store.execute(sql)

    publish(18, 0)
    wait_for(lambda: readings() == [18000], "the first reading")
    change("CREATE TRIGGER refuse BEFORE INSERT ON journal WHEN NEW.value_milli = 13000 BEGIN SELECT RAISE(ABORT, 'not this one'); END")
    publish(13, 1)
    publish(19, 2)
    wait_for(lambda: readings() == [18000, 19000], "the reading behind the one that is refused")
    wait_for(lambda: [n for n in notices if n.json()["kind"] == "not-stored"], "the notice")
    wait_for(lambda: daemon.state()["refused"].get("not-stored") == 1, "a heartbeat that counts it", 90)
    kept = [json.loads(line) for line in run("plainwater", "export", "--store", daemon.store, "--not-stored", "-").stdout.splitlines()]
    assert [(one["topic"], json.loads(one["payload"])["t"]) for one in kept] == [(TOPIC, 13)], kept
    assert "not this one" in kept[0]["why"]
    daemon.kill()
    change("DROP TRIGGER refuse")
    daemon.start()
    publish(20, 3)
    wait_for(lambda: readings() == [18000, 19000, 20000], "a reading after the restart")
    assert daemon.state()["refused"]["not-stored"] == 1
    daemon.stop()
    audit = run("plainwater", "audit", "--store", daemon.store)
    assert audit.returncode == 0, audit.stdout + audit.stderr
