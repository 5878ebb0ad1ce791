"""Every address of config/openapi.json compared with its schema, on a daemon with a season, and every figure with the
store."""
import contextlib
import csv
import datetime
import io
import itertools
import json
import re
import sqlite3
import statistics
import xml.etree.ElementTree

import jsonschema
import pytest

from board import LISTEN, Events, ask, port_of
from clock import instant
from conftest import ROOT, Broker, Daemon, wait_for
from season import export, play, readings, simulate, tern_bank_settings

DOCUMENT = json.loads((ROOT / "config" / "openapi.json").read_text())
STRETCH = ("--interval", "60m", "--from", "2026-08-20", "--to", "2026-11-10")
BASE = "plainwater/tern-bank"
BENCHES = ["cold-end", "courtyard", "long", "mist"]
FORMULA = "=1+1"  # the name of one of the people
FORMATS = jsonschema.FormatChecker(formats=())


@FORMATS.checks("date-time")
def _is_time(text):
    return not isinstance(text, str) or re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{3})?Z", text) is not None


@FORMATS.checks("date", raises=ValueError)
def _is_date(text):
    return not isinstance(text, str) or bool(datetime.date.fromisoformat(text))


def validate(data, schema):
    """Validates against a schema of the document, given by name or as a part of it."""
    schema = {"$ref": f"#/components/schemas/{schema}"} if isinstance(schema, str) else schema
    resolver = jsonschema.RefResolver.from_schema(DOCUMENT)
    jsonschema.Draft202012Validator(schema, resolver=resolver, format_checker=FORMATS).validate(data)


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    """A daemon that played a season, with two requests and a dose. .port: its pages, .truth: the sensors' readings."""
    folder = tmp_path_factory.mktemp("shown")
    broker = Broker(folder)
    broker.start()
    settings, store = folder / "tern-bank.yaml", folder / "tern-bank.db"
    settings.write_text(tern_bank_settings().format(url=broker.url, store=store) + LISTEN)
    daemon = Daemon(settings, store, f"{BASE}/service/main", broker)
    try:
        daemon.start()
        daemon.port = port_of(daemon)
        play(broker, *STRETCH, timeout=120)
        daemon.truth = readings(simulate(*STRETCH))
        last_time, last_sensor = max(daemon.truth)
        wait_for(lambda: f"{last_time},{last_sensor}," in export(daemon)[0][-4000:], "the season's last report")
        with broker.client() as client:
            assert client.ask(f"{BASE}/requests", {"id": "r1", "who": FORMULA, "request": "hold", "bench": "mist", "until": "2026-12-24T00:00:00Z"})["done"]
            assert client.ask(f"{BASE}/requests", {"id": "r2", "who": FORMULA, "request": "release", "bench": "mist", "full": False})["done"]
            client.publish(f"{BASE}/benches/mist/dosed", {"time": "2026-11-09T12:00:00Z", "litres": 4.5, "strength_percent": 0})
        wait_for(lambda: ask(daemon.port, "/api/benches/mist/doses").json()["doses"], "the dose")
        yield daemon
    finally:
        daemon.clean_up()
        broker.stop()


def get(daemon, target):
    reply = ask(daemon.port, target)
    assert reply.status == 200, (target, reply.body)
    return reply.json()


# Requests for each path, with the expected status.
CASES = {
    "/api/now": [("", 200), ("?x=1", 400)],
    "/api/today": [("", 200), ("?day=1", 400)],
    "/api/kinds": [("", 200), ("?x=1", 400)],
    "/api/season": [("", 200), ("?bench=mist", 200), ("?from=2026-09-01", 200), ("?to=2026-09-30", 200), ("?from=2026-09-01&to=2026-09-01&bench=long", 200),
                    ("?from=2031-01-01", 200), ("?from=2026-09-31", 400), ("?to=1", 400), ("?from=2026-10-01&to=2026-09-01", 400), ("?from=1800-01-01", 400),
                    ("?bench=nobody", 404), ("?bench=", 404), ("?days=3", 400)],
    "/api/benches/{bench}": [("", 200), ("?limit=1", 400)],
    "/api/benches/{bench}/air": [("", 200), ("?hours=1", 200), ("?hours=48", 200), ("?hours=49", 200), ("?hours=744", 200), ("?hours=0", 400), ("?hours=745", 400),
                                 ("?hours=1e2", 400), ("?hours=", 400), ("?limit=3", 400)],
    "/api/benches/{bench}/orders": [("", 200), ("?limit=1", 200), ("?limit=200", 200), ("?limit=0", 400), ("?limit=201", 400), ("?hours=3", 400)],
    "/api/benches/{bench}/doses": [("", 200), ("?limit=1", 200), ("?limit=200", 200), ("?limit=x", 400), ("?limit=-3", 400)],
    "/api/benches/{bench}/code.svg": [("", 200), ("?size=3", 400)],
    "/api/ledger": [("", 200), ("?limit=1", 200), ("?limit=500", 200), ("?before=10", 200), ("?before=1", 200), ("?bench=long", 200), ("?cause=sharp-drop", 200),
                    ("?decision=hold-placed", 200), ("?decision=hold-placed,hold-ended,notice", 200), ("?from=2026-09-14&to=2026-09-14", 200), ("?from=2031-01-01", 200),
                    ("?limit=0", 400), ("?limit=501", 400), ("?before=0", 400), ("?before=x", 400), ("?bench=nobody", 200), ("?cause=hunger", 400), ("?decision=", 400),
                    ("?decision=hold-placed,,", 400), ("?from=2026-02-29", 400), ("?to=9999-12-31", 400), ("?order=asc", 400)],
    "/api/ledger.csv": [("", 200), ("?bench=long&decision=hold-placed&cause=sharp-drop&from=2026-09-01&to=2026-11-01", 200), ("?limit=3", 400), ("?before=3", 400), ("?bench=nobody", 200)],
    "/api/events": [],
    "/api/me": [("", 200)],
    "/api/sessions": [("", 403)],
    "/api/openapi.json": [("", 200), ("?x", 400)],
}


def test_the_document_is_valid_and_the_cases_cover_it():
    assert DOCUMENT["openapi"].startswith("3.1.")
    # What is posted is tried in test_people.py.
    assert set(CASES) == {path for path, item in DOCUMENT["paths"].items() if "get" in item}
    for schema in DOCUMENT["components"]["schemas"].values():
        jsonschema.Draft202012Validator.check_schema(schema)
    resolver = jsonschema.RefResolver.from_schema(DOCUMENT)
    for ref in re.findall(r'"\$ref": "([^"]+)"', json.dumps(DOCUMENT)):
        resolver.resolve(ref)
    for path in CASES:
        item = DOCUMENT["paths"][path]
        asked = " ".join(query for query, status in CASES[path] if status == 200)
        for parameter in item["get"].get("parameters", []):
            assert re.search(rf"[?&]{parameter['name']}=", asked) or path == "/api/ledger.csv", (path, parameter["name"])
        for _, status in CASES[path]:
            assert str(status) in item["get"]["responses"], (path, status)


def test_nothing_outside_the_document_is_served():
    source = (ROOT / "daemon" / "board" / "answers.cpp").read_text()
    words = set(re.findall(r'(?:path\[\d\]|what) [!=]= "([\w.]+)"', source)) - {"api", "bench", "files"}
    named = {part for path in DOCUMENT["paths"] for part in path.split("/")}
    assert len(words) > 6 and words <= named, words - named
    scripts = "".join(file.read_text() for file in (ROOT / "daemon" / "board" / "pages").glob("*.js"))
    for path in set(re.findall(r"[\"'`](/api/[a-z.-]+)", scripts)):
        assert path in DOCUMENT["paths"] or path == "/api/benches", path


def test_the_document_is_served_unchanged(shown):
    assert get(shown, "/api/openapi.json") == DOCUMENT


@pytest.mark.parametrize("path", [path for path, cases in CASES.items() if cases])
def test_every_answer_matches_its_schema(shown, path):
    for bench in BENCHES if "{bench}" in path else [""]:
        for query, status in CASES[path]:
            target = path.replace("{bench}", bench) + query
            reply = ask(shown.port, target)
            assert reply.status == status, (target, reply.body)
            media = reply.fields["content-type"].split(";")[0]
            described = DOCUMENT["paths"][path]["get"]["responses"][str(status)]
            described = DOCUMENT["components"]["responses"]["Problem"] if "$ref" in described else described
            assert list(described["content"]) == [media], target
            if media.endswith("json"):
                validate(reply.json(), described["content"][media]["schema"])
            if status >= 400:
                assert reply.json()["status"] == status and len(reply.json()["detail"]) > 15
            elif "csv" not in path:
                assert ask(shown.port, target, if_none_match=reply.fields["etag"]).status in (304, 200)
    if "{bench}" in path:
        lost = ask(shown.port, path.replace("{bench}", "nobody"))
        assert lost.status == 404
        validate(lost.json(), "Problem")


def in_ledger(store):
    """What the ledger's pages show: all decisions but the places of a bench that is carried daily."""
    with contextlib.closing(sqlite3.connect(store)) as rows:
        return [json.loads(row[0]) for row in rows.execute("SELECT json FROM ledger ORDER BY id")]


def test_unknown_addresses_get_problems(shown):
    for target in ("/api", "/api/none", "/api/benches", "/api/benches/long/none", "/api/now/x", "/api/benches/long/air/x", "/files/none.js"):
        reply = ask(shown.port, target)
        assert reply.status == 404 and reply.fields["content-type"] == "application/problem+json", target
        validate(reply.json(), "Problem")
    page = ask(shown.port, "/none")
    assert page.status == 404 and page.fields["content-type"].startswith("text/html"), "people read a page"
    for method in ("PUT", "DELETE"):
        reply = ask(shown.port, "/api/now", method)
        assert reply.status == 405
        validate(reply.json(), "Problem")
    validate(ask(shown.port, "/api/now", host="evil.example").json(), "Problem")


def test_a_missing_token_gets_a_problem_too(make_daemon, tmp_path):
    token = tmp_path / "token"
    token.write_text("tern-bank-0123456789\n")
    token.chmod(0o640)
    daemon = make_daemon(more=LISTEN + f"  token_file: {token}\n")
    daemon.start()
    reply = ask(port_of(daemon), "/api/now")
    assert reply.status == 401
    validate(reply.json(), "Problem")


def test_the_ledger_is_the_exported_one_page_by_page_and_as_csv(shown):
    recorded = in_ledger(shown.store)
    assert len(recorded) > 30
    rows, before = [], ""
    while True:
        page = get(shown, f"/api/ledger?limit=7{before}")
        rows += page["rows"]
        if page["before"] is None:
            break
        before = f"&before={page['before']}"
    ids = [row["id"] for row in rows]
    assert ids == sorted(ids, reverse=True) and len(set(ids)) == len(ids)
    assert [{key: value for key, value in row.items() if key != "id"} for row in reversed(rows)] == recorded

    reply = ask(shown.port, "/api/ledger.csv")
    text = reply.body.decode()
    assert "attachment" in reply.fields["content-disposition"] and not text.replace("\r\n", "").count("\r")
    lines = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert len(lines) == len(recorded)
    for line, row, decision in zip(lines, reversed(rows), recorded):
        assert int(line["id"]) == row["id"]
        for field in ("time", "bench", "decision", "cause", "feeding"):
            assert line[field] == decision[field]
        assert int(line["strength_percent"]) == decision["strength_percent"]
        assert line["hold"] == (str(decision["hold"]["id"]) if decision.get("hold") else "")
        assert line["position"] == decision.get("position", "") and line["since"] == decision.get("since", "")
        assert line["text"] == ("'" if decision["text"][0] in "=+-@" else "") + decision["text"]
        assert json.loads(line["evidence"]) == decision["evidence"]
    assert any(line["text"].startswith(f"'{FORMULA} released") for line in lines)


@pytest.mark.parametrize("query, fits", [
    ("bench=long", lambda d: d["bench"] == "long"),
    ("decision=hold-placed,feeding-changed", lambda d: d["decision"] in ("hold-placed", "feeding-changed")),
    ("cause=sharp-drop", lambda d: d["cause"] == "sharp-drop"),
    # British summer time: that day begins and ends an hour earlier in UTC.
    ("from=2026-09-14&to=2026-09-20", lambda d: "2026-09-13T23:00:00Z" <= d["time"] < "2026-09-20T23:00:00Z"),
    ("bench=cold-end&decision=hold-placed&to=2026-10-01", lambda d: d["bench"] == "cold-end" and d["decision"] == "hold-placed" and d["time"] < "2026-10-01T23:00:00Z"),
])
def test_filters_mean_what_they_say(shown, query, fits):
    with contextlib.closing(sqlite3.connect(shown.store)) as store:  # an export also has each place of a bench
        recorded = [json.loads(row[0]) for row in store.execute("SELECT json FROM ledger ORDER BY journal_seq, ordinal")]
    wanted = [(d["time"], d["bench"], d["text"]) for d in recorded if fits(d)]
    assert 0 < len(wanted) < len(recorded)
    page = get(shown, f"/api/ledger?{query}&limit=500")
    assert [(d["time"], d["bench"], d["text"]) for d in reversed(page["rows"])] == wanted and page["before"] is None
    lines = csv.DictReader(io.StringIO(ask(shown.port, f"/api/ledger.csv?{query}").body.decode(), newline=""))
    assert [(line["time"], line["bench"]) for line in lines] == [(time, bench) for time, bench, _ in wanted]


def expand(runs):
    return list(itertools.chain.from_iterable([word] * nights for word, nights in runs))


def near(value, stored, decimals):
    return value is None if stored is None else value is not None and abs(value - stored) <= 0.5000001 * 10**-decimals


def test_the_season_shows_the_nights_of_the_store(shown):
    season = get(shown, "/api/season")
    with sqlite3.connect(shown.store) as store:
        store.row_factory = sqlite3.Row
        nights = store.execute("SELECT * FROM nights ORDER BY bench, night").fetchall()
    assert {row["position"] for row in nights} >= {"indoors", "outdoors"}
    assert [bench["name"] for bench in season["benches"]] == BENCHES and season["years"] == [2026] and season["to"] == max(row["night"] for row in nights)
    count = 0
    for bench in season["benches"]:
        runs = {key: expand(bench[key]) for key in ("counted", "position", "feeding", "strength_percent")}
        dense = {key: bench[key] for key in ("mean_c", "minimum_c", "acclimated_c", "metabolic_rate", "coverage")}
        assert {len(column) for column in (*runs.values(), *dense.values())} == {bench["nights"]}
        first = datetime.date.fromisoformat(bench["first_night"])
        by_date = {row["night"]: row for row in nights if row["bench"] == bench["name"]}
        for i in range(bench["nights"]):
            row = by_date.get((first + datetime.timedelta(days=i)).isoformat())
            count += row is not None
            for key, decimals in (("mean_c", 2), ("minimum_c", 2), ("acclimated_c", 2), ("metabolic_rate", 3), ("coverage", 2)):
                assert near(dense[key][i], row and row[key] if not row or key not in ("mean_c", "minimum_c") or row["coverage"] else None, decimals), (bench["name"], i, key)
            assert runs["feeding"][i] == (row["feeding"] if row else "unknown")
            assert runs["position"][i] == (row["position"] if row else "unknown")
            assert runs["counted"][i] == bool(row and row["counted"])
            assert runs["strength_percent"][i] == (row["strength_percent"] if row and row["feeding"] != "plain-water" else 0)
    assert count == len(nights)


def test_holds_match_the_ledger(shown):
    recorded = [json.loads(line) for line in export(shown)[1].splitlines()]
    story = {}
    for d in recorded:
        if d["decision"] == "hold-placed":
            story[d["bench"], d["hold"]["id"]] = {"placed": d["time"], "cause": d["cause"], "text": d["text"], "ended": None, "withdrawn": False, "extended": 0}
        elif d["decision"] in ("hold-ended", "hold-withdrawn"):
            story[d["bench"], d["hold"]["id"]].update(ended=d["time"], withdrawn=d["decision"] == "hold-withdrawn")
        elif d["decision"] == "hold-extended":
            story[d["bench"], d["hold"]["id"]]["extended"] += 1
    listed = {(bench["name"], hold["id"]): hold for bench in get(shown, "/api/season")["benches"] for hold in bench["holds"]}
    assert len(story) >= 2 and listed.keys() == story.keys()
    for key, hold in story.items():
        assert {name: listed[key][name] for name in hold} == hold
        assert (listed[key]["confirmed"] is None) <= (hold["cause"] != "grower")


def as_on_the_topic(bench):
    """The figures of a bench under the names used on the climate topic."""
    night, air = bench["night"], bench["air"]
    return {"air_time": air["time"], **{key: air[key] for key in ("temperature_c", "humidity_percent", "vpd_kpa", "dew_point_c", "absolute_humidity_gm3")},
            "night": night["date"], "night_mean_c": night["mean_c"], "night_minimum_c": night["minimum_c"], "acclimated_c": night["acclimated_c"],
            "metabolic_rate": night["metabolic_rate"], "counted_nights": night["counted"], "sensors": bench["sensors"], "learning": bench["learning"]}


def test_a_bench_is_the_same_on_page_api_and_topics(shown):
    now = get(shown, "/api/now")
    assert [bench["name"] for bench in now["benches"]] == BENCHES
    with shown.broker.client() as client:
        for bench in now["benches"]:
            name = bench["name"]
            assert get(shown, f"/api/benches/{name}") == bench
            climate, orders = client.subscribe(f"{BASE}/benches/{name}/climate"), client.subscribe(f"{BASE}/benches/{name}/order")
            figures = as_on_the_topic(bench)
            # The topic is published every few seconds.
            wait_for(lambda: climate and {key: climate[-1].json()[key] for key in figures} == figures, f"the climate of {name} to be {figures}")
            order = wait_for(lambda: orders, "an order")[-1].json()
            given = get(shown, f"/api/benches/{name}/orders?limit=200")["orders"]
            assert given[0]["order"] == order and given[0]["acknowledged"]
            assert [g["recorded"] for g in given] == sorted((g["recorded"] for g in given), reverse=True)
            assert bench["order"] in (None, order)


def test_air_is_the_mean_of_the_readings(shown):
    for hours, step in ((48, 900), (200, 3600)):
        air = get(shown, f"/api/benches/long/air?hours={hours}")
        assert air["step_s"] == step and [s["name"] for s in air["sensors"]] == ["long-a", "long-b", "long-c"]
        start = instant(air["from"])
        filled = 0
        for sensor in air["sensors"]:
            assert len(sensor["temperature_c"]) == len(sensor["humidity_percent"]) == len(air["vpd_kpa"]) == hours * 3600 // step
            values = {}
            for (time, name), (temperature, _) in shown.truth.items():
                at = (instant(time) - start).total_seconds() // step
                if name == sensor["name"] and 0 <= at < len(sensor["temperature_c"]) and temperature is not None:
                    values.setdefault(int(at), []).append(temperature)
            for i, mean in enumerate(sensor["temperature_c"]):
                assert (mean is None) == (i not in values)
                if mean is not None:
                    assert abs(mean - statistics.mean(values[i])) < 0.0051
                    filled += 1
        assert filled > 100


def test_doses_are_those_reported_by_pumps(shown):
    doses = get(shown, "/api/benches/mist/doses")["doses"]
    assert len(doses) == 1 and doses[0]["litres"] == 4.5 and doses[0]["time"] == "2026-11-09T12:00:00Z"
    assert get(shown, "/api/benches/courtyard/doses") == {"doses": []}


def test_the_code_encodes_the_address(shown):
    reply = ask(shown.port, "/api/benches/cold-end/code.svg")
    picture = xml.etree.ElementTree.fromstring(reply.body)
    size = int(picture.get("viewBox").split()[2])
    dark = {(int(x), int(y)) for x, y in re.findall(r"M(\d+),(\d+)h1v1h-1z", picture[1].get("d"))}
    # Finder and timing patterns of ISO/IEC 18004 within a quiet zone of four modules.
    assert (size - 8 - 17) % 4 == 0 and {x for x, _ in dark} <= set(range(4, size - 4))
    for left, top in ((4, 4), (size - 11, 4), (4, size - 11)):
        assert all((left + i, top) in dark and (left + i, top + 6) in dark for i in range(7)) and (left + 1, top + 1) not in dark
    assert all(((4 + i, 10) in dark) == (i % 2 == 0) for i in range(8, size - 16))


def test_live_events_match_their_schemas(shown):
    with Events(shown.port) as events, shown.broker.client() as client:
        kind, house = events.next()
        assert kind == "house"
        validate(house, "House")
        assert client.ask(f"{BASE}/requests", {"id": "r3", "who": "Ines", "request": "hold", "bench": "long", "until": "2026-12-24T00:00:00Z"})["done"]
        bench, _ = events.until(lambda kind, data: kind == "bench" and data["name"] == "long" and data["hold"] and data["hold"]["cause"] == "grower")
        validate(bench, "Bench")
        assert bench == get(shown, "/api/benches/long")
        assert events.until(lambda kind, _: kind == "ledger")[0]["decided"] >= 1
    assert get(shown, "/api/ledger?limit=1&bench=long&decision=hold-placed")["rows"][0]["cause"] == "grower"
    assert get(shown, "/api/season?bench=long")["benches"][0]["holds"][-1]["cause"] == "grower"
