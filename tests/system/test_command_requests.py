"""Requests that people type: how long they are good, whether they wait for a service that is away, which times and names they
take, and what is asked before something out of proportion is sent."""
import datetime
import json
import re
import zoneinfo

import pytest

from clock import instant, now
from conftest import SETTINGS, run, wait_for

BASE = "plainwater/testing"
LONDON = zoneinfo.ZoneInfo("Europe/London")


@pytest.fixture
def settings(tmp_path):
    """Of a house without a broker."""
    path = tmp_path / "house.yaml"
    path.write_text(SETTINGS.format(url="mqtt://127.0.0.1:1", store=tmp_path / "house.db", more=""))
    return path


@pytest.fixture
def away(make_daemon):
    """A service that was there, so that the broker keeps its session, and is not now."""
    daemon = make_daemon()
    daemon.start()
    daemon.stop()
    return daemon


def requests_of(daemon):
    return [json.loads(line) for line in run("plainwater", "export", "--store", daemon.store, "--requests", "-").stdout.splitlines()]


def local_midnight(days):
    day = now().astimezone(LONDON).date() + datetime.timedelta(days=days)
    return datetime.datetime.combine(day, datetime.time(0), LONDON)


def test_a_queued_hold_waits_for_the_service(away, client):
    sent = client.subscribe(f"{BASE}/requests")
    asked = run("plainwater", "hold", "east", "--queue", "--expires", "2 h", "--settings", away.settings)
    assert asked.returncode == 4, asked.stdout + asked.stderr
    assert "The broker keeps the request until " in asked.stdout and "connected to it within 7 d" in asked.stdout and "cannot be called back" in asked.stdout
    [message] = wait_for(lambda: list(sent), "the request")
    assert message.expiry_s == 2 * 3600
    orders = client.subscribe(f"{BASE}/benches/east/order")
    away.start()
    wait_for(lambda: [m for m in orders if m.payload and (m.json()["hold"] or {}).get("cause") == "grower"], "the hold")


def test_what_was_watered_before_the_service_came_back_keeps_its_time(away):
    before = now() - datetime.timedelta(seconds=1)
    asked = run("plainwater", "watered", "east", "--litres", "3", "--queue", "--settings", away.settings)
    assert asked.returncode == 4, asked.stdout + asked.stderr
    after = now() + datetime.timedelta(seconds=1)
    away.start()
    [request] = wait_for(lambda: requests_of(away), "the watering in the journal")
    assert before <= instant(request["from"]) <= after


def test_a_request_that_nobody_answered_says_that_it_is_not_obeyed_later(away, client):
    sent = client.subscribe(f"{BASE}/requests")
    asked = run("plainwater", "hold", "east", "--expires", "2 s", "--settings", away.settings)
    assert asked.returncode == 3 and not asked.stdout
    assert asked.stderr.startswith("no answer from the service within 2 s. The broker drops the request now, and it will not be obeyed later.")
    [message] = wait_for(lambda: list(sent), "the request")
    assert message.expiry_s == 2
    request = message.json()
    # The service's own clock may be five minutes off.
    assert (instant(request["expires"]) - instant(request["sent"])).total_seconds() == 302


def test_until_when_it_may_still_be_obeyed_is_said(away):
    asked = run("plainwater", "hold", "east", "--settings", away.settings)
    assert asked.returncode == 3
    assert re.match(r"no answer from the service within 10 s\. Back before \w+ \d+ \w+ \d+ \d\d:\d\d(:\d\d)? it may still do this; then the broker drops the request, and it will not be obeyed later\.", asked.stderr)


@pytest.mark.parametrize("words, reason", [
    (("arm", "east"), "a pump would begin to follow its orders hours later"),
    (("trust", "east"), "a pump that disobeyed would follow its orders again"),
    (("release", "east"), "feed could flow again hours later"),
    (("growth-started", "east"), "feed could flow again"),
    (("exempt", "east", "--until", "tomorrow"), "feed could flow again"),
    (("end-chill", "east", "--until", "tomorrow"), "feed could flow again"),
])
def test_what_could_bring_feed_back_unseen_does_not_wait(settings, words, reason):
    asked = run("plainwater", *words, "--queue", "--settings", settings)
    assert asked.returncode == 2
    assert f"--queue: {words[0]} cannot wait for a service that is away; {reason}" in asked.stderr


@pytest.mark.parametrize("options, says", [
    (("--expires", "soon"), '--expires: expected a time such as 90 s, 5 min or 12 h, found "soon"'),
    (("--expires", "1 h"), "--expires: 1 h is longer than 10 min; give a shorter time, or let it wait with --queue"),
    (("--queue", "--expires", "8 d"), "--expires: 8 d is longer than 7 d"),
])
def test_how_long_a_request_is_good_has_bounds(settings, options, says):
    asked = run("plainwater", "hold", "east", *options, "--settings", settings)
    assert asked.returncode == 2 and says in asked.stderr


def test_times_are_those_of_the_site_and_said_back(daemon, client):
    orders = client.subscribe(f"{BASE}/benches/east/order")
    until = local_midnight(10)
    written = f"{until.day} {until:%b}"
    asked = run("plainwater", "hold", "east", "--until", written, "--settings", daemon.settings)
    assert asked.returncode == 0, asked.stderr
    assert asked.stdout.splitlines()[0] == f"Understood: until {until:%a} {until.day} {until:%b %Y} 00:00 (Europe/London)."
    wait_for(lambda: [m for m in orders if m.payload and m.json()["hold"] and instant(m.json()["hold"]["planned_end"]) == until], "the hold")


def test_a_watering_of_yesterday_is_recorded_at_its_time(daemon):
    before = local_midnight(-1)
    asked = run("plainwater", "watered", "east", "--litres", "3", "--at", "yesterday 18:30", "--settings", daemon.settings)
    assert asked.returncode == 0, asked.stderr
    [request] = requests_of(daemon)
    # Midnight may come between.
    [at] = {day.replace(hour=18, minute=30) for day in (before, local_midnight(-1)) if day.replace(hour=18, minute=30) == instant(request["from"])}
    assert asked.stdout.startswith(f"Understood: at {at:%a} {at.day} {at:%b %Y} 18:30 (Europe/London).")


@pytest.mark.parametrize("option, text, says", [
    ("--until", "yesterday", '--until: "yesterday" is over; give a later time'),
    ("--until", "2019-12-12", "is more than a year away; did you mean 20"),
    ("--until", "12/10", 'did you mean "12 Oct" or "10 Dec"?'),
    ("--until", "next week", '--until: "next week" is not understood as a time; write a date like 2026-10-12'),
    ("--from", "soon", '--from: "soon" is not understood'),
])
def test_a_time_that_cannot_be_meant_is_refused_with_what_to_write(settings, option, text, says):
    asked = run("plainwater", "hold", "east", option, text, "--settings", settings)
    assert asked.returncode == 2 and says in asked.stderr


@pytest.mark.parametrize("words, says", [
    (("hold", "east", "--until", "12", "Nov"), 'put a time of several words in quotes: "12 Nov"'),
    (("watered", "east", "--litres", "3", "--at", "yesterday", "18:30"), 'put a time of several words in quotes: "yesterday 18:30"'),
])
def test_a_time_that_the_shell_took_apart_is_told(settings, words, says):
    asked = run("plainwater", *words, "--settings", settings)
    assert asked.returncode == 2 and says in asked.stderr.splitlines()


@pytest.mark.parametrize("words, says", [
    (("hold", "esat"), 'there is no bench "esat" in the settings; did you mean east?'),
    (("arm", "eats"), 'there is no pump "eats" in the settings; did you mean east?'),
    (("acknowledge", "sensor-silent/east-iar"), 'there is no sensor "east-iar" in the settings; did you mean east-air?'),
    (("hold", "attic"), 'there is no bench "attic" in the settings'),
])
def test_a_mistyped_name_is_told_without_a_service(settings, words, says):
    asked = run("plainwater", *words, "--settings", settings)
    assert asked.returncode == 1 and asked.stderr.splitlines() == [says]


def test_a_former_name_reaches_the_present_one(make_daemon, client):
    orders = client.subscribe(f"{BASE}/benches/east/order")
    daemon = make_daemon(SETTINGS.replace("  east:\n    group", "  east:\n    was: courtyard\n    group"))
    daemon.start()
    asked = run("plainwater", "hold", "courtyard", "--settings", daemon.settings)
    assert asked.returncode == 0, asked.stderr
    assert asked.stdout.splitlines()[0] == 'Note: courtyard is called east now.'
    wait_for(lambda: [m for m in orders if m.payload and m.json()["hold"]], "the hold")
    assert 'did you mean east, which was courtyard?' in run("plainwater", "hold", "courtyrad", "--settings", daemon.settings).stderr


def test_the_service_suggests_names_too(daemon, client):
    def refused(**fields):
        reply = client.ask(f"{BASE}/requests", {"id": f"r-{fields}", "who": "a test", **fields})
        assert not reply["done"]
        return reply["text"]
    assert refused(request="hold", bench="esat") == 'there is no bench "esat" in the settings; did you mean east?'
    assert refused(request="arm", pump="eats") == 'there is no pump "eats" in the settings; did you mean east?'


@pytest.mark.parametrize("pots, litres, asks", [("", 5000, "5000 L is much for bench east."), ("    pots: 20\n    pot_litres: 1\n", 150, "150 L is much for bench east, whose pots are 20 L together.")])
def test_an_amount_out_of_proportion_is_asked_about(make_daemon, pots, litres, asks):
    text = SETTINGS.replace("  east:\n    group", f"  east:\n{pots}    group")
    daemon = make_daemon(text)
    daemon.start()
    common = ("plainwater", "watered", "east", "--settings", daemon.settings, "--litres")
    asked = run(*common, litres)
    assert asked.returncode == 1 and asks in asked.stderr and "--yes" in asked.stderr
    assert not requests_of(daemon)
    assert run(*common, litres, "--yes").returncode == 0
    assert run(*common, 20).returncode == 0
    assert [request["litres"] for request in requests_of(daemon)] == [litres, 20]


def test_show_fits_a_terminal_and_tells_the_newest_air(make_daemon, client):
    daemon = make_daemon()
    daemon.start()
    ahead = local_midnight(20)
    assert run("plainwater", "hold", "east", "--from", f"{ahead:%Y-%m-%d}", "--until", f"{ahead + datetime.timedelta(days=9):%Y-%m-%d}", "--who", "Ines", "--settings", daemon.settings).returncode == 0
    assert run("plainwater", "exempt", "west", "--until", f"{ahead:%Y-%m-%d}", "--settings", daemon.settings).returncode == 0
    def text():
        # Again and again, or a slow machine would never show it as of now.
        client.publish("house/east/air", {"t": 21.4, "rh": 63.2, "time": now().strftime("%Y-%m-%dT%H:%M:%SZ")})
        shown = run("plainwater", "show", "--settings", daemon.settings)
        assert shown.returncode == 0, shown.stderr
        return shown.stdout
    shown = wait_for(lambda: (lambda t: t if "21.4 °C, 63 % RH, now" in t and "Exempt until" in t else None)(text()), "the air")
    assert "Plain water is announced from " in shown and re.search(r"by\s+Ines\s+\(hold\s+\S+\)\.", shown)
    assert max(map(len, shown.splitlines())) <= 80, shown


@pytest.mark.parametrize("program", ["plainwater", "plainwaterd"])
def test_a_version_has_a_name(program):
    assert re.fullmatch(rf"{program} \d+\.\d+\.\d+\n", run(program, "--version").stdout)
