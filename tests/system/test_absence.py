"""Whoever keeps the house is away: real daemon, broker, store and command line, in time that comes from the readings."""
import datetime
import json

import pytest

from clock import UTC, instant, text_of
from conftest import run, wait_for
from houses import PLAYED, any_sensor, house
from mqtt5 import Client
from season import export
from signing import people

BASE = "plainwater/testing"
REQUESTS = f"{BASE}/requests"
HOUSE = house(any_sensor(), "  east: {{group: intermediate, sensors: [east]}}\n  west: {{group: intermediate, sensors: [west]}}\n",
              "  line: {{benches: [east]}}\n  drip: {{benches: [west]}}\n", sections=PLAYED)


class Days:
    """A reading of each sensor every ten minutes."""

    def __init__(self, client):
        self.client, self.now, self.celsius = client, datetime.datetime(2026, 8, 20, tzinfo=UTC), {"east": 18.0, "west": 18.0}
        self.count = self.asked = 0

    def text(self, **later):
        return text_of(self.now + datetime.timedelta(**later))

    def go_on(self, **span):
        end = self.now + datetime.timedelta(**span)
        while self.now < end:
            self.now += datetime.timedelta(minutes=10)
            self.count += 1
            for sensor, celsius in self.celsius.items():
                payload = {"t": round(celsius + self.count * 7 % 11 * 0.03, 2), "time": self.text()}
                self.client.client.publish(f"house/{sensor}/air", json.dumps(payload), qos=1)
        self.settled()

    def settled(self):
        assert not self.client.ask(REQUESTS, {"id": "barrier"})["done"]

    def ask(self, **request):
        self.asked += 1
        return self.client.ask(REQUESTS, {"id": f"{request['request']}-{self.asked}", "who": "Ines", **request})

    def until(self, fits, steps=18):
        """In steps of a reading, for three hours at most."""
        for _ in range(steps):
            self.go_on(minutes=10)
            if fits():
                return
        raise AssertionError(f"not by {self.text()}")


class Heard:
    """What goes to everybody, and what to each person alone."""

    def __init__(self, client):
        self.urgent = client.subscribe(f"{BASE}/notices/urgent/json")
        self.soon = client.subscribe(f"{BASE}/notices/soon/json")
        self.alone = client.subscribe(f"{BASE}/notices/+/urgent/json")
        self.lines = client.subscribe(f"{BASE}/notices/+/urgent")

    def to_all(self):
        return [(n["kind"], n["state"]) for n in (m.json() for m in list(self.urgent))]

    def of(self, notice):
        """The states told to a person alone, of the notice of this id."""
        return [n["state"] for n in (m.json() for m in list(self.alone)) if n["id"] == notice]

    def to_person(self):
        """(person, kind, state, since when it was written)."""
        told = [(m.topic.split("/")[-3], m.json()) for m in list(self.alone)]
        assert sorted((f"{BASE}/notices/{person}/urgent") for person, _ in told) == sorted(m.topic for m in list(self.lines))
        assert all(not m.retain and m.qos == 1 and m.expiry_s for m in list(self.alone))
        return [(person, n["kind"], n["state"], n["time"]) for person, n in told]


@pytest.fixture
def away(make_daemon, tmp_path):
    """A daemon whose settings name two people; not started."""
    return make_daemon(HOUSE, more=people(tmp_path, ruth="care", tom="care"))


def plainwater(daemon, *words):
    return run("plainwater", *words, "--settings", daemon.settings, "--who", "Ines")


def audited(daemon):
    done = run("plainwater", "audit", "--store", daemon.store)
    assert done.returncode == 0, done.stdout + done.stderr


def test_urgent_things_go_to_who_looks_after_the_house_and_a_chill_once_more(away, broker):
    daemon = away
    daemon.start(more=["--stand-in-pumps"])
    with Client(broker.port) as client:
        heard, days = Heard(client), Days(client)
        days.go_on(days=2)
        days.celsius["east"] = 4.0
        days.go_on(hours=3)
        assert heard.to_all()[:1] == [("chill", "begun")] and heard.to_person() == [], "nobody is away"
        days.celsius["east"] = 18.0
        days.go_on(days=5)
        seen = len(heard.to_all())

        assert days.ask(request="absence", until=days.text(days=10), person="tom")["done"]
        days.celsius["east"] = 4.0
        days.until(lambda: heard.to_person())
        assert heard.to_all()[seen:] == [("chill", "begun")]
        assert [told[:3] for told in heard.to_person()] == [("tom", "chill", "begun")]
        # A kill and a restart within the half hour: what was told is not told again, and what is due comes.
        days.go_on(minutes=10)
        daemon.kill()
        daemon.start(more=["--stand-in-pumps"], past_backlog=False)
        days.go_on(minutes=10)
        assert heard.of("chill/east") == ["begun"]
        days.go_on(minutes=20)
        told = heard.to_person()
        assert [one[:3] for one in told] == [("tom", "chill", "begun"), ("tom", "chill", "lasting")]
        assert instant(told[1][3]) - instant(told[0][3]) == datetime.timedelta(minutes=30), told
        assert "Nobody has acknowledged this for 30 minutes." in heard.alone[-1].json()["text"]
        assert heard.to_all()[seen:] == [("chill", "begun")], "the others hear of it in their own rhythm"
        daemon.stop()
        daemon.start(more=["--stand-in-pumps"], past_backlog=False)
        days.go_on(minutes=10)
        assert len(heard.to_person()) == 2

        # Acknowledged: no more of it.
        days.celsius["west"] = 4.0
        days.until(lambda: heard.of("chill/west"))
        assert days.ask(request="acknowledge", notice="chill/west")["done"]
        days.go_on(hours=1)
        assert heard.of("chill/west") == ["begun"]
        daemon.stop()
    audited(daemon)


def test_who_leaves_the_settings_is_told_of_and_gets_nothing(away, broker):
    daemon = away
    daemon.start(more=["--stand-in-pumps"])
    with Client(broker.port) as client:
        heard, days = Heard(client), Days(client)
        days.go_on(days=2)
        assert days.ask(request="absence", until=days.text(days=10), person="tom")["done"]
        text = daemon.settings.read_text()
        begin = text.index("  tom:")
        end = text.index("role: care\n", begin) + len("role: care\n")
        daemon.settings.write_text(text[:begin] + text[end:])
        assert run("plainwater", "reload", "--settings", daemon.settings, "--yes").returncode == 0
        wait_for(lambda: [m for m in heard.soon if m.json()["kind"] == "absence-unattended"], "word of it")
        days.celsius["east"] = 4.0
        days.go_on(hours=2)
        assert ("chill", "begun") in heard.to_all() and heard.to_person() == []
        assert days.ask(request="absence", until=days.text(days=10), person="ruth")["done"]
        days.go_on(hours=3)  # the chill is told again
        assert {one[:3] for one in heard.to_person()} == {("ruth", "chill", "lasting")}
        daemon.stop()
    audited(daemon)


def test_nothing_is_armed_and_the_end_says_what_came_up(away, broker):
    daemon = away
    daemon.start(more=["--stand-in-pumps"])
    with Client(broker.port) as client:
        heard, days = Heard(client), Days(client)
        days.go_on(hours=6)
        assert days.ask(request="hold", bench="east", until=days.text(days=50))["done"]
        refused = days.ask(request="absence", until=days.text(days=40), person="#")
        assert (refused["done"], refused["problem"]) == (False, "unknown-person") and "ruth, tom" in refused["text"]
        assert days.ask(request="absence", until=days.text(days=100), person="tom")["problem"] == "too-long"
        announced = days.ask(request="absence", until=days.text(days=40), person="tom", **{"from": days.text(days=1)})
        assert announced["done"], announced
        assert days.ask(request="arm", pump="line")["done"], "it is only announced"
        assert days.ask(request="disarm", pump="line")["done"]
        days.go_on(days=2)
        for request in ("arm", "trust"):
            refused = days.ask(request=request, pump="line")
            assert (refused["done"], refused["problem"]) == (False, "away") and "tom looks after the house" in refused["text"]
        wait_for(lambda: (daemon.state()["absence"] or {}).get("person") == "tom", "the heartbeat to tell of it")
        shown = plainwater_show(daemon)
        assert "tom looks after the house, and no pump is armed or trusted" in shown

        days.go_on(days=32)  # the monthly question about a hold that somebody asked for
        daemon.kill()
        daemon.start(more=["--stand-in-pumps"], past_backlog=False)
        days.go_on(days=8)
        wait_for(lambda: [m for m in heard.soon if m.json()["kind"] == "absence-ended"], "the end")
        ended = [m.json() for m in heard.soon if m.json()["kind"] == "absence-ended"]
        assert len(ended) == 1 and ended[0]["decision"]["cause"] == "back"
        assert "one thing came up that needs a person" in ended[0]["text"]
        assert "east, a hold that somebody asked for goes on to its date" in ended[0]["text"]
        assert "2 requests to arm or trust a pump were refused." in ended[0]["text"]
        assert days.ask(request="back")["problem"] == "not-away"
        assert days.ask(request="arm", pump="line")["done"]
        assert days.ask(request="disarm", pump="line")["done"]
        daemon.stop()
    lines = [json.loads(line) for line in export(daemon)[1].splitlines()]
    assert [line["cause"] for line in lines if line["cause"] in ("absence", "back")] == ["absence", "absence", "back"]
    audited(daemon)


def plainwater_show(daemon):
    shown = run("plainwater", "show", "--settings", daemon.settings)
    assert shown.returncode == 0, shown.stderr
    return " ".join(shown.stdout.split())


def test_the_command_line_asks_for_it(make_daemon, tmp_path):
    daemon = make_daemon(more=people(tmp_path, ruth="care", tom="care"))
    daemon.start()
    done = plainwater(daemon, "absence", "--until", "in 100 days", "--person", "tom")
    assert done.returncode == 1 and "92 days" in done.stdout + done.stderr
    assert plainwater(daemon, "absence", "--until", "in 3 days", "--person", "nobody").returncode != 0
    assert plainwater(daemon, "absence", "--person", "tom").returncode == 2
    back = plainwater(daemon, "back")
    assert back.returncode == 1 and "nobody is away" in back.stdout + back.stderr
    away = plainwater(daemon, "absence", "--until", "in 3 days", "--person", "tom")
    assert away.returncode == 0 and "tom looks after the house" in away.stdout, away.stdout + away.stderr
    refused = plainwater(daemon, "arm", "east", "--yes")
    assert refused.returncode == 1 and "no pump is armed or trusted" in refused.stdout + refused.stderr
    back = plainwater(daemon, "back")
    assert back.returncode == 0 and "the absence is over" in back.stdout
