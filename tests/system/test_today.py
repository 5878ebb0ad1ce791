"""The day's work by the real service: what needs a person, what was done today and by whom, what comes next. Its time is that of
the readings, so that no day ends in between."""
import datetime

import pytest

from board import LISTEN, Events, ask, port_of
from clock import instant, text_of
from conftest import wait_for
from houses import PLAYED, bench, sensor
from houses import house as house_of

BASE = "plainwater/testing"
REQUESTS = f"{BASE}/requests"
MORNING = "2026-09-15T08:00:00Z"  # 09:00 at the site
SETTINGS = house_of(sensor("east-air", "house/east/air") + sensor("west-air", "house/west/air"),
                    bench("east", "intermediate", "east-air") + bench("west", "warm", "west-air"), sections=PLAYED)


@pytest.fixture
def house(make_daemon, client):
    """A daemon at MORNING; house.reads(time) moves it on, house.speak(…) does by hours, house.ask(…) gives the reply,
    house.today() what is told."""
    daemon = make_daemon(SETTINGS, more=LISTEN)
    daemon.start()
    daemon.port = port_of(daemon)
    numbers = iter(range(1000))

    def speak(since, hours, *sensors):
        for hour in range(hours):
            time = text_of(instant(since) + datetime.timedelta(hours=hour))
            for name in sensors:
                client.publish(f"house/{name}/air", {"t": 18.0 + hour % 5 / 10, "rh": 70 + hour % 3, "time": time})
        wait_for(lambda: get(daemon, "/api/now")["time"] == time, f"the time {time}")

    def reads(time):
        speak(time, 1, "east")

    def request(who="Ines", **fields):
        return client.ask(REQUESTS, {"id": fields.pop("id", f"r{next(numbers)}"), "who": who, **fields})

    daemon.reads, daemon.speak, daemon.ask = reads, speak, request
    daemon.today = lambda: get(daemon, "/api/today")
    reads(MORNING)
    return daemon


def get(daemon, target):
    reply = ask(daemon.port, target)
    assert reply.status == 200, (target, reply.body)
    return reply.json()


def done_soon(house, condition, what):
    """The pages learn of it within a second."""
    return wait_for(lambda: (told := house.today()) and condition(told) and told, what)


def test_what_was_done_today_is_told_by_whom(house):
    assert house.ask(request="hold", bench="east", until="2026-10-01T12:00:00Z", note="repotted")["done"]
    house.reads("2026-09-15T08:10:00Z")
    assert house.ask("Tom", id="can", request="watered", bench="west", litres=3)["done"]
    assert house.ask("Tom", id="can", request="watered", bench="west", litres=3)["done"]  # its answer was lost
    assert not house.ask("Tom", request="release", bench="west")["done"]
    told = done_soon(house, lambda today: len(today["done"]) == 2, "both requests")
    assert [(d["who"], d["request"], d["bench"], d["time"]) for d in told["done"]] == [
        ("Tom", "watered", "west", "2026-09-15T08:10:00Z"), ("Ines", "hold", "east", MORNING)]
    assert "3" in told["done"][0]["text"] and "1 October" in told["done"][1]["text"]

    house.stop()
    house.log.unlink()  # so that the address is that of the new process
    house.start()
    house.port = port_of(house)
    assert done_soon(house, lambda today: today["done"], "what was done before the restart")["done"] == told["done"]

    # Tomorrow begins at 23:00 in UTC, midnight at the site.
    house.reads("2026-09-15T22:50:00Z")
    assert len(house.today()["done"]) == 2
    house.reads("2026-09-15T23:10:00Z")
    assert done_soon(house, lambda today: today["time"] > "2026-09-15T23", "the next day")["done"] == []


def test_viewers_hear_of_a_watering_that_changes_no_decision(house):
    with Events(house.port) as events:
        assert events.next()[0] == "house"
        assert house.ask(request="watered", bench="east", litres=2)["done"]
        events.until(lambda kind, _: kind == "asked")
    assert [d["request"] for d in house.today()["done"]] == ["watered"]


def test_holds_come_next(house):
    assert house.ask(request="hold", bench="west", until="2026-09-20T12:00:00Z")["done"]
    assert house.ask(request="hold", bench="east", until="2026-12-20T12:00:00Z", **{"from": "2026-12-01T12:00:00Z"})["done"]
    assert house.ask(request="exempt", bench="east", until="2026-09-18T12:00:00Z")["done"]
    told = done_soon(house, lambda today: len(today["next"]) == 3, "all that comes next")
    assert [(n["kind"], n["bench"], n["time"]) for n in told["next"]] == [
        ("exemption-ends", "east", "2026-09-18T12:00:00Z"), ("hold-ends", "west", "2026-09-20T12:00:00Z"),
        ("hold-announced", "east", "2026-12-01T12:00:00Z")]
    assert "20 September" in told["next"][1]["text"]
    assert "1 December" in told["next"][2]["text"] and "Ines" in told["next"][2]["text"]


def test_an_acknowledged_trouble_stands_apart_and_its_sensor_is_to_be_looked_at(house):
    house.speak("2026-09-15T09:00:00Z", 27, "east", "west")
    house.speak("2026-09-16T12:00:00Z", 8, "east")
    notice = "sensor-silent/west-air"
    told = done_soon(house, lambda today: [task for task in today["do"] if task["need"]["id"] == notice], "the silent sensor")
    task = next(task for task in told["do"] if task["need"]["id"] == notice)
    assert task["asks"] == [{"request": "acknowledge", "notice": notice}]
    assert not [next for next in told["next"] if next["kind"] == "sensor"], "it is told among what is to be done"

    assert house.ask("Bea", **task["asks"][0])["done"]
    told = done_soon(house, lambda today: today["acknowledged"], "the acknowledged one")
    assert [(task["need"]["id"], task["need"]["acknowledged_by"]) for task in told["acknowledged"]] == [(notice, "Bea")]
    assert notice not in [task["need"]["id"] for task in told["do"]]
    looked_at = next(next for next in told["next"] if next["kind"] == "sensor")
    assert "west-air" in looked_at["text"] and "16 September" in looked_at["text"] and looked_at["time"] is None
    assert [(done["request"], done["who"]) for done in told["done"]] == [("acknowledge", "Bea")]
