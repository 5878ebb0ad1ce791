"""Today as a work list, with long names of benches too; the wall's lines."""
import datetime

import pytest

from browser.house import Check, in_days, instant, text_of, wait_for

TAKES_S = 150

REQUESTS = "plainwater/tern-bank/requests"
# As long as the fields of a form take them: in pieces, and in one.
LONG = ["north-window-shelf-with-small-oncidiums-b", "Fensterbankorchideengestellhinterdertuere"]


def asked(house, *requests):
    """Each request, by Ines; all must be done."""
    with house.broker.client() as client:
        for number, request in enumerate(requests):
            reply = client.ask(REQUESTS, {"id": f"{request['request']}-{number}", "who": "Ines", **request})
            assert reply["done"], (request, reply)


def give_work(house):
    """Something of each kind: done, acknowledged, to come. Only one sensor speaks on, so that the others fall silent."""
    at = instant(house.api("/api/now")["time"])
    with house.broker.client() as client:
        for hour in range(1, 9):
            time = text_of(at + datetime.timedelta(hours=hour))
            client.publish("ternbank/air/mist-a", {"t": 19.5, "rh": 80, "time": time})
        wait_for(lambda: house.api("/api/now")["time"] == time, "the last reading")
    silent = wait_for(lambda: [need for need in house.api("/api/now")["needs"] if need["kind"] == "sensor-silent"][1:] and house.api("/api/now")["needs"],
                      "sensors that are silent")
    notice = next(need["id"] for need in silent if need["kind"] == "sensor-silent")
    asked(house, {"request": "hold", "bench": "mist", "until": in_days(house, 3)},
          {"request": "hold", "bench": "long", "from": in_days(house, 30), "until": in_days(house, 50)},
          {"request": "exempt", "bench": "courtyard", "until": in_days(house, 5)},
          {"request": "watered", "bench": "mist", "litres": 4},
          {"request": "watered", "bench": "long", "litres": 12, "strength_percent": 0},
          {"request": "acknowledge", "notice": notice})
    wait_for(lambda: house.api("/api/today")["acknowledged"], "the acknowledgement on the pages")


@pytest.fixture(scope="module")
def worked(tmp_path_factory, autumn):
    from browser.house import House
    house = House(tmp_path_factory.mktemp("worked"), autumn)
    try:
        give_work(house)
        yield house
    finally:
        house.close()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 1440])
def test_today_is_a_work_list(check, worked, width, dark):
    check("today-is-a-work-list", worked, path="/", called="today-work", width=width, dark=dark)


@pytest.mark.parametrize("width", [360, 1440])
def test_readers_have_no_buttons(check, worked, width):
    check("today-without-buttons-for-readers", worked, width=width)


@pytest.mark.parametrize("width", [360, 1440])
def test_today_follows_what_others_ask(make_house, autumn, shots, width):
    house = make_house(of=autumn)
    give_work(house)
    with Check("today-follows-what-others-ask", house.url, shots, width=width, bench="mist") as check, house.broker.client() as client:
        acknowledge = check.heard("open")
        assert acknowledge, "something can be acknowledged"
        assert client.ask(REQUESTS, {"id": "toms", "who": "Tom", **acknowledge})["done"]
        assert client.ask(REQUESTS, {"id": "toms-can", "who": "Tom", "request": "watered", "bench": "cold-end", "litres": 2})["done"]
        check.say("asked")


@pytest.mark.parametrize("width", [360, 1440])
def test_long_names_are_broken_nowhere(check, make_house, autumn, width):
    house = make_house(of=autumn, renamed=[("cold-end", LONG[0]), ("courtyard", LONG[1])])
    # So that the ledger has them too.
    asked(house, *({"request": "hold", "bench": name, "until": in_days(house, 3)} for name in LONG))
    check("long-names-stay-whole", house, path="/", names=LONG, width=width, dark=False)


def test_the_wall_cuts_no_letter_and_tells_nothing_acknowledged(check, worked):
    check("wall-keeps-its-descenders", worked)
