"""The service's metrics: on their own port, bounded, and correct."""
import json
import socket
import time
import urllib.error

import pytest

from clock import now_s, text_of_s
from conftest import SETTINGS, free_port, run, wait_for
from metrics import promtool, samples, scrape, value

BASE = "plainwater/testing"


def settings(port, more=""):
    return SETTINGS.format(url="{url}", store="{store}", more=f"metrics:\n  listen: 127.0.0.1:{port}\n{more}")


@pytest.fixture
def port():
    return free_port()


@pytest.fixture
def scraped(make_daemon, port):
    """A daemon with metrics; the fixture returns their text when called."""
    make_daemon(settings(port)).start()
    return lambda: scrape(port)


def publish_air(client, count):
    begun = now_s() - count
    for i in range(count):
        client.publish("house/east/air", json.dumps({"t": 18.5, "rh": 70, "time": text_of_s(begun + i)}))


def test_a_metrics_server_can_read_everything(scraped, client):
    publish_air(client, 5)
    client.publish("house/west/air", "19.25")
    text = wait_for(lambda: (lambda t: t if value(t, "plainwater_bench_temperature_celsius", bench="west") == 19.25 else None)(scraped()), "the west bench's air")
    assert promtool("check", "metrics", text=text) == ""
    assert value(text, "plainwater_bench_temperature_celsius", bench="east") == 18.5
    assert value(text, "plainwater_bench_humidity_ratio", bench="east") == 0.7
    assert value(text, "plainwater_bench_humidity_ratio", bench="west") is None, "it has no humidity: nothing is published, not a NaN"
    assert value(text, "plainwater_readings_total") == 5 * 2 + 1
    assert value(text, "plainwater_broker_connected", direction="listening") == 1
    assert value(text, "plainwater_broker_connected", direction="publishing") == 1
    assert value(text, "plainwater_backlog_drained") == 1
    assert value(text, "plainwater_store_usable") == 1
    assert value(text, "plainwater_pump_armed", pump="east") == 0
    assert value(text, "plainwater_bench_strength_ratio", bench="east") is not None
    names = {name for name, _ in samples(text)}
    assert all(name.startswith(("plainwater_", "process_")) for name in names)
    assert value(text, "process_resident_memory_bytes") > 1e6
    assert not any(name.startswith("plainwater_board_") for name in names), "these settings want no pages"
    assert {labels for name, labels in samples(text) if name == "plainwater_build_info"} == {frozenset({("version", "0.1.0"), ("rules_revision", value_of_revision(text))})}


def value_of_revision(text):
    (labels,) = [dict(labels) for name, labels in samples(text) if name == "plainwater_build_info"]
    assert labels["rules_revision"].isdigit()
    return labels["rules_revision"]


def test_a_storm_of_unknown_topics_makes_no_series(make_daemon, port, client):
    make_daemon(settings(port).replace("  west-air:", "  \"all-{{1}}\":\n    topic: storm/+/air\n    form: number\n    quantity: temperature\n  west-air:")).start()
    # Each kind once, so that every series they can cause exists.
    for strange in ("storm/first/air", f"{BASE}/benches/first/dosed", f"{BASE}/requests"):
        client.publish(strange, '{"id": "x"}')
    wait_for(lambda: value(scrape(port), "plainwater_requests_refused_total", problem="missing-field") == 1, "the first refusals")
    before = scrape(port)
    for i in range(2000):
        client.publish(f"storm/{i}/air", str(i % 30))
        if i % 4 == 0:
            client.publish(f"{BASE}/benches/bench-{i}/dosed", '{"litres": 1}')
            client.publish(f"{BASE}/benches/bench-{i}/order", '{"number": 1}')
            client.publish(f"{BASE}/requests", json.dumps({"id": f"i{i}", "who": "nobody", "request": f"dance-{i}", "bench": f"b{i}"}))
            client.publish(f"{BASE}/requests", json.dumps({"id": f"j{i}", "who": "nobody", "request": "release", "bench": f"b{i}"}))
    wait_for(lambda: value(scrape(port), "plainwater_requests_refused_total", problem="unknown-bench") == 500, "the last refusal")
    after = scrape(port)
    assert set(samples(after)) - set(samples(before)) == set() and set(samples(before)) == set(samples(after))
    assert value(after, "plainwater_intake_refused_total", reason="unmapped-topic") == 2000 + 1
    assert value(after, "plainwater_requests_refused_total", problem="unknown-request") == 500
    assert value(after, "plainwater_dose_reports_refused_total", problem="no-pump") == 500
    for word in ("storm", "bench-4", "dance", "nobody"):
        assert word not in after


def test_counters_match_the_services_own(make_daemon, port, client):
    daemon = make_daemon(settings(port))
    daemon.start()
    publish_air(client, 20)
    for payload in ("{", '{"rh": "wet"}', '{"t": 5000}', '{"t": 20, "time": "yesterday"}', "x" * 70_000):
        client.publish("house/east/air", payload)
    for i in range(3):
        client.publish(f"{BASE}/benches/east/dosed", '{"litres": -1}')
    client.publish(f"{BASE}/requests", json.dumps({"id": "a", "who": "gardener", "request": "hold", "bench": "east"}))
    client.publish(f"{BASE}/requests", json.dumps({"id": "b", "who": "gardener", "request": "release", "bench": "nowhere"}))
    wait_for(lambda: value(scrape(port), "plainwater_requests_refused_total", problem="unknown-bench") == 1, "the last request")
    refused = wait_for(lambda: (lambda r: r if "request-unknown-bench" in r else None)(daemon.state()["refused"]), "a heartbeat with all refusals")
    found = samples(scrape(port))
    counted = {}
    for (name, labels), count in found.items():
        word = dict(labels).get("reason") or dict(labels).get("problem")
        before = {"plainwater_intake_refused_total": "", "plainwater_requests_refused_total": "request-", "plainwater_dose_reports_refused_total": "dose-"}.get(name)
        if before is not None and count:
            counted[before + word] = count
    assert counted == {word: count for word, count in refused.items()}
    assert len(counted) >= 6
    ledger = daemon.store.with_suffix(".jsonl")
    assert run("plainwater", "export", "--store", daemon.store, "--ledger", ledger).returncode == 0
    decided = {}
    for decision in map(json.loads, ledger.read_text().splitlines()):
        key = decision["decision"], decision["cause"] or "none"
        decided[key] = decided.get(key, 0) + 1
    assert decided == {(dict(labels)["decision"], dict(labels)["cause"]): count for (name, labels), count in found.items() if name == "plainwater_decisions_total"}
    assert decided[("hold-placed", "grower")] == 1
    assert found["plainwater_bench_hold", frozenset({("bench", "east"), ("cause", "grower")})] == 1
    assert found["plainwater_bench_strength_ratio", frozenset({("bench", "east")})] == 0
    assert found["plainwater_store_write_duration_seconds_count", frozenset()] >= 22
    assert found["plainwater_lost_total", frozenset()] == 0


def test_a_password_is_required_and_reported_when_missing(make_daemon, port, tmp_path):
    word = tmp_path / "word"
    word.write_text("moss and fern\n")
    word.chmod(0o640)
    daemon = make_daemon(settings(port, f"  user: watcher\n  password_file: {word}\n"))
    daemon.start()
    assert "plainwater_build_info" in scrape(port, "watcher", "moss and fern")
    for user, password in ((None, None), ("watcher", "moss"), ("watcher", "moss and fern "), ("watcher", ""), ("metrics", "moss and fern")):
        with pytest.raises(urllib.error.HTTPError) as refused:
            scrape(port, user, password)
        assert refused.value.code == 401 and "plainwater_" not in refused.value.read().decode()
    assert "moss and fern" not in daemon.tail()
    daemon.stop()
    for content, says in ((None, "cannot read the password file"), ("\n", "holds no password")):
        word.unlink(missing_ok=True)
        if content is not None:
            word.write_text(content)
            word.chmod(0o640)
        checked = run("plainwater", "check", daemon.settings)
        assert checked.returncode == 1 and says in checked.stderr and "metrics.password_file" in checked.stderr
        started = run("plainwaterd", "--settings", daemon.settings)
        assert started.returncode == 1 and says in started.stderr and "metrics.password_file" in started.stderr


def test_a_port_in_use_is_reported_at_the_start(make_daemon, port):
    daemon = make_daemon(settings(port))
    with socket.socket() as other:
        other.bind(("127.0.0.1", port))
        other.listen()
        result = run("plainwaterd", "--settings", daemon.settings)
    assert result.returncode == 1
    assert f"metrics.listen: cannot listen on 127.0.0.1:{port}" in result.stderr and "choose another" in result.stderr


def test_without_settings_nobody_listens(make_daemon, port):
    daemon = make_daemon(settings(port).replace(f"  listen: 127.0.0.1:{port}", '  listen: ""'))
    daemon.start()
    assert "metrics on" not in daemon.log.read_text()
    with pytest.raises(urllib.error.URLError):
        scrape(port)


def test_a_lost_broker_shows(make_daemon, broker, port):
    make_daemon(settings(port)).start()
    broker.stop()
    for direction in ("listening", "publishing"):
        wait_for(lambda: value(scrape(port), "plainwater_broker_connected", direction=direction) == 0, f"{direction} to be lost")
    assert value(scrape(port), "plainwater_backlog_drained") == 0
    broker.start()
    for direction in ("listening", "publishing"):
        wait_for(lambda: value(scrape(port), "plainwater_broker_connected", direction=direction) == 1, f"{direction} to be back")
    wait_for(lambda: value(scrape(port), "plainwater_backlog_drained") == 1, "the backlog")


def test_silent_readers_do_not_block_others_for_long(scraped, port):
    """A metrics server waits 10 s by default."""
    silent = [socket.create_connection(("127.0.0.1", port)) for _ in range(4)]
    try:
        begin = time.monotonic()
        assert "plainwater_build_info" in scraped()
        assert time.monotonic() - begin < 9
    finally:
        for connection in silent:
            connection.close()
