"""What people ask on the pages, over the real service and broker: the same as over MQTT, once, and never late."""
import json
import re
import threading

import jsonschema
import pytest

from asking import KEEPER, TRUSTING, bench, fresh_id, post, real, taken_back, tried
from board import Events, ask, port_of
from clock import in_days
from conftest import ROOT, run, wait_for
from faults import Disk
from houses import EAST_PUMP, FEED, SMALL
from season import export

DOCUMENT = json.loads((ROOT / "config" / "openapi.json").read_text())
REQUEST = json.loads((ROOT / "config" / "schemas" / "request.json").read_text())
REQUESTS = "plainwater/testing/requests"
# The east bench is carried by people, and has pots and a pump with a recipe.
HOUSE = SMALL.replace("sensors: [east-air]\n", "sensors: [east-air]\n    moves: declared\n    place: indoors\n    pots: 20\n    pot_litres: 1\n") \
    .replace(EAST_PUMP, EAST_PUMP + "    recipe: growth\n    water: rain\n").replace("sensors:\n", FEED + "sensors:\n", 1)


def check(kind, data):
    schema = {"$ref": f"#/components/schemas/{kind}", "components": DOCUMENT["components"]}
    jsonschema.validate(data, schema)
    return data


@pytest.fixture
def make_shown(make_daemon):
    """make_shown(env=…): a daemon with pages at .port, whose east bench may have feed."""
    def make(env=None, **how):
        text = HOUSE.replace("name: testing", f"name: {how['name']}") if how else HOUSE
        daemon = make_daemon(text, more=TRUSTING, **how)
        daemon.hear_a_night()
        daemon.start(env=env)
        daemon.port = port_of_this_start(daemon)
        return daemon
    return make


def port_of_this_start(daemon):
    """Its log has the address of each start: the last one counts."""
    def ports():
        return re.findall(r"pages on http://127\.0\.0\.1:(\d+)/", daemon.tail())
    started = daemon.log.read_text().count("state of ")
    wait_for(lambda: len(re.findall(r"pages on http", daemon.log.read_text())) == started, "the address of the pages")
    return int(ports()[-1])


@pytest.fixture
def shown(make_shown):
    return make_shown()


def ledger(daemon):
    return [json.loads(line) for line in export(daemon)[1].splitlines()]


def rows_of(daemon, ident):
    return [row for row in ledger(daemon) if row["evidence"].get("request") == ident]


def everything(since):
    """One request of every kind that changes something, in an order in which each does."""
    return [
        {"request": "hold", "bench": "east", "until": in_days(20), "note": "repotted"},
        {"request": "extend", "bench": "east", "until": in_days(30)},
        {"request": "hold", "bench": "west", "from": in_days(5), "until": in_days(9)},
        {"request": "release", "bench": "east", "full": True},
        {"request": "growth-started", "bench": "east"},
        {"request": "exempt", "bench": "east", "until": in_days(40)},
        {"request": "move", "bench": "east", "to": "outdoors"},
        {"request": "watered", "bench": "east", "litres": 4.5, "strength_percent": 100},
        {"request": "runoff", "bench": "east", "ec": 1.2},
        {"request": "arm", "pump": "east"},
        {"request": "disarm", "pump": "east"},
        {"request": "note", "bench": "east", "note": "new label"},
        {"request": "note", "note": "window open"},
        {"request": "withdraw", "bench": "west", "hold": since},
    ]


def unlike_in_time(row):
    """The row without its moments, which differ from house to house."""
    return re.sub(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z", "TIME", json.dumps(row, sort_keys=True))


def test_each_kind_by_page_leaves_the_rows_that_it_leaves_over_mqtt(make_shown, client):
    by_page, by_mqtt = make_shown(), make_shown(name="second")
    for number, wish in enumerate(everything("kind-2")):
        request = {"id": f"kind-{number}", **wish}
        jsonschema.validate({"who": KEEPER, **request}, REQUEST)
        reply = post(by_page.port, request)
        assert reply.status == 200, (request, reply.body)
        answer = check("Answered", reply.json())
        assert answer["done"], answer
        other = client.ask("plainwater/second/requests", {"who": KEEPER, **request})
        assert (other["done"], other["problem"]) == (True, ""), other
        assert unlike_in_time(answer["text"]) == unlike_in_time(other["text"])
        told, heard = rows_of(by_page, request["id"]), rows_of(by_mqtt, request["id"])
        assert [unlike_in_time(row) for row in told] == [unlike_in_time(row) for row in heard], request
        assert {row["id"] for row in answer["decisions"]} or not told
    assert len(ledger(by_page)) == len(ledger(by_mqtt))


def test_every_kind_is_told_and_each_answer_keeps_to_the_document(shown):
    kinds = check("Kinds", ask(shown.port, "/api/kinds").json())["kinds"]
    named = [kind["request"] for kind in kinds]
    assert set(named) == set(REQUEST["properties"]["request"]["enum"])
    assert len({kind["label"] for kind in kinds}) == len(kinds)
    for kind in kinds:
        for field in kind["fields"]:
            assert field["name"] == "bench" or field["name"] in REQUEST["properties"]
    check("Tried", tried(shown.port, request="hold", bench="east"))
    check("Tried", tried(shown.port, request="release", bench="east"))
    for body, status, word in [("{", 400, "not-json"), ({"id": "1", "request": "hold"}, 400, "missing-field"),
                               ({"id": "1", "request": "hold", "bench": "east", "who": "somebody"}, 400, "unknown-field"),
                               ({"id": "1", "request": "water-the-lawn"}, 400, "unknown-request")]:
        reply = post(shown.port, body)
        assert (reply.status, check("Problem", reply.json())["problem"]) == (status, word)
    assert post(shown.port, "x" * 9000).status == 413
    assert ask(shown.port, "/api/requests").status == 405


def test_each_kind_has_its_command():
    for name in REQUEST["properties"]["request"]["enum"]:
        helped = run("plainwater", name, "--help")
        assert helped.returncode == 0 and f"plainwater {name}" in helped.stdout, name


def test_without_trust_a_page_of_this_machine_asks_for_nothing(make_daemon):
    daemon = make_daemon(more='board:\n  listen: "127.0.0.1:0"\n')
    daemon.start()
    reply = post(port_of(daemon), {"id": "1", "request": "hold", "bench": "east"})
    assert reply.status in (401, 403)
    assert not rows_of(daemon, "1")


def test_a_dry_run_says_what_then_happens_and_changes_nothing(shown):
    before = ledger(shown)
    percent = bench(shown.port, "east")["strength_percent"]
    assert percent > 0
    ident = fresh_id()
    wish = {"id": ident, "request": "hold", "bench": "east", "until": in_days(20)}
    trial = post(shown.port, wish, "/api/requests/try").json()
    assert trial["done"]
    assert re.fullmatch(rf"east would get plain water until \d+ \w+( \d+)? instead of {percent} %\.", trial["would"])
    assert ledger(shown) == before
    assert bench(shown.port, "east")["strength_percent"] == percent
    # Its id is not spent.
    answer = post(shown.port, wish).json()
    assert answer["done"] and answer["text"] == trial["text"]
    wait_for(lambda: bench(shown.port, "east")["strength_percent"] == 0, "plain water")
    refused = tried(shown.port, request="hold", bench="east", until="2020-01-01T00:00:00Z")
    assert (refused["done"], refused["problem"]) == (False, "until-in-the-past")
    assert refused["would"].startswith("Nothing would change: ")


def test_undo_leaves_the_house_as_it_was(shown):
    def state():
        now = bench(shown.port, "east")
        return now["feeding"], now["strength_percent"], now["hold"] and now["hold"]["planned_end"], now["announced"], now["place"]["position"]

    def settled(what):
        return wait_for(lambda: what(state()), str(state()))
    begun = state()
    held = real(shown.port, request="hold", bench="east", until=in_days(20))
    settled(lambda s: s[0] == "plain-water")
    taken_back(shown.port, held)
    settled(lambda s: s == begun)
    announced = real(shown.port, **{"request": "hold", "bench": "east", "from": in_days(5), "until": in_days(9)})
    settled(lambda s: [a["id"] for a in s[3]] == [announced["id"]])
    changed = real(shown.port, **{"request": "hold", "bench": "east", "from": in_days(6), "until": in_days(9), "instead": announced["id"]})
    settled(lambda s: [a["id"] for a in s[3]] == [changed["id"]])
    again = taken_back(shown.port, changed)
    settled(lambda s: [a["id"] for a in s[3]] == [again["id"]])
    taken_back(shown.port, again) if again["undo"]["request"]["request"] == "withdraw" else real(shown.port, request="withdraw", bench="east", hold=again["id"])
    settled(lambda s: s == begun)
    moved = real(shown.port, request="move", bench="east", to="outdoors")
    settled(lambda s: s[4] == "outdoors")
    taken_back(shown.port, moved)
    settled(lambda s: s[4] == "indoors")
    armed = real(shown.port, request="arm", pump="east")
    assert taken_back(shown.port, armed)["undo"] is None
    for wish in ({"request": "note", "note": "a line"}, {"request": "watered", "bench": "east", "litres": 1}):
        assert real(shown.port, **wish)["undo"] is None


def test_a_phone_that_repeats_itself_changes_nothing(shown, client):
    wish = {"id": "same", "request": "hold", "bench": "east", "until": in_days(20)}
    first = post(shown.port, wish).json()
    rows = ledger(shown)
    # The answer was lost, and the phone asks again; and once more over MQTT, and after a restart.
    assert post(shown.port, wish).json() == first
    over = client.ask(REQUESTS, {"who": KEEPER, **wish})
    assert (over["done"], over["text"]) == (True, first["text"])
    other = post(shown.port, {**wish, "until": in_days(30)}).json()
    assert (other["done"], other["problem"]) == (False, "id-reused")
    shown.kill()
    shown.start()
    later = post(port_of_this_start(shown), wish).json()
    assert (later["done"], later["text"]) == (True, first["text"])
    assert ledger(shown) == rows


def test_one_answer_to_many_who_ask_at_once(shown):
    """Two phones, several requests each, and the same one from both."""
    answers, shared = [], {"id": "both", "request": "note", "note": "from both"}

    def phone(name):
        for number in range(10):
            answers.append(real(shown.port, request="note", note=f"{name} {number}"))
        answers.append(post(shown.port, shared).json())
    phones = [threading.Thread(target=phone, args=(name,)) for name in ("one", "two")]
    for each in phones:
        each.start()
    for each in phones:
        each.join()
    assert len(answers) == 22 and all(answer["done"] for answer in answers)
    texts = [row["text"] for row in ledger(shown)]
    for name in ("one", "two"):
        assert [t for t in texts if f"notes: {name} " in t] == [f"{KEEPER} notes: {name} {n}" for n in range(10)]
    assert sum("from both" in t for t in texts) == 1


def test_viewers_see_what_was_asked(shown):
    with Events(shown.port) as viewer:
        real(shown.port, request="hold", bench="east", until=in_days(20))
        seen, _ = viewer.until(lambda kind, data: kind == "bench" and data["name"] == "east" and data["feeding"] == "plain-water")
        assert seen["hold"]["cause"] == "grower"


def test_on_a_full_disk_nothing_is_done_and_nothing_kept_for_later(tmp_path, make_daemon):
    daemon = make_daemon(HOUSE.replace("durability: process", "durability: power"), more=TRUSTING)
    daemon.hear_a_night()
    disk = Disk(tmp_path, daemon.store)
    daemon.start(env=disk.env)
    port = port_of_this_start(daemon)
    wish = {"id": "full", "request": "hold", "bench": "east", "until": in_days(20)}
    disk.is_now("full")
    wait_for(lambda: post(port, {"id": fresh_id(), "request": "note", "note": "while there is room"}).status == 503, "the disk to be full")
    reply = post(port, wish)
    assert (reply.status, check("Problem", reply.json())["problem"]) == (503, "not-stored")
    disk.is_now("fine")
    wait_for(lambda: "healthy" in daemon.state()["store"], "the store to work again")
    wait_for(lambda: post(port, {"id": fresh_id(), "request": "note", "note": "works again"}).status == 200, "requests to be taken")
    assert not rows_of(daemon, "full")
    assert bench(port, "east")["hold"] is None
    assert post(port, wish).json()["done"]
    assert rows_of(daemon, "full")


def test_a_service_that_restarts_knows_what_was_asked_and_nothing_else(shown):
    held = real(shown.port, request="hold", bench="east", until=in_days(20))
    tried(shown.port, request="release", bench="east")
    shown.kill()
    shown.start()
    port = port_of_this_start(shown)
    assert bench(port, "east")["feeding"] == "plain-water"
    assert taken_back(port, held)["done"]
    wait_for(lambda: bench(port, "east")["hold"] is None, "no hold")


def test_a_reload_of_a_page_is_answered_when_it_is_done(shown):
    assert "read again" in tried(shown.port, request="reload")["would"]
    text = shown.settings.read_text()
    shown.settings.write_text(text.replace("group: warm", "group: cool"))
    answer = real(shown.port, request="reload")
    assert answer["done"] and "group" in answer["text"]
    shown.settings.write_text(text.replace("group: warm", "group: hot"))
    answer = real(shown.port, request="reload")
    assert (answer["done"], answer["problem"]) == (False, "faulty-settings")


def test_while_the_broker_is_away_a_page_is_told(shown, broker):
    broker.stop()
    wait_for(lambda: ask(shown.port, "/api/now").json()["service"]["backlog"], "the loss of the broker")
    answer = real(shown.port, request="hold", bench="east")
    assert (answer["done"], answer["problem"]) == (False, "no-broker")
    broker.start()
    wait_for(lambda: not ask(shown.port, "/api/now").json()["service"]["backlog"], "the broker to be back")
    assert real(shown.port, request="hold", bench="east")["done"]


def test_a_note_and_a_withdrawal_by_the_command_line(shown, client):
    noted = run("plainwater", "note", "window open", "--settings", shown.settings, "--who", "Ada")
    assert noted.returncode == 0, noted.stderr
    about = run("plainwater", "note", "repotted", "--bench", "east", "--settings", shown.settings, "--who", "Ada")
    assert about.returncode == 0, about.stderr
    assert [row["bench"] for row in ledger(shown) if row["text"].startswith("Ada notes: ")] == ["", "east"]
    announced = real(shown.port, **{"request": "hold", "bench": "east", "from": in_days(5), "until": in_days(9)})
    seen = wait_for(lambda: announced["id"] in (out := run("plainwater", "show", "--settings", shown.settings).stdout) and out, "the hold in show")
    assert "Plain water is announced from" in seen
    done = run("plainwater", "withdraw", "east", announced["id"], "--settings", shown.settings)
    assert done.returncode == 0, done.stderr
    wait_for(lambda: bench(shown.port, "east")["announced"] == [], "no announced hold")
