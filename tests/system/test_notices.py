"""What people are told: every kind of notice is brought about once, with the real daemon, broker and store."""
import contextlib
import datetime
import json
import re
import sqlite3

import jsonschema

from clock import instant, text_of
from conftest import ROOT, SETTINGS, Broker, run, wait_for
from faults import Clocks, Disk
from mqtt5 import Client
from notice_season import BASE, REQUESTS, SEASON, House, Notices, play
from pump import start  # noqa: F401
from season import export

TAKES_S = 66

SCHEMAS = {path.stem: json.loads(path.read_text()) for path in (ROOT / "config" / "schemas").glob("*.json")}
RESOLVER = jsonschema.RefResolver("", {}, store={schema["$id"]: schema for schema in SCHEMAS.values()})
VALID = jsonschema.Draft202012Validator(SCHEMAS["notice"], resolver=RESOLVER, format_checker=jsonschema.FormatChecker())

# Told beside the season: by a disk, a clock or a broker that fails, or by a stranger's order.
OF_THE_HOUSE = {"store-unhealthy", "store-slow", "clock-implausible", "waiting-for-broker", "broker-back",
                "order-overruled", "second-service", "order-refused", "absence-unattended", "not-delivered", "session-taken", "not-stored"}


def documented():
    """{kind: urgency words} of the table in config/README.md."""
    rows = re.findall(r"^\| `([a-z-]+)` \| ((?:urgent|soon|info)[^|]*) \|", (ROOT / "config" / "README.md").read_text(), re.MULTILINE)
    assert len(rows) > 25
    return dict(rows)


class Heard(Notices):
    """All notices that a phone would get."""

    def check(self):
        """Each is what the schema says, goes out in both forms on one urgency, and names its page."""
        told = documented()
        for message in list(self.messages):
            notice, urgency = message.json(), message.topic.split("/")[-2]
            VALID.validate(notice)
            assert notice["urgency"] == urgency and notice["kind"] in told, notice
            assert urgency in told[notice["kind"]] or notice["state"] == "over", notice
            assert message.expiry_s and message.expiry_s <= {"urgent": 7, "soon": 3, "info": 1}[urgency] * 86400
            assert not message.retain and message.qos == 1
            line = notice["text"] if not notice["bench"] or notice["sensor"] or notice["with"] else f"{notice['bench']}: {notice['text']}"
            for start in ("Still: ", "Over: "):
                if notice["text"].startswith(start) and not line.startswith(start):
                    line = start + line.replace(start, "", 1)
            assert line in [m.payload.decode() for m in self.lines[urgency]], line
            assert "\n" not in line and notice["text"].endswith((".", "east", "south", "west", "line")), notice["text"]


def test_a_season_tells_every_kind_that_concerns_benches_pumps_and_sensors(make_daemon, broker):
    daemon = make_daemon(SEASON, name="season")
    daemon.start(more=["--stand-in-pumps"])
    with Client(broker.port) as client:
        heard, house = Heard(client), House(client)
        play(house, heard, daemon)
        assert "plainwater release" in heard.of("hold-placed")[0]["text"]
        assert heard.of("pump-untrusted", "over")[0]["text"].endswith("You need not do anything.")
        house.ask(request="arm", pump="drip")
        daemon.stop()

        # Another recipe, another bench on the drip, and one that is there no more.
        changed = SEASON.replace("target_ppm_n: 100", "target_ppm_n: 80").replace("benches: [west]", "benches: [west, ledge]")
        other = make_daemon(changed.replace("moss: {{group", "ledge: {{group"), name="season")
        other.start(more=["--stand-in-pumps"], past_backlog=False)
        house.until("2026-11-07T12:00")
        other.stop()
        heard.check()
        told = heard.kinds()
        assert told == set(documented()) - OF_THE_HOUSE, f"not told: {set(documented()) - OF_THE_HOUSE - told}; not documented: {told - set(documented())}"
        # Never in quiet hours unless urgent, by the site's clocks (which are an hour ahead of UTC until 25 October).
        for notice in heard.all():
            hour = (instant(notice["time"]) + datetime.timedelta(hours=notice["time"] < "2026-10-25T01")).hour
            assert notice["urgency"] == "urgent" or 7 <= hour < 22, notice
        days = [n["time"][:10] for n in heard.of("digest")]
        assert len(days) == len(set(days)) >= 76, "one a day"
        # A notice's ledger line stands in the ledger.
        ledger = {json.dumps(json.loads(line)) for line in export(daemon)[1].splitlines()}
        lines = {json.dumps(n["decision"]) for n in heard.all() if n["decision"]}
        assert len(lines) > 10 and lines <= ledger, lines - ledger
        per_day = {}
        for notice in heard.all():
            if notice["kind"] != "digest":
                per_day[notice["time"][:10]] = per_day.get(notice["time"][:10], 0) + 1
        print(f"{len(heard.all())} notices in 79 days, {sum(per_day.values())} beside the digests; the most in a day: {max(per_day.values())}")


def told_all(client, life, looks=3):
    """Returns when the service has looked at its clock and told what was due, some times over, and this client has heard it."""
    life.looks(looks)
    assert not client.ask(REQUESTS, {"id": "barrier"})["done"], "the reply goes the way of the notices, after them"


def test_a_restart_tells_nothing_twice(make_daemon, client, life):
    daemon = make_daemon()
    daemon.start(env=life.env())
    heard = Heard(client)
    assert client.ask(REQUESTS, {"id": "hold-1", "who": "Ines", "request": "hold", "bench": "east"})["done"]
    wait_for(lambda: heard.of("hold-placed"), "the hold to be told")
    client.publish("house/west/air", "-50")  # no reading that could be
    daemon.stop()
    seen = len(heard.all())
    daemon.start(env=life.env())
    told_all(client, life)
    assert [n["kind"] for n in heard.all()[seen:]] == []
    daemon.kill()
    daemon.start(env=life.env())
    told_all(client, life)
    assert [n["kind"] for n in heard.all()[seen:]] == []
    heard.check()


def test_what_happens_while_the_broker_is_away_is_told_once_it_is_back(make_daemon, broker, tmp_path, life):
    """And that it was away; a clock moved on by hours stands for hours of waiting."""
    clocks = Clocks(tmp_path)
    daemon = make_daemon()
    daemon.start(env=life.env(clocks.env))
    broker.stop()
    wait_for(lambda: daemon.log.read_text().count("connection lost") == 2, "both of the daemon's clients to notice")
    clocks.shift(wall_s=7200, boot_s=7200)
    life.looks()
    broker.start()
    with Client(broker.port) as listener:
        heard = Heard(listener)

        def in_outbox():  # what this listener may have come too late for
            with contextlib.closing(sqlite3.connect(f"file:{daemon.store}?mode=ro", uri=True)) as store:
                rows = store.execute("SELECT payload FROM outbox WHERE topic = ? AND acked_ms IS NOT NULL", (f"{BASE}/notices/soon/json",)).fetchall()
            return [n for n in (json.loads(row[0]) for row in rows) if n["kind"] == "broker-back"]
        wait_for(in_outbox, f"the gap to be told; log:\n{daemon.tail()}")
        gap = in_outbox()[0]
        assert gap["urgency"] == "soon" and len(in_outbox()) == 1 and gap["evidence"]["instance"] == "main"
        begin, end = (instant(gap["evidence"][key]) for key in ("from", "to"))
        assert 7190 < (end - begin).total_seconds() < 7300
        VALID.validate(gap)
        told_all(listener, life)
        assert not heard.of("waiting-for-broker"), "it waits no longer"
    daemon.stop()


def test_a_store_that_fails_is_told_past_it(make_daemon, client, tmp_path):
    daemon = make_daemon(SETTINGS.replace("durability: process", "durability: power"))
    disk, clocks = Disk(tmp_path, daemon.store), Clocks(tmp_path)
    both = {**disk.env, "LD_PRELOAD": f"{disk.env['LD_PRELOAD']}:{clocks.env['LD_PRELOAD']}", "PLAINWATER_TEST_CLOCK": clocks.env["PLAINWATER_TEST_CLOCK"]}
    heard = Heard(client)
    daemon.start(env=both)
    disk.is_now("slow 2500")
    client.publish(REQUESTS, {"id": "slow-1", "who": "Ines", "request": "hold", "bench": "east"})
    wait_for(lambda: heard.of("store-slow", "begun"), "the slow store to be told", 60)
    disk.is_now("full")
    client.publish(REQUESTS, {"id": "full-1", "who": "Ines", "request": "hold", "bench": "west"})
    wait_for(lambda: heard.of("store-unhealthy", "begun"), "the store to be told", 60)
    notice = heard.of("store-unhealthy")[0]
    assert notice["urgency"] == "urgent" and "Please check the disk" in notice["text"] and notice["time"]
    disk.is_now("fine")
    wait_for(lambda: "the store works again" in daemon.log.read_text(), "the store to work again", 60)
    clocks.shift(wall_s=700, boot_s=700)
    wait_for(lambda: heard.of("store-unhealthy", "over"), "the end to be told", 60)
    assert heard.of("store-unhealthy", "over")[0]["urgency"] == "soon"
    heard.check()
    daemon.stop()


def test_a_clock_that_jumps_is_told_and_its_end_too(make_daemon, client, tmp_path):
    clocks = Clocks(tmp_path)
    daemon = make_daemon()
    heard = Heard(client)
    daemon.start(env=clocks.env)
    clocks.shift(wall_s=365 * 86400)
    wait_for(lambda: heard.of("clock-implausible", "begun"), f"the clock to be told; log:\n{daemon.tail()}")
    assert heard.of("clock-implausible")[0]["urgency"] == "soon"
    assert client.ask(REQUESTS, {"id": "seen-1", "who": "Ines", "request": "acknowledge", "notice": "clock-implausible"})["done"]
    clocks.shift(wall_s=700, boot_s=700)
    wait_for(lambda: not daemon.state()["clock"] == "unsettled", "a settled clock")
    clocks.shift(wall_s=1400, boot_s=1400)
    wait_for(lambda: heard.of("clock-implausible", "over"), f"the end to be told; log:\n{daemon.tail()}")
    heard.check()
    daemon.stop()


def test_an_order_a_year_ahead_is_overruled_for_service_and_pump_and_told(make_daemon, client, broker, start):  # noqa: F811
    daemon = make_daemon()
    daemon.start()
    heard, pump = Heard(client), start(name="east")
    topic, orders = f"{BASE}/benches/east/order", client.subscribe(f"{BASE}/benches/east/order")
    ours = wait_for(lambda: orders, "the service's order")[-1].json()
    pump.gives(lambda watering: watering["epoch"] == ours["epoch"] == 1, "what the service ordered")
    year = datetime.timedelta(days=365)
    forged = {**ours, "instance": "spare", "sequence": ours["sequence"] + 365 * 86400, "valid_until": text_of(instant(ours["valid_until"]) + year)}
    for again in range(2):
        client.publish(topic, {**forged, "epoch": 1 + again}, retain=True)
        order = wait_for(lambda: [m.json() for m in list(orders) if m.json()["epoch"] == 2 + again and m.json()["instance"] == "main"],
                         f"an order above it; log:\n{daemon.tail()}")[-1]
        assert order["sequence"] < forged["sequence"]
        # Of the higher epoch, and nothing of the year to come.
        pump.gives(lambda watering: (watering["epoch"], watering["sequence"]) == (2 + again, order["sequence"]), "what the service ordered")
    wait_for(lambda: heard.of("order-overruled"), "it to be told")
    (notice,) = heard.of("order-overruled")
    assert notice["urgency"] == "urgent" and notice["bench"] == "east" and notice["evidence"]["sequence"] == forged["sequence"]
    assert "spare" in notice["text"]
    heard.check()
    # A pump may remember it for ever: so does the service.
    daemon.kill()
    client.client.publish(topic, b"", qos=1, retain=True).wait_for_publish(30)
    seen = len(orders)
    daemon.start()
    wait_for(lambda: [m for m in list(orders)[seen:] if m.payload and m.json()["epoch"] == 3], "orders of the same epoch")
    daemon.stop()


def test_a_backlog_that_never_ends_is_told(tmp_path, make_daemon, life):
    """A broker whose rules keep the service from hearing itself: it can speak, and never knows that it has heard all."""
    folder = tmp_path / "deaf"
    folder.mkdir()
    (folder / "acl").write_text("topic readwrite #\ntopic deny plainwater/testing/service/main/fence\n")
    broker = Broker(folder, f"allow_anonymous true\nacl_file {folder}/acl\n")
    broker.start()
    try:
        clocks = Clocks(tmp_path)
        daemon = make_daemon(SETTINGS.replace("{url}", broker.url))
        daemon.broker = broker
        with broker.client() as client:
            heard = Heard(client)
            daemon.start(past_backlog=False, env=life.env(clocks.env))
            told_all(client, life)
            assert not heard.of("waiting-for-broker"), "a moment of it is usual"
            clocks.shift(wall_s=700, boot_s=700)
            wait_for(lambda: heard.of("waiting-for-broker", "begun"), f"it to be told; log:\n{daemon.tail()}")
            heard.check()
        daemon.stop()
    finally:
        broker.stop()


def test_the_command_line_acknowledges_a_notice(make_daemon, client, tmp_path, life):
    clocks = Clocks(tmp_path)
    daemon = make_daemon()
    heard = Heard(client)
    daemon.start(env=life.env(clocks.env))
    unknown = run("plainwater", "acknowledge", "sensor-silent/east-air", "--settings", daemon.settings, env=clocks.env)
    assert unknown.returncode == 1 and "no notice sensor-silent/east-air is open" in unknown.stderr
    passed = 26 * 3600  # without a word of either sensor: there is a morning in it, whenever it begins
    clocks.shift(wall_s=passed, boot_s=passed)
    wait_for(lambda: {n["sensor"] for n in heard.of("sensor-silent", "begun")} == {"east-air", "west-air"}, f"silent sensors; log:\n{daemon.tail()}")
    done = run("plainwater", "acknowledge", "sensor-silent/east-air", "--settings", daemon.settings, env=clocks.env)
    assert done.returncode == 0 and "not be repeated until it is over" in done.stdout, done
    clocks.shift(wall_s=passed + 2 * 86400, boot_s=passed + 2 * 86400)
    wait_for(lambda: heard.of("sensor-silent", "lasting"), "a repeat of the other")
    told_all(client, life)
    assert [n["sensor"] for n in heard.of("sensor-silent", "lasting")] == ["west-air"], "that nobody acknowledged"
    daemon.stop()
