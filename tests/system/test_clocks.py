"""Clocks that are set, jump, start in 1970 or belong to sensors: they release nothing, and time only goes back when a trusted
clock was set back."""
import datetime
import json
import time

import pytest

from clock import UTC, instant, now, text_of
from conftest import run, wait_for
from faults import Clocks, OrderWatch, record, times
from houses import any_sensor, bench, house
from season import export, readings, rehearse, simulate, tern_bank_settings

TAKES_S = 120

HOUR, DAY, YEAR = 3600, 86400, 365 * 86400
BASE = "plainwater/testing"
SETTINGS = house(any_sensor(), bench("east", "intermediate", "east-a", "east-b", "east-c"))


def send(client, sensor, celsius, when):
    client.publish(f"house/{sensor}/air", {"t": round(celsius, 3), "time": text_of(when)})


def barrier(client):
    """Returns once the service has taken everything that this client published before."""
    reply = client.ask(f"{BASE}/requests", {"id": "barrier"})
    assert not reply["done"], "a request without a verb is refused, and changes nothing"


def ask(client, **request):
    reply = client.ask(f"{BASE}/requests", {"who": "a test", **request})
    assert reply["done"], reply


class Watch:
    """The service's clock as in its heartbeats; its engine time must only run backwards where that is allowed."""
    may_go_back = False

    def __init__(self, client, daemon):
        self.beats, self.seen, self.last = client.subscribe(daemon.topic), 0, None

    def state(self):
        for beat in self.beats[self.seen:]:
            now = beat.json().get("engine_time")
            assert self.may_go_back or not (now and self.last) or now >= self.last, f"engine time ran back from {self.last} to {now}"
            self.last = now or self.last
        self.seen = len(self.beats)
        return self.beats[-1].json() if self.beats else {}

    def until(self, clock):
        begin = time.monotonic()
        wait_for(lambda: self.state().get("clock") == clock, f"a clock that is {clock}; last: {self.state()}")
        return time.monotonic() - begin


def clock_notices(daemon):
    return [d["text"] for d in map(json.loads, export(daemon)[1].splitlines()) if d["cause"] == "clock"]


@pytest.mark.parametrize("step", [HOUR, -HOUR, YEAR, -YEAR], ids=["an hour on", "an hour back", "a year on", "a year back"])
def test_a_clock_that_is_set_releases_nothing_and_is_trusted_on_evidence(make_daemon, broker, client, tmp_path, step):
    clocks, daemon = Clocks(tmp_path), make_daemon(SETTINGS)
    watch, recovery, notices = Watch(client, daemon), 0.0, client.subscribe(f"{BASE}/notices/soon")
    with OrderWatch(broker, "testing") as orders:
        daemon.start(env=clocks.env)
        begun = now()
        # Two holds: one that would have ended by an hour's jump, one by a year's.
        ask(client, id="hold-1", request="hold", bench="east", until=text_of(begun + datetime.timedelta(minutes=30 if abs(step) == HOUR else 60 * 24 * 200)))
        ask(client, id="arm-1", request="arm", pump="east")
        for round_number in range(times(1, 5)):
            clocks.shift(wall_s=step)
            watch.until("unsettled")
            # Sensors with the true time do not confirm the wrong clock.
            for sensor in ("east-a", "east-b"):
                send(client, sensor, 18, now())
            barrier(client)
            assert watch.state()["clock"] == "unsettled"
            assert abs((instant(watch.last) - now()).total_seconds()) < 60, "engine time goes on as if nothing had happened"
            assert len(clock_notices(daemon)) == 2 * round_number + 1, "it is reported, once"
            wait_for(lambda: len(notices) == 2 * round_number + 1 and b"clock" in notices[-1].payload, "a notice that goes out")
            clocks.shift(wall_s=0)
            recovery = max(recovery, watch.until("settled"))
        assert all(order["strength_percent"] == 0 for order in orders.seen() if instant(order["issued"]) > begun + datetime.timedelta(seconds=2))
        assert "hold-ended" not in export(daemon)[1], "no hold ends by a clock that nobody believes"
        # Persisting through a restart with a synchronised clock is evidence, for a jump forwards and back.
        clocks.shift(wall_s=step)
        watch.until("unsettled")
        daemon.stop()
        assert watch.state()["state"] == "offline"
        watch.may_go_back = step < 0
        daemon.start(env=clocks.env)
        watch.until("settled")
        wait_for(lambda: watch.state() and abs((instant(watch.last) - now()).total_seconds() - step) < 60, "engine time to go with the clock")
        if step < 0:
            watch.may_go_back = False
            assert "set back by" in clock_notices(daemon)[-2], "the step is in the ledger"
            assert "hold-ended" not in export(daemon)[1], "no hold ends by it"
            assert run("plainwater", "audit", "--store", daemon.store).returncode == 0
            wait_for(lambda: orders.seen()[-1]["epoch"] == 2, "orders that outrank those of the time that was wrong")
            # A restart remembers that the clock is trusted, and the store's age.
            since = watch.state()["history_since"]
            assert instant(since) < now() - datetime.timedelta(seconds=-step / 2), "a store cannot have begun after its own time"
            daemon.stop()
            daemon.start(env=clocks.env)
            watch.until("settled")
            assert watch.state()["history_since"] == since
        # Back, and two sensors confirm the jump.
        if step == HOUR:
            clocks.shift(wall_s=2 * step)
            watch.until("unsettled")
            for sensor in ("east-a", "east-b"):
                send(client, sensor, 18, now() + datetime.timedelta(seconds=2 * step))
            watch.until("settled")
        barrier(client)
        ledger = export(daemon)[1]
        wrong = orders.wrong(ledger)
        record(f"clock set by {'an hour' if abs(step) == HOUR else 'a year'}", times(1, 5) + 1 + (step == HOUR), 0, len(wrong), recovery, "back to settled once the clock is right")
        assert not wrong


def test_leap_seconds_stepped_or_smeared_have_no_effect(make_daemon, broker, client, tmp_path, life):
    clocks, daemon = Clocks(tmp_path), make_daemon(SETTINGS, more="feeding:\n  order_valid: 60 s\n  reissue: 5 s\n")
    watch, tried = Watch(client, daemon), 0
    with OrderWatch(broker, "testing") as orders:
        daemon.start(env=life.env(clocks.env))
        for leap in (1, -1):  # one more second: the clock stops or steps back; one less: it steps forward
            for stepped in (-leap, 0):
                clocks.shift(wall_s=stepped)
                life.looks(2)
            for tenth in range(times(20, 200)):  # smeared
                clocks.shift(wall_s=-leap * tenth / times(20, 200))
                time.sleep(0.1)
                watch.state()
            clocks.shift()
            tried += 2
        life.looks(2)
        barrier(client)
        state = daemon.state()
        assert state["clock"] == "settled" and not clock_notices(daemon)
        numbers = [(order["epoch"], order["sequence"]) for order in orders.seen()]
        assert len(numbers) > 2 and numbers == sorted(numbers), "orders count up"
        wrong = orders.wrong(export(daemon)[1])
        record("leap second, stepped or smeared", tried, 0, len(wrong), None, "no effect")
        assert not wrong


def test_summer_time_changes_only_the_dates_in_sentences(tmp_path):
    """Over a season with both changes, in zones that change, that change at other dates, and that never do; and wherever the
    machine is."""
    text = simulate("--interval", "60m")
    zones = ["Europe/London", "UTC", "America/New_York", "Australia/Lord_Howe"]
    ledgers = {}
    for zone in zones:
        settings = tmp_path / "zone.yaml"
        settings.write_text(tern_bank_settings().format(url="mqtt://127.0.0.1:1", store=tmp_path / "none.db").replace("time_zone: Europe/London", f"time_zone: {zone}"))
        assert zone in settings.read_text()
        ledgers[zone] = rehearse(settings, text, tmp_path)
    sentences = {zone: [json.loads(line).pop("text") for line in ledger.splitlines()] for zone, ledger in ledgers.items()}

    def decided(ledger):
        return [{key: value for key, value in json.loads(line).items() if key != "text"} for line in ledger.splitlines()]
    wrong = sum(decided(ledgers[zone]) != decided(ledgers["UTC"]) for zone in zones)
    assert sentences["Australia/Lord_Howe"] != sentences["UTC"], "people read their own dates"
    for machine in ("Europe/London", "Pacific/Apia"):
        result = run("plainwater", "rehearse", "--settings", settings, "--readings", tmp_path / "rehearsed.csv", "--decisions", tmp_path / "there.jsonl",
                     env={"TZ": machine, "PATH": "/usr/bin:/bin"})
        assert result.returncode == 0, result.stderr
        wrong += (tmp_path / "there.jsonl").read_text() != ledgers[zones[-1]]
    record("summer time, both ways", len(zones) + 2, 0, wrong, None, "no effect")
    assert not wrong and len(ledgers["UTC"]) > 1000


def test_a_start_in_1970_gives_plain_water_obeys_requests_for_it_and_loses_nothing(make_daemon, broker, client, tmp_path, life):
    clocks, daemon = Clocks(tmp_path), make_daemon(SETTINGS)
    daemon.hear_a_night([f"house/east-{part}/air" for part in "abc"])
    strengths = client.subscribe(f"{BASE}/benches/+/strength")
    with OrderWatch(broker, "testing") as orders:
        daemon.start(env=clocks.env)
        ask(client, id="arm-1", request="arm", pump="east")
        wait_for(lambda: strengths and strengths[-1].payload != b"0", "feed to be allowed before")
        rounds, recovery, sent = times(2, 10), 0.0, {}
        for round_number in range(rounds):
            (daemon.stop if round_number % 2 else daemon.kill)()
            clocks.shift(wall_s=-now().timestamp() + 100, synchronised=False)
            before, given = export(daemon)[1], len(orders.seen())
            strengths.clear()
            daemon.start(past_backlog=False, env=life.env(clocks.env))
            for i in range(50):
                when = now() - datetime.timedelta(seconds=1000 * (round_number + 1) + i)
                sent[text_of(when)] = 17 + i / 50
                send(client, "east-a", sent[text_of(when)], when)
            wait_for(lambda: strengths, "a strength")
            assert daemon.state()["clock"] == "unsettled"
            if round_number == rounds - 1:
                ask(client, id="hold-1", request="hold", bench="east", until=text_of(now() + datetime.timedelta(days=30)))
            refused = client.ask(f"{BASE}/requests", {"id": f"release-{round_number}", "who": "a test", "request": "release", "bench": "east"})
            assert refused["problem"] == "clock-unsettled"
            life.looks(3)
            orders.settled()
            assert {m.payload for m in strengths} == {b"0"}, "nobody knows what may be given"
            assert all(order["strength_percent"] == 0 for order in orders.seen()[given:])
            decided = export(daemon)[1]
            assert decided.startswith(before)
            assert {d["cause"] for d in map(json.loads, decided[len(before):].splitlines())} <= {"clock", "grower"}, "nothing is decided by such a clock"
            assert daemon.log.read_text().count("every bench gets plain water; set the clock") == round_number + 1, "the log says why, once"
            given = len(orders.seen())
            clocks.shift()
            begin = time.monotonic()
            wait_for(lambda: len(orders.seen()) > given, "an order once the clock is right")
            recovery = max(recovery, time.monotonic() - begin)
        barrier(client)
        text, ledger = export(daemon)
        stored = {time_text.replace(".000", ""): value[0] for (time_text, _), value in readings(text).items()}
        lost, wrong = [t for t, c in sent.items() if stored.get(t) != round(c, 3)], orders.wrong(ledger)
        record("clock at 1970 at the start", rounds, len(lost), len(wrong), recovery, "plain water; a hold is obeyed")
        assert not lost and not wrong
        assert orders.seen()[-1]["cause"] == "grower", "the hold outlasts it"
        assert run("plainwater", "audit", "--store", daemon.store).returncode == 0


def test_a_clock_without_time_service_is_trusted_by_two_sensors_or_when_vouched_for(make_daemon, client, tmp_path, life):
    clocks, daemon = Clocks(tmp_path), make_daemon(SETTINGS.replace("trust_machine: true", "trust_machine: false"))
    watch, strengths = Watch(client, daemon), client.subscribe(f"{BASE}/benches/+/strength")
    clocks.shift(synchronised=False)
    for _ in range(2):  # a restart makes no difference
        daemon.start(past_backlog=False, env=life.env(clocks.env))
        watch.until("unsettled")
        life.looks(2)
        assert {m.payload for m in strengths} == {b"0"}
        daemon.stop()
    daemon.start(past_backlog=False, env=clocks.env)
    client.caught_up()
    wait_for(lambda: not daemon.state()["backlog"], "the backlog to be in")
    for sensor in ("east-a", "east-b"):
        send(client, sensor, 18, now())
    watch.until("settled")
    daemon.stop()
    trusting = make_daemon(SETTINGS.replace("name: testing", "name: trusting"), name="trusting")
    trusting.start(env=clocks.env)
    assert trusting.state()["clock"] == "settled"


def test_when_time_comes_from_readings_a_clock_in_1970_does_not_matter(make_daemon, broker, tmp_path):
    clocks, daemon = Clocks(tmp_path), make_daemon(tern_bank_settings(), name="tern-bank")
    clocks.shift(wall_s=-now().timestamp() + 100, synchronised=False)
    daemon.start(env=clocks.env)
    part = ("--interval", "60m", "--from", "2026-09-01", "--to", "2026-10-15")
    result = run("plainwater-sim", "--broker", broker.url, "--quiet", *part, "--duration", "2s")
    assert result.returncode == 0, result.stderr
    truth = readings(simulate(*part))
    wait_for(lambda: max(truth) in readings(export(daemon)[0]), "the last report in the journal")
    text, ledger = export(daemon)
    assert readings(text) == truth and ledger == rehearse(daemon.settings, text, tmp_path)
    assert "hold-placed" in ledger


DAYS = 20
WRONG_CLOCKS = {
    "an hour ahead": lambda true, begun: true + datetime.timedelta(hours=1),
    "two seconds a minute too fast": lambda true, begun: true + (true - begun) / 30,
    "a year behind": lambda true, begun: true - datetime.timedelta(days=365),
    "in 1970": lambda true, begun: datetime.datetime.fromtimestamp(0, UTC) + (true - begun),
}


def play(make_daemon, broker, client, folder, wrong_clock, name, begun):
    """DAYS of three sensors, with nights 7 degrees cooler from the 17th on: the decisions about the bench, and the last
    heartbeat."""
    clocks, daemon = Clocks(folder), make_daemon(SETTINGS.replace("name: testing", f"name: {name}"), name=name)
    requests = f"plainwater/{name}/requests"

    since_s = (begun - now()).total_seconds()  # every run begins at the same moment

    def pass_to(hours, more_s=0):
        clocks.shift(wall_s=since_s + hours * HOUR + more_s, boot_s=hours * HOUR + more_s)

    with OrderWatch(broker, name) as orders:
        pass_to(0)
        daemon.start(env=clocks.env)
        front = begun.replace(hour=12) + datetime.timedelta(days=16)  # by day, or it would halve a night
        for hour in range(0, DAYS * 24, 2):
            pass_to(hour)
            true = begun + datetime.timedelta(hours=hour)
            celsius = (20 if 8 <= true.hour < 20 else 17) - (7 if true >= front else 0)
            for sensor in ("east-a", "east-b"):
                send(client, sensor, celsius, true)
            if wrong_clock:
                send(client, "east-c", celsius + 0.5, wrong_clock(true, begun))
            if 1 <= true.hour < 11 or hour % 12 == 0:  # readings of a night must come before it closes, in June as in December
                client.ask(requests, {"id": "barrier"})
        client.ask(requests, {"id": "barrier"})
        pass_to(hour, 61)
        end = text_of(begun + datetime.timedelta(hours=hour, seconds=30))
        state = wait_for(lambda: (s := daemon.state())["engine_time"] > end and s, "a heartbeat after all readings")
        assert state["readings"] >= 2 * 12 * DAYS
        assert (instant(state["engine_time"]) - now()).total_seconds() < since_s + hour * HOUR + 90, "no sensor drags the time along"
        ledger = export(daemon)[1]
        assert state["clock"] == "settled"
        wrong = orders.wrong(ledger)
        log = daemon.log.read_text()
        daemon.stop()
    decided = [json.loads(line) for line in ledger.splitlines()]
    # The pace differs by the seconds of two runs; the decisions, and their days, must not.
    made = [(d["decision"], d["cause"], d["strength_percent"], (instant(d["time"]) - begun).days) for d in decided if not d["decision"].startswith("sensor-")]
    return made, state, wrong, log


def test_a_sensor_with_a_wrong_clock_changes_no_decision(make_daemon, broker, client, tmp_path):
    begun = now()
    expected, _, wrong, _ = play(make_daemon, broker, client, tmp_path, None, "right", begun)
    assert ("hold-placed", "sharp-drop") in {(d[0], d[1]) for d in expected}
    differ = 0
    kinds = list(WRONG_CLOCKS.items())[:times(2, 4)]
    for number, (kind, clock) in enumerate(kinds):
        made, state, more, log = play(make_daemon, broker, client, tmp_path, clock, f"wrong-{number}", begun)
        wrong += more
        differ += made != expected
        assert made == expected, (kind, [d for d in made if d not in expected], [d for d in expected if d not in made])
        assert sum(state["refused"].get(reason, 0) for reason in ("future", "history", "bad-time")) > 0, (kind, state["refused"])
        assert "house/east-c/air" in log or kind == "a year behind", "its topic is named"
    record("sensors with wrong clocks", len(kinds), 0, len(wrong) + differ, None, "no effect; counted by reason")
    assert not wrong
