"""Three benches from August to November, in which nearly everything happens that people are told of."""
import datetime
import json

from clock import UTC, text_of
from houses import FEED, PLAYED, any_sensor, house
from season import export

BASE = "plainwater/testing"
REQUESTS = f"{BASE}/requests"

SEASON = house(
    any_sensor(humidity=True),
    """\
  east: {{group: intermediate, sensors: [east], pots: 30, pot_litres: 0.5, watering_days: 3}}
  south: {{group: warm, sensors: [south], moves: declared}}
  west: {{group: intermediate, sensors: [west]}}
  moss: {{group: cool, sensors: [east]}}
""", """\
  line: {{benches: [east], recipe: growth, water: rain, daily_litres: 40, grace_minutes: 60}}
  south: {{benches: [south], recipe: growth, water: rain, least_ml_per_litre: 50}}
  drip: {{benches: [west], recipe: growth, water: rain, silent_hours: 36}}
""", sections=PLAYED + """\
board:
  listen: ""
  address: http://house.example:8632
notices:
  quiet: "22:00-07:00"
  digest: "07:30"
people:
  tom:
    secret_file: tom.secret
""" + FEED)


class Notices:
    """All notices that a phone would get."""

    def __init__(self, client, base=BASE):
        self.messages, self.lines = client.subscribe(f"{base}/notices/+/json"), {}
        for urgency in ("urgent", "soon", "info"):
            self.lines[urgency] = client.subscribe(f"{base}/notices/{urgency}")

    def all(self):
        return [message.json() for message in list(self.messages)]

    def of(self, kind, state=None):
        return [n for n in self.all() if n["kind"] == kind and (state is None or n["state"] == state)]

    def kinds(self):
        return {kind for n in self.all() for kind in [n["kind"], *(other["kind"] for other in n["with"])]}


class House:
    """Hourly readings of three sensors, as fast as the broker takes them."""

    def __init__(self, client):
        self.client, self.now = client, datetime.datetime(2026, 8, 20, tzinfo=UTC)
        self.nights = {"east": 18.0, "south": 20.0, "west": 18.0}
        self.stuck, self.silent, self.count = set(), set(), 0

    def until(self, text):
        end = datetime.datetime.fromisoformat(text).replace(tzinfo=UTC)
        while self.now < end:
            self.now += datetime.timedelta(hours=1)
            for sensor, night in self.nights.items():
                if sensor in self.silent:
                    continue
                self.count += 1
                wobble = 0 if sensor in self.stuck else (self.count * 7 % 11) * 0.03
                celsius = night + (0 if sensor in self.stuck or self.now.hour < 8 or self.now.hour >= 18 else 4) + wobble
                payload = {"t": round(celsius, 2), "rh": round(60 + wobble * 10, 1), "time": self.text()}
                self.client.client.publish(f"house/{sensor}/air", json.dumps(payload), qos=1)
        self.settled()

    def text(self):
        return text_of(self.now)

    def settled(self):
        # After weeks of readings, which a loaded machine takes its time over.
        assert not self.client.ask(REQUESTS, {"id": "barrier"}, patience=300)["done"]

    def ask(self, **request):
        reply = self.client.ask(REQUESTS, {"id": f"{request['request']}-{self.text()}", "who": "Ines", **request})
        assert reply["done"], reply
        return reply

    def dosed(self, bench, **what):
        self.client.publish(f"{BASE}/benches/{bench}/dosed", {"time": self.text(), **what})
        self.settled()


def play(house, heard, daemon):
    """What happens, and what is told of it at once; the daemon runs on."""
    house.until("2026-08-25")
    assert heard.of("no-watering", "begun") and heard.of("pump-silent", "begun") and heard.of("cannot-dose", "begun")
    house.ask(request="arm", pump="line")
    house.ask(request="exempt", bench="west", until="2026-09-01T00:00:00Z")
    house.ask(request="move", bench="south", to="outdoors")
    house.until("2026-08-26T10:00")
    house.ask(request="move", bench="south", to="indoors")  # outdoors its chill would wake nobody
    house.dosed("east", litres=4, feed_ml=10, strength_percent=25)  # a bench that is still being learnt
    house.ask(request="runoff", bench="east", ec=5)
    house.until("2026-08-27T10:00")
    house.dosed("east", litres=4, feed_ml=80)
    assert [n["pump"] for n in heard.of("over-strength")] == ["line"]
    house.until("2026-08-28T10:00")
    assert heard.of("salts-up", "begun")[0]["bench"] == "east"
    house.dosed("east", litres=4, feed_ml=2)
    house.until("2026-08-29T10:00")
    house.dosed("east", litres=90, feed_ml=225)
    house.client.publish(f"{BASE}/benches/east/dosed", {"time": "2026-07-01T10:00:00Z", "litres": 4})
    house.stuck.add("south")
    house.until("2026-08-30T12:00")
    assert [n["sensor"] for n in heard.of("sensor-doubted", "begun")] == ["south"]
    house.stuck.clear()
    house.until("2026-09-02")
    assert heard.of("sensor-doubted", "over")
    house.silent.add("south")
    house.until("2026-09-06")
    assert [n["sensor"] for n in heard.of("sensor-silent", "begun")] == ["south"]
    assert [n["bench"] for n in heard.of("blind", "begun")] == ["south"]
    assert len(heard.of("sensor-silent")) <= 4, "once a day at most"
    house.silent.clear()
    house.until("2026-09-12")
    assert heard.of("sensor-silent", "over") and heard.of("blind", "over")

    house.nights = {"east": 12.0, "south": 12.0, "west": 12.0}
    house.until("2026-09-18T10:00")
    chill = heard.of("chill", "begun")
    assert chill and chill[0]["bench"] == "south" and chill[0]["urgency"] == "urgent" and chill[0]["decision"]["cause"] == "chill"
    assert chill[0]["link"] == "http://house.example:8632/bench/south"
    house.ask(request="acknowledge", notice="chill/south")
    assert {n["bench"] for n in heard.of("hold-placed")} >= {"east", "west"}
    assert heard.of("hold-placed")[0]["urgency"] == "soon"
    house.dosed("west", litres=4, strength_percent=50)
    house.ask(request="watered", bench="east", litres=5, strength_percent=50)
    for day in (18, 19, 20):
        house.until(f"2026-09-{day}T12:00")
        house.dosed("east", litres=4, feed_ml=40, strength_percent=100)
    assert [n["pump"] for n in heard.of("pump-untrusted", "begun")] == ["line"]
    assert not house.client.ask(REQUESTS, {"id": "no-such", "who": "Ines", "request": "acknowledge", "notice": "chill/east"})["done"]
    house.ask(request="trust", pump="line")
    house.nights["west"] = 18.0
    house.until("2026-10-01")
    assert heard.of("pump-untrusted", "over")
    again = [n for n in heard.of("chill", "lasting") if n["time"] > "2026-09-18T10:00:00Z"]
    decided = [json.loads(line)["time"] for line in export(daemon)[1].splitlines() if '"bench":"south","decision":"notice","cause":"chill"' in line]
    assert again and decided and min(n["time"] for n in again) >= decided[0], "acknowledged: only another decision brings it back"
    house.ask(request="hold", bench="west", until="2026-11-03T00:00:00Z")
    house.ask(request="extend", bench="west", until="2026-11-20T00:00:00Z")
    # Announced: whoever is away from now on has an answer.
    house.ask(request="absence", until="2026-10-20T00:00:00Z", person="tom", **{"from": "2026-10-10T00:00:00Z"})
    house.until("2026-11-05")
    # Good to know, so told in the morning with others.
    assert {"absence-begun", "absence-ended"} <= heard.kinds()
    assert [n["id"] for n in heard.of("please-decide", "begun")] == ["please-decide/west/grower"]
    house.ask(request="acknowledge", bench="west")
