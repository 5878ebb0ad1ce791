"""A bench that has another name in the settings than before."""
import json

from conftest import run, wait_for

TAKES_S = 15

BASE = "plainwater/testing"


def test_a_renamed_bench_leaves_no_feed_behind(fed_daemon, client):
    """A pump may still listen to the old topic, and no request reaches the old name."""
    strengths = client.subscribe(f"{BASE}/benches/east/strength")
    assert client.ask(f"{BASE}/requests", {"id": "1", "who": "a test", "request": "arm", "pump": "east"})["done"]
    wait_for(lambda: strengths and strengths[-1].payload != b"0", "feed")
    fed_daemon.stop()
    settings = fed_daemon.settings.read_text()
    benches = settings.index("benches:\n")
    renamed = settings[benches:].replace("  east:\n    group", "  dawn:\n    group").replace("benches: [east]", "benches: [dawn]")
    fed_daemon.settings.write_text(settings[:benches] + renamed)
    strengths.clear()
    fed_daemon.start()
    wait_for(lambda: strengths and strengths[-1].payload == b"0", "plain water on the old topic")
    # A pump that comes later gets what the broker keeps.
    kept = client.subscribe(f"{BASE}/benches/east/order")
    order = wait_for(lambda: kept and kept[-1].json(), "the order that the broker keeps")
    assert order["stock"] == "locked" and order["strength_percent"] == 0
    assert order["because"] == "Plain water only: the settings no longer name this bench."
    assert 'bench "east" is not in the settings any more' in fed_daemon.log.read_text()
    shown = run("plainwater", "show", "--settings", fed_daemon.settings, "--json")
    assert shown.returncode == 0, shown.stderr
    assert "dawn" in json.dumps(json.loads(shown.stdout))
