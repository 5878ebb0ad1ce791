"""config/asyncapi.json: valid by AsyncAPI's own schema, and complete compared with the topics in the code and in
config/README.md."""
import json
import re
import urllib.parse

import jsonschema
import pytest

from conftest import ROOT

OFFICIAL = ROOT / "tests" / "contracts" / "node_modules" / "@asyncapi" / "specs" / "schemas" / "3.0.0.json"


def official():
    return json.loads(OFFICIAL.read_text())


def validator():
    schema = official()
    # All definitions are in one file under their ids, which are addresses that are never fetched.
    store = {definition["$id"]: definition for definition in schema["definitions"].values() if "$id" in definition}
    return jsonschema.Draft7Validator(schema, resolver=jsonschema.RefResolver(schema["$id"], schema, store=store))


def test_the_document_is_valid_by_the_official_schema(document):
    errors = [f"{list(e.absolute_path)}: {e.message}" for e in validator().iter_errors(document)]
    assert not errors, errors[:5]


@pytest.mark.parametrize("break_it", [lambda d: d.pop("info"), lambda d: d["operations"]["giveOrder"].update(action="shout"),
                                      lambda d: d["operations"]["giveOrder"]["bindings"]["mqtt"].update(qos=3),
                                      lambda d: d["channels"]["order"].update(address=7)])
def test_the_official_schema_would_notice(document, break_it):
    broken = json.loads(json.dumps(document))
    break_it(broken)
    assert list(validator().iter_errors(broken))


def test_every_topic_of_the_code_is_a_channel(leaves):
    header = (ROOT / "daemon" / "outlet" / "topics.h").read_text()
    of_benches = {f"benches/+/{leaf}" for leaf in re.findall(r'below\((?:bench|"\+"), "([^"]+)"\)', header)}
    of_site = {path.strip("/") for path in re.findall(r'base_ \+ "([^"]+)"', header)} - {"benches"}
    assert len(of_benches) == 6 and of_site >= {"requests", "replies", "notices"}
    assert of_benches <= leaves
    for topic in of_site:
        assert any(leaf == topic or leaf.startswith(topic.removesuffix("/+") + "/") for leaf in leaves), topic


def test_every_topic_of_the_document_is_a_channel(leaves):
    text = (ROOT / "config" / "README.md").read_text()
    table = text.split("## Topics")[1].split("\n\n")[2]
    names = [name for row in table.splitlines()[2:] for name in re.findall(r"`([^`]+)`", row.split("|")[1])]
    assert len(names) >= 10
    for name in names:
        topic = re.sub(r"^notices/(urgent|soon|info)", "notices/+", re.sub(r"<[^>]*>", "+", name))
        assert topic in leaves, name


def every_reference(node):
    if isinstance(node, dict):
        if isinstance(node.get("$ref"), str):
            yield node["$ref"]
        for value in node.values():
            yield from every_reference(value)
    elif isinstance(node, list):
        for value in node:
            yield from every_reference(value)


def test_every_reference_leads_somewhere(document):
    seen = set(every_reference(document))
    for reference in seen:
        if not reference.startswith("#/"):
            assert (ROOT / "config" / reference).is_file(), reference
            continue
        node = document
        for step in reference[2:].split("/"):
            node = node[urllib.parse.unquote(step)]
    files = {f"schemas/{path.name}" for path in (ROOT / "config" / "schemas").glob("*.json")}
    # decision.json is a line of the ledger, and a part of a notice.
    assert files - seen == {"schemas/decision.json"}


def test_every_example_matches_its_schema(document, schemas):
    store = {schema["$id"]: schema for schema in schemas.values()}
    for name, message in document["components"]["messages"].items():
        assert message["examples"], name
        payload = message["payload"]
        schema = schemas[payload["schema"]["$ref"].split("/")[1].removesuffix(".json")] if "schema" in payload else payload
        for example in message["examples"]:
            jsonschema.Draft202012Validator(schema, resolver=jsonschema.RefResolver(schema.get("$id", ""), schema, store=store)).validate(example["payload"])


def test_operations_name_all_channels(document):
    used = {operation["channel"]["$ref"].split("/")[-1] for operation in document["operations"].values()}
    assert used | {"responseTopic"} == set(document["channels"])
    for name, operation in document["operations"].items():
        assert {"qos", "retain"} <= set(operation["bindings"]["mqtt"]), name
