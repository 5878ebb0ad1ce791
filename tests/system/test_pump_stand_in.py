"""The pump stand-in with a real broker: it obeys orders, gives plain water when it has none, and reports everything it did."""
import json
import re
import sqlite3
import subprocess

import jsonschema
import pytest

from clock import instant, now_s
from conftest import ROOT, environment, run, wait_for
from pump import BASE, DOSED, ORDER, SCHEMA, STRENGTH, expiring, order, start  # noqa: F401

TAKES_S = 65


def test_it_obeys(start, client):
    reports = client.subscribe(DOSED)
    pump = start()
    pump.gives_plain_water("no-order")
    first = order()
    client.publish(ORDER, first, expiring(3600), retain=True)
    pump.gives_feed(40)
    message = wait_for(lambda: [r for r in reports if r.json()["strength_percent"] == 40], "a report")[-1]
    assert not message.retain and message.qos == 1
    report = message.json()
    assert report == {"time": report["time"], "pump": "one", "litres": 2, "feed_ml": 8, "strength_percent": 40, "ec": 0.52, "epoch": 0, "sequence": first["sequence"]}
    client.publish(ORDER, order(0, sequence=first["sequence"] + 1), expiring(3600), retain=True)
    pump.gives_plain_water("locked")
    client.publish(ORDER, order(60, sequence=first["sequence"] + 2, pump_mode="advise"), expiring(3600), retain=True)
    pump.gives_plain_water("advise")
    # Older than the newest order seen: ignored.
    client.publish(ORDER, first)
    wait_for(lambda: "older" in pump.output(), "the refusal of an older order")
    pump.gives_plain_water("advise")
    assert pump.stop() == 0
    times = [instant(r.json()["time"]) for r in reports]
    assert times == sorted(times)
    for r in reports:
        jsonschema.validate(r.json(), SCHEMA, format_checker=jsonschema.FormatChecker())


# Made when they are sent: an order contains its time, and the name of a test must not.
BAD = {"nothing": lambda: "", "a bracket": lambda: "{", "a list": lambda: "[1]", "cut short": lambda: json.dumps(order())[:-1],
       "400 percent": lambda: order(pump_strength_percent=400), "of another bench": lambda: order(bench="west")}


@pytest.mark.parametrize("bad", BAD)
def test_an_unreadable_order_means_plain_water_until_a_good_one(start, client, bad):
    pump = start()
    client.publish(ORDER, order())
    pump.gives_feed(40)
    client.publish(ORDER, BAD[bad]())
    pump.gives_plain_water("other-bench" if bad == "of another bench" else "not-understood")
    client.publish(ORDER, order())
    pump.gives_feed(40)


def test_an_order_ends_while_the_service_is_silent(start, client):
    pump = start()
    client.publish(ORDER, order(good_for=4))
    pump.gives_feed(40)
    pump.gives_plain_water("expired")


def test_without_a_clock_the_messages_expiry_ends_it(start, client, broker):
    pump = start("--clock", "none")
    # By its own text it would be valid for an hour, but without a clock that cannot be used.
    client.publish(ORDER, order(), expiring(4), retain=True)
    pump.gives_feed(40)
    assert pump.last()["time"] is None
    pump.gives_plain_water("expired")


def test_a_retained_order_that_has_ended_feeds_nothing(start, client):
    client.publish(ORDER, order(good_for=-60), retain=True)
    pump = start()
    pump.gives_plain_water("expired")
    assert not [w for w in pump.waterings() if w["feed_ml"]]


def test_without_clock_and_expiry_a_retained_order_feeds_nothing(start, client):
    client.publish(ORDER, order(), retain=True)
    pump = start("--clock", "none", "--mqtt", "3.1.1")
    pump.gives_plain_water("age-unknown")
    client.publish(ORDER, order())
    pump.gives_feed(40)


def test_when_the_broker_dies_the_order_ends_and_water_goes_on(start, client, broker):
    pump = start()
    client.publish(ORDER, order(good_for=4))
    pump.gives_feed(40)
    broker.stop()
    pump.gives_plain_water("expired")


def test_a_simple_pump_follows_the_strength_and_silence_is_plain_water(start, client):
    pump = start("--follow", "strength", "--patience", "2s")
    pump.gives_plain_water("silent")
    client.publish(STRENGTH, "25")
    pump.gives_feed(25)
    pump.gives_plain_water("silent")
    client.publish(STRENGTH, "0")
    pump.gives_plain_water("nothing-ordered")
    client.publish(STRENGTH, "a quarter")
    pump.gives_plain_water("not-understood")


def test_reports_made_while_the_broker_is_away_come_later(start, broker):
    """A listener with a persistent session receives every watering, with its own time."""
    listen = ["mosquitto_sub", "-h", "127.0.0.1", "-p", str(broker.port), "-i", "listener", "-c", "-q", "1", "-t", DOSED]
    assert subprocess.run([*listen, "-E"]).returncode == 0
    pump = start()
    for _ in range(2):
        count = len(pump.waterings())
        wait_for(lambda: len(pump.waterings()) > count + 5, "waterings")
        broker.stop()
        count = len(pump.waterings())
        wait_for(lambda: len(pump.waterings()) > count + 15, "waterings without a broker")
        listens = pump.output().count("listens")
        broker.start()
        wait_for(lambda: pump.output().count("listens") > listens, "the pump to come back")
    assert pump.stop() == 0, pump.output()
    done = {w["time"] for w in pump.waterings()}
    reported = set()

    def all_heard():
        heard = subprocess.run([*listen, "-W", "3"], capture_output=True, text=True)
        reported.update(json.loads(line)["time"] for line in heard.stdout.splitlines())
        return done <= reported
    wait_for(all_heard, lambda: f"reports of {sorted(done - reported)}")
    assert reported <= done


def test_it_follows_the_real_service(start, fed_daemon, client):
    pump = start(name="east")
    pump.gives_plain_water("advise")
    requests = f"{BASE}/requests"
    assert client.ask(requests, {"id": "1", "who": "a test", "request": "arm", "pump": "east"})["done"]
    wait_for(lambda: pump.last()["strength_percent"] > 0, "feed by the service's own order")
    assert client.ask(requests, {"id": "2", "who": "a test", "request": "hold", "bench": "east"})["done"]
    pump.gives_plain_water("locked")
    assert pump.stop() == 0
    assert " 0 messages refused" in pump.output()
    # In the other direction as well: every report is in the service's journal.
    def journaled():
        with sqlite3.connect(f"file:{fed_daemon.store}?mode=ro", uri=True) as store:
            return store.execute("SELECT count(*) FROM journal WHERE kind = 5").fetchone()[0]
    wait_for(lambda: journaled() == len(pump.waterings()), "all reports in the journal")
    assert "not used" not in fed_daemon.log.read_text()


def test_the_acceptance_tests_of_the_contract_can_be_run(start, broker):
    """Runs the shell functions and commands exactly as documented, with the stand-in as the pump."""
    contract = (ROOT / "deploy" / "pump-contract.md").read_text()
    functions = contract.split("```sh\n")[1].split("```")[0].replace("-p 1883", f"-p {broker.port}")
    steps = {int(number): command for number, command in re.findall(r"^\| (\d+) \| [^`\n]*(?:step 2, then )?`([^`]+)`", contract, re.MULTILINE)}

    def next_second():
        """Numbers the orders."""
        since = now_s()
        wait_for(lambda: now_s() > since, "the next second")

    def do(number):
        command = steps[number].replace("\\|", "|")  # as written in a table
        subprocess.run(["bash", "-euc", functions + command], check=True, timeout=30, env=environment())

    pump = start()
    pump.gives_plain_water("no-order")
    do(2)
    pump.gives_feed(40)
    do(7)
    wait_for(lambda: "older" in pump.output(), "the older order to be refused")
    pump.gives_feed(40)
    for number, because in ((3, "locked"), (4, "advise"), (5, "other-pump"), (6, "other-bench")):
        next_second()
        do(number)
        pump.gives_plain_water(because)
    do(9)
    pump.gives_feed(40)
    do(8)
    pump.gives_plain_water("not-understood")
    next_second()
    do(10)
    pump.gives_feed(40)
    pump.gives_plain_water("expired")


def test_undelivered_reports_are_exit_code_1(start, broker):
    pump = start()
    broker.stop()
    count = len(pump.waterings())
    wait_for(lambda: len(pump.waterings()) > count, "a watering without a broker")
    assert pump.stop() == 1
    assert "were not delivered" in pump.output()


GOOD = ("--broker", "mqtt://127.0.0.1:1", "--site", "testing", "--pump", "one", "--bench", "east")


@pytest.mark.parametrize("arguments, says", [
    ((), "--broker"),
    (GOOD[:-2], "--bench"),
    ((*GOOD, "--fault", "tired"), "tired"),
    ((*GOOD, "--fault", "dead:2026-11-04/2026-11-03"), "before"),
    ((*GOOD, "--clock", "none", "--fault", "dead:2026-11-03/2026-11-04"), "needs a clock"),
    ((*GOOD, "--clock", "topic"), "--clock-topic"),
    ((*GOOD, "--clock-field", "time"), "--clock-topic"),
    ((*GOOD, "--every", "often"), "often"),
    ((*GOOD, "--every", "1ms"), "too short"),
    ((*GOOD, "--bench", "a/b"), "a/b"),
    ((*GOOD, "--follow", "its nose"), "its nose"),
    (("--broker", "carrier-pigeon://loft", *GOOD[2:]), "carrier-pigeon"),
])
def test_wrong_usage_is_reported(arguments, says):
    result = run("pump-stand-in", *arguments)
    assert result.returncode == 2
    assert says in result.stderr


def test_an_unreachable_broker_is_exit_code_3():
    result = run("pump-stand-in", *GOOD)
    assert result.returncode == 3
    assert "127.0.0.1:1" in result.stderr
