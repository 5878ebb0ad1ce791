"""A grower's year at Tern Bank, from one August to the next: what a person does, what must happen, and what must never."""
import contextlib
import json

import pytest

from conftest import run, wait_for
import asking
import signing
from year import BASE, BENCHES, STAND_IN, begin, old_log, playing

TAKES_S = 60


def the_first_evening(year, folder):
    """The sensors are heard and proposed, each with what it sends; last year's log is rehearsed, then imported."""
    proposed = folder / "proposed.yaml"
    with playing(year.broker, "--from", "2026-07-20", "--to", "2026-08-01", "--duration", "20s"):
        heard = run("plainwater", "listen", "--broker", year.broker.url, "--for", "6s", "--write", proposed)
        assert heard.returncode == 0, heard.stderr
        assert "fahrenheit" in proposed.read_text() and "senml" in proposed.read_text(), proposed.read_text()
        tried = run("plainwater", "check", year.daemon.settings, "--listen", "4s")
    assert tried.returncode == 0 and "fine" in tried.stderr and "long-c" in tried.stdout, tried.stdout + tried.stderr
    log = folder / "old-logger.csv"
    form = old_log(log, "2026-01-01", "2026-08-01")
    rehearsed = run("plainwater", "rehearse", "--settings", year.daemon.settings, "--readings", log, *form)
    assert rehearsed.returncode == 0, rehearsed.stderr
    imported = run("plainwater", "import", "--settings", year.daemon.settings, log, *form, "--yes")
    assert imported.returncode == 0, imported.stdout + imported.stderr


def august_advice(year):
    """Learning is over at once, and nobody hears of the past; a pump is armed after its dose was shown."""
    year.daemon.start(more=STAND_IN)
    year.play("2026-08-01", "2026-08-09")
    assert not {d["cause"] for d in year.ledger("long", since="2026-08-01")} & {"learning", "not-heard"}
    assert not [n for n in year.heard.all() if n["time"] < "2026-08-01"]
    assert year.order("long")["pump_mode"] == "advise" and year.strength("long") == "0"
    assert "--yes" in year.asks("arm", "long", refused=True), "nobody is there to answer"
    would, answer = year.taps("ines", request="arm", pump="long")
    assert "long and cold-end" in would and "mL/L" in would, would
    assert answer["done"] and answer["undo"]["request"]["request"] == "disarm", answer
    armed = [d for d in year.ledger(since="2026-08-08") if "follows its orders" in d["text"]]
    assert len(armed) == 1 and "ines" in armed[0]["text"] and answer["decisions"][0]["text"] == armed[0]["text"]
    assert [(one["who"], one["request"]) for one in year.today()["done"]] == [("ines", "arm")]
    tom = signing.signed_in(year.port, "tom")
    assert asking.post(year.port, {"id": "w1", "request": "arm", "pump": "mist"}, cookie=tom).status == 403, "who waters on Wednesdays arms nothing"
    year.play("2026-08-09", "2026-09-01")
    assert year.order("long")["feeding"] == "full" and year.strength("long") == "100"


def september_on_wheels(year):
    """The courtyard goes in every evening: found once, held once; the ledger stays short."""
    year.play("2026-09-01", "2026-09-12")
    found = year.ledger("courtyard", since="2026-09-01")
    assert [d["decision"] for d in found].count("hold-placed") == 1
    assert len(found) < 15, [d["decision"] for d in found]
    assert year.order("courtyard")["stock"] == "locked"


def a_dead_battery(year):
    """Told the same evening; the sensor that replaces it goes on in its place."""
    year.play("2026-09-12", "2026-09-14", "silent:mist-b:2026-09-12/2026-09-15")
    told = year.heard.of("sensor-silent", "begun")
    assert [n["sensor"] for n in told] == ["mist-b"] and told[0]["time"] < "2026-09-13"
    assert year.order("mist")["stock"] == "open", "the other sensor goes on"


def the_fall(year):
    """Plain water within days of the fall, the same on pump, board and page; the phone hears it in the morning."""
    year.play("2026-09-14", "2026-09-20")
    placed = [d for d in year.ledger("cold-end") if d["decision"] == "hold-placed"]
    assert len(placed) == 1 and placed[0]["cause"] == "sharp-drop"
    assert year.order("cold-end")["stock"] == "locked" and year.strength("cold-end") == "0"
    assert "PLAIN WATER" in year.placard("cold-end") and "cold-end" in year.shows()
    assert year.strength("long") == "0", "one pump feeds both"


def a_power_cut(year):
    """Service and broker come back in the wrong order: nothing lost, no hold gone."""
    before = year.order("cold-end")["hold"]
    year.daemon.kill()
    year.broker.kill()
    year.daemon.spawn(STAND_IN)
    year.broker.start()
    wait_for(lambda: year.daemon.log.read_text().count("backlog is drained") == 2, "the service to be back")
    year.connect(*BENCHES)
    year.play("2026-09-20", "2026-10-01")
    assert year.order("cold-end")["hold"]["placed"] == before["placed"]


def a_head_that_sticks(year):
    """Feed in a hold is urgent at the first report; the stock is locked until the pump is trusted again."""
    year.dosed("cold-end", "2026-09-30T20:00:00Z", litres=20, feed_ml=200)
    told = year.heard.of("fed-in-plain-water")
    assert told and told[-1]["urgency"] == "urgent" and told[-1]["pump"] == "long"
    for hour in (21, 22):
        year.dosed("cold-end", f"2026-09-30T{hour}:00:00Z", litres=20, feed_ml=200)
    assert year.heard.of("pump-untrusted", "begun") and year.order("long")["untrusted"]
    year.asks("trust", "long", "--note", "head replaced")


def three_weeks_away(year):
    """Urgent things go to who looks after the house, nothing is armed, and no question is answered by itself."""
    year.play("2026-10-01", "2026-10-05")
    until = "2026-10-26T08:00:00Z"
    would, answer = year.taps("ines", request="absence", until=until, person="tom")
    assert "tom would look after the house" in would and answer["done"], (would, answer)
    alone = year.client.subscribe(f"{BASE}/notices/tom/urgent/json")
    refused = year.taps("ines", request="arm", pump="mist")[1]
    assert not refused["done"] and "tom" in refused["text"], refused
    _, watered = year.taps("tom", request="watered", bench="mist", litres=6)
    assert watered["done"]
    assert [one["who"] for one in year.today()["done"]][:2] == ["tom", "ines"]
    assert "absence" in [one["kind"] for one in year.today()["next"]]
    held = year.order("cold-end")["hold"]
    year.play("2026-10-05", "2026-10-12")
    year.dosed("cold-end", "2026-10-11T20:00:00Z", litres=20, feed_ml=200)
    told = [message.json() for message in alone]
    assert [n["kind"] for n in told] == ["fed-in-plain-water"] and told[0]["pump"] == "long"
    assert year.order("cold-end")["hold"]["placed"] == held["placed"]
    year.play("2026-10-12", "2026-10-27")
    assert not [d for d in year.ledger(since="2026-10-05") if "follows its orders" in d["text"]]
    back = [d for d in year.ledger(since="2026-10-26") if d["cause"] == "back"]
    assert len(back) == 1 and back[0]["time"] == until, back


def the_hold_ends(year):
    """Weak feed after the hold, and no full feed in the dark months."""
    year.play("2026-10-27", "2026-11-10")
    ended = [d for d in year.ledger("cold-end") if d["decision"] == "hold-ended"]
    assert len(ended) == 1 and ended[0]["strength_percent"] == 25
    assert all(d["strength_percent"] <= 50 for d in year.ledger("cold-end", since=ended[0]["time"]) if d["decision"] == "feeding-changed")


def november_edits(year):
    """Renamed, split, another sensor, another recipe, by a reload: holds and history go along, changed pumps are on advice."""
    year.asks("hold", "courtyard", "--until", "2026-12-24T00:00:00Z", "--yes")
    year.asks("arm", "courtyard", "--yes")
    year.edit(("  courtyard:\n    group: intermediate\n", "  porch:\n    was: courtyard\n    group: intermediate\n"),
              ("benches: [courtyard]", "benches: [porch]"),
              ("  long:\n    group: intermediate\n    sensors: [long-a, long-b, long-c]\n    pots: 60\n",
               "  long-north:\n    was: long\n    group: intermediate\n    sensors: [long-a]\n    pots: 30\n    pot_litres: 0.8\n"
               "  long-south:\n    was: long\n    group: intermediate\n    sensors: [long-b, long-c]\n    pots: 30\n"),
              ("benches: [long, cold-end]", "benches: [long-north, long-south, cold-end]"),
              ("target_ppm_n: 60", "target_ppm_n: 50"))
    year.listen_to("porch", "long-north", "long-south")
    old = year.client.subscribe(f"{BASE}/benches/courtyard/climate")
    compared = run("plainwater", "check", year.daemon.settings, "--against-running")
    assert compared.returncode == 0 and "benches.porch: new, was courtyard" in compared.stdout, compared.stdout + compared.stderr
    assert "advice" in compared.stdout, "what would become of the pump"
    year.asks("reload")
    held = wait_for(lambda: year.orders["porch"] and year.order("porch"), "an order for the porch")
    assert held["hold"]["cause"] == "grower" and held["stock"] == "locked" and held["pump_mode"] == "armed"
    for half in ("long-north", "long-south"):
        order = wait_for(lambda: year.orders[half] and year.order(half), f"an order for {half}")
        assert order["pump_mode"] == "advise", "its pump's benches changed"
    wait_for(lambda: old and old[-1].payload == b"", "nothing to stay on the old name's topic")
    year.play("2026-11-10", "2026-12-15")
    assert year.order("porch")["hold"] and "courtyard" not in json.loads(year.shows("--json"))["benches"]


def the_heater_fails(year):
    """The phone rings once, plain water; when it is warm again the strength of before."""
    year.play("2026-12-15", "2027-01-11")
    before = year.order("long-north")["strength_percent"]
    year.play("2027-01-11", "2027-01-25")
    rung = [n for n in year.heard.of("chill", "begun") if n["bench"].startswith("long") and n["urgency"] == "urgent"]
    assert len({n["bench"] for n in rung}) == len(rung) > 0, "once a bench"
    chilled = [d for d in year.ledger("long-north", since="2027-01-11") if d["cause"] == "chill" and d["decision"] == "feeding-changed"]
    assert chilled and chilled[0]["feeding"] == "plain-water"
    assert year.order("long-north")["strength_percent"] == before


def salts_are_up(year):
    """A flush is asked for; the ledger says who measured."""
    answer = year.asks("runoff", "long-north", "--ec", "3.4")
    assert "3.4" in answer, answer


def a_restore_is_practised(year, folder):
    """The audit is identical, and nothing of the practice reaches the broker."""
    kept = folder / "practice.db"
    backup = run("plainwater", "backup", "--store", year.daemon.store, "--to", kept)
    assert backup.returncode == 0, backup.stderr
    audit = run("plainwater", "audit", "--store", kept)
    assert audit.returncode == 0 and "identical" in audit.stdout, audit.stdout


def growth_begins(year):
    """Full feed by its steps, and the ledger says who said so."""
    year.play("2027-01-25", "2027-03-03")
    would, answer = year.taps("tom", request="growth-started", bench="mist")
    assert would.startswith("mist would get ") and "tom" in answer["text"], (would, answer)
    year.play("2027-03-03", "2027-03-31")
    assert year.order("mist")["strength_percent"] == 100


def out_for_good(year):
    """The former courtyard is wheeled out on warm days: some days of plain water at most, since its nights do not fall."""
    year.play("2027-03-31", "2027-05-31")
    holds = [d for d in year.ledger("porch", since="2027-05-01") if d["decision"].startswith("hold-")]
    assert not [d for d in holds if d["decision"] == "hold-confirmed"]
    assert year.order("porch")["stock"] == "open" and year.order("porch")["hold"] is None


@pytest.fixture
def clients():
    with contextlib.ExitStack() as clients:
        yield clients


def test_a_growers_year(make_daemon, broker, clients, tmp_path):
    year = begin(make_daemon, broker, clients, tmp_path)
    the_first_evening(year, tmp_path)
    august_advice(year)
    september_on_wheels(year)
    a_dead_battery(year)
    the_fall(year)
    a_power_cut(year)
    a_head_that_sticks(year)
    three_weeks_away(year)
    the_hold_ends(year)
    november_edits(year)
    the_heater_fails(year)
    salts_are_up(year)
    a_restore_is_practised(year, tmp_path)
    growth_begins(year)
    out_for_good(year)
    year.daemon.stop()
    audit = run("plainwater", "audit", "--store", year.daemon.store)
    assert audit.returncode == 0 and "identical" in audit.stdout, audit.stdout + audit.stderr
