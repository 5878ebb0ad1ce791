"""A live daemon's messages compared with the contracts: config/asyncapi.json with its schemas, and `plainwater check
--messages`."""
import copy
import json
import re
import subprocess

import jsonschema
import pytest

import recorded
from conftest import PATIENCE, ROOT, run
from recorded import BASE

DOCUMENT = json.loads((ROOT / "config" / "asyncapi.json").read_text())
SCHEMAS = {path.stem: json.loads(path.read_text()) for path in (ROOT / "config" / "schemas").glob("*.json")}
STORE = {schema["$id"]: schema for schema in SCHEMAS.values()}
# Sensors' topics are set in the settings, and their payloads are defined by the mapping.
SENSORS = {"house/east/air", "house/west/air"}
TEXT = {"strength", "placard", "notices", "noticesOfPerson", "fence"}


def channel_of(topic):
    """The channel whose address matches the topic; None when there is none."""
    found = []
    for name, channel in DOCUMENT["channels"].items():
        if (channel["address"] or "").startswith("{root}/"):
            pattern = "/".join("[^/]+" if level.startswith("{") else re.escape(level) for level in channel["address"].split("/"))
            if re.fullmatch(pattern, topic):
                found.append(name)
    assert len(found) <= 1, f"{topic} fits {found}"
    return found[0] if found else None


def refused_by_document(topic, payload):
    """The fault, or None."""
    channel = channel_of(topic)
    if channel is None:
        return "no channel"
    (message,) = DOCUMENT["channels"][channel]["messages"].values()
    message = DOCUMENT["components"]["messages"][message["$ref"].split("/")[-1]]
    schema = message["payload"]
    if message["contentType"] != "text/plain":
        schema = SCHEMAS[schema["schema"]["$ref"].split("/")[1].removesuffix(".json")]
        try:
            payload = json.loads(payload)
        except ValueError as broken:
            return str(broken)
    resolver = jsonschema.RefResolver(schema.get("$id", ""), schema, store=STORE)
    for error in jsonschema.Draft202012Validator(schema, resolver=resolver, format_checker=jsonschema.FormatChecker()).iter_errors(payload):
        return error.message
    return None


def wrong_lines(messages, settings):
    """Line numbers, from 1, in which `plainwater check --messages` finds faults; and its whole output."""
    lines = "".join(json.dumps({"topic": topic, "payload": payload}) + "\n" for topic, payload in messages)
    result = run("plainwater", "check", "--messages", "-", "--settings", settings, input=lines)
    assert result.stderr == ""
    wrong = {int(line.split(":")[1]) for line in result.stdout.splitlines() if line.startswith("-:")}
    assert result.returncode == (1 if wrong else 0)
    return wrong, result.stdout


def mutations(value):
    """(what, value): a required key missing, a wrong type, an unknown word; each must be refused."""
    for key in value:
        less = copy.deepcopy(value)
        del less[key]
        yield f"without {key}", less
        yield f"{key} of a wrong type", {**value, key: [[]]}
    yield "with a field nobody knows", {**value, "nobody_knows": 1}


WORDS = {"order": ["feeding", "stock"], "position": ["position", "pattern", "said_by"], "service": ["state", "clock"], "requests": ["request"]}
# Optional fields.
OPTIONAL = {"dosed": {"time", "pump", "strength_percent", "litres"}, "order": {"store", "lineage"},
            "service": {"store_id", "run", "history_since", "aside_for", "corrected", "absence"}}


@pytest.fixture
def life(make_daemon, broker):
    daemon = make_daemon()
    return daemon, recorded.record(daemon, broker)


def test_everything_published_follows_the_contracts(life):
    daemon, messages = life
    ours = [(topic, payload) for topic, payload in messages if topic not in SENSORS]
    seen = {channel_of(topic) for topic, _ in ours}
    assert seen >= {"order", "strength", "placard", "climate", "position", "dosed", "requests", "replies", "service", "fence"}
    assert {json.loads(payload)["state"] for topic, payload in ours if channel_of(topic) == "service"} == {"online", "offline"}
    assert None not in seen
    for topic, payload in ours:
        assert refused_by_document(topic, payload) is None, (topic, payload)
    wrong, said = wrong_lines(messages, daemon.settings)
    assert not wrong, said
    assert said.splitlines()[-1] == f"{len(messages)} valid, 0 wrong, 0 on topics that are not known"


def test_damaged_messages_are_refused_by_both(life):
    daemon, messages = life
    first = {}
    for topic, payload in messages:
        channel = channel_of(topic)
        if channel and channel not in TEXT:
            first.setdefault((channel, json.loads(payload).get("state")), (topic, json.loads(payload)))
    damaged = []
    for (channel, _), (topic, value) in first.items():
        for what, mutated in mutations(value):
            if what.removeprefix("without ") not in OPTIONAL.get(channel, ()):
                damaged.append((what, topic, json.dumps(mutated)))
        for word in WORDS.get(channel, ()):
            if word in value:
                damaged.append((f"{word} a bad word", topic, json.dumps({**value, word: "sideways"})))
        damaged.append(("cut short", topic, json.dumps(value)[:-1]))
    damaged += [("strength", f"{BASE}/benches/east/strength", bad) for bad in ("", "101", "-1", "4.5", "forty")]
    damaged += [("placard", f"{BASE}/benches/east/placard", bad) for bad in ("", "A\n\nB", "\nA")]
    assert len(damaged) > 100
    wrong, said = wrong_lines([(topic, payload) for _, topic, payload in damaged], daemon.settings)
    for line, (what, topic, payload) in enumerate(damaged, 1):
        assert refused_by_document(topic, payload), f"the document takes {topic} {what}: {payload}"
        assert line in wrong, f"check takes {topic} {what}: {payload}\n{said}"


@pytest.mark.parametrize("form", [["-v"], ["-F", "%j"], ["-F", "%J"]])
def test_output_of_mosquitto_sub_can_be_checked(daemon, broker, client, form, tmp_path):
    recorded.ask(client, {"id": "c-1", "who": "Ines", "request": "hold", "bench": "east"})
    # %J is only for JSON; a placard is not JSON.
    topics = ["order", "position"] if form[-1] == "%J" else ["order", "position", "placard"]
    filters = [argument for topic in topics for argument in ("-t", f"{BASE}/benches/+/{topic}")]
    sub = subprocess.run(["mosquitto_sub", "-h", "127.0.0.1", "-p", str(broker.port), "-V", "5", *filters, "-C", str(2 * len(topics)), "-W", str(PATIENCE), *form],
                         capture_output=True, text=True, timeout=60)
    capture = tmp_path / "capture.txt"
    capture.write_text(sub.stdout)
    result = run("plainwater", "check", "--messages", capture, "--settings", daemon.settings)
    assert result.returncode == 0, result.stdout
    assert result.stdout == f"{2 * len(topics)} valid, 0 wrong, 0 on topics that are not known\n"
