"""Where benches are: the position topic, moves declared by the grower, what a restart keeps."""
import datetime
import json

import jsonschema
import pytest

from clock import in_days, now, text_of
from conftest import ROOT, SETTINGS, run, wait_for
from season import export
from test_topics import retained, validate

BASE = "plainwater/testing"
MOVING = SETTINGS.replace("sensors: [east-air]\n", "sensors: [east-air]\n    moves: declared\n")


def ago(**span):
    return text_of(now() - datetime.timedelta(**span))


@pytest.fixture
def moving(make_daemon):
    daemon = make_daemon(MOVING)
    daemon.start()
    return daemon


def position(broker, bench, wanted):
    def look():
        message = retained(broker, f"{BASE}/benches/{bench}/position")
        return message if message.json()["position"] == wanted else None
    message = wait_for(look, f"{bench} to stand {wanted}")
    validate(message, "position")
    return message.json()


def decisions(daemon):
    return [json.loads(line) for line in export(daemon)[1].splitlines()]


def test_a_bench_that_never_moves_is_where_the_settings_say(make_daemon, broker, client):
    make_daemon(SETTINGS.replace("sensors: [west-air]\n", "sensors: [west-air]\n    place: outdoors\n")).start()
    state = position(broker, "west", "outdoors")
    assert (state["said_by"], state["probability"], state["pattern"], state["since"]) == ("settings", 1, "settled", None)
    assert position(broker, "east", "indoors")["said_by"] == "settings"
    reply = client.ask(f"{BASE}/requests", {"id": "m1", "who": "a test", "request": "move", "bench": "east", "to": "outdoors"})
    assert (reply["done"], reply["problem"]) == (False, "does-not-move")


def test_a_declared_move_takes_effect_at_once_and_is_kept(moving, broker, client):
    assert position(broker, "east", "indoors")["said_by"] == "settings"
    moved = ago(hours=2)
    reply = client.ask(f"{BASE}/requests", {"id": "m1", "who": "a test", "request": "move", "bench": "east", "to": "outdoors", "from": moved})
    assert reply["done"], reply
    state = position(broker, "east", "outdoors")
    assert (state["said_by"], state["since"], state["probability"]) == ("person", moved, 1)
    order = wait_for(lambda: (o := retained(broker, f"{BASE}/benches/east/order").json())["feeding"] == "plain-water" and o, "plain water")
    assert order["hold"]["cause"] == "moved-outdoors" and order["hold"]["provisional"]

    schema = json.loads((ROOT / "config" / "schemas" / "decision.json").read_text())
    ledger = decisions(moving)
    for decision in ledger:
        jsonschema.validate(decision, schema)
    changed = next(d for d in ledger if d["decision"] == "position-changed")
    assert list(changed)[:9] == ["time", "bench", "decision", "cause", "feeding", "strength_percent", "position", "pattern", "since"]
    assert (changed["position"], changed["pattern"], changed["since"], changed["evidence"]["who"]) == ("outdoors", "settled", moved, "a test")

    moving.kill()
    moving.start()
    assert position(broker, "east", "outdoors")["since"] == moved
    assert decisions(moving)[:len(ledger)] == ledger


@pytest.mark.parametrize("fields, problem", [
    ({}, "missing-field"),
    ({"to": "porch"}, "bad-value"),
    ({"to": "outdoors", "from": in_days(400)}, "in-the-future"),
    ({"to": "outdoors", "from": "2020-01-01T00:00:00Z"}, "too-long-ago"),
    ({"to": "outdoors", "until": in_days(400)}, "unknown-field"),
])
def test_an_impossible_move_is_refused(moving, client, fields, problem):
    reply = client.ask(f"{BASE}/requests", {"id": "bad", "who": "a test", "request": "move", "bench": "east", **fields})
    assert (reply["done"], reply["problem"]) == (False, problem)
    assert not any(d["decision"] == "position-changed" for d in decisions(moving))


def test_the_command_line_declares_a_move_and_shows_it(moving, broker):
    result = run("plainwater", "move", "east", "--to", "outdoors", "--hold", "--note", "out for the summer", "--settings", moving.settings)
    assert result.returncode == 0, result.stderr
    position(broker, "east", "outdoors")
    shown = run("plainwater", "show", "--settings", moving.settings)
    assert shown.returncode == 0 and "outdoors" in shown.stdout
    assert json.loads(run("plainwater", "show", "--json", "--settings", moving.settings).stdout)["benches"]["east"]["position"]["position"] == "outdoors"
    # --hold: plain water at once, by the grower's request, so the climate cannot withdraw it.
    assert any(d["cause"] == "grower" and d["decision"].startswith("hold-") for d in decisions(moving))
    assert run("plainwater", "move", "east", "--to", "porch", "--settings", moving.settings).returncode == 2
