"""A bench that has another name in the settings than before, and one that is there no more."""
import json
import uuid

from conftest import run, wait_for
from notice_season import Notices
from season import export

BASE = "plainwater/testing"


def ask(client, **request):
    return client.ask(f"{BASE}/requests", {"id": uuid.uuid4().hex, "who": "a test", **request})


def rename(daemon, was):
    """The east bench is called dawn in the settings from now on; `was`: and they say so."""
    settings = daemon.settings.read_text()
    benches = settings.index("benches:\n")
    says = "    was: east\n" if was else ""
    renamed = settings[benches:].replace("  east:\n    group", f"  dawn:\n{says}    group").replace("benches: [east]", "benches: [dawn]")
    daemon.settings.write_text(settings[:benches] + renamed)


def causes(daemon):
    return [json.loads(line)["cause"] for line in export(daemon)[1].splitlines()]


def test_a_renamed_bench_leaves_no_feed_behind(fed_daemon, client):
    """A pump may still listen to the old topic, and no request reaches the old name."""
    strengths = client.subscribe(f"{BASE}/benches/east/strength")
    assert ask(client, request="arm", pump="east")["done"]
    wait_for(lambda: strengths and strengths[-1].payload != b"0", "feed")
    fed_daemon.stop()
    rename(fed_daemon, was=False)
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


def test_a_renamed_bench_goes_on_where_the_settings_say_so(fed_daemon, client):
    orders, old_climate = client.subscribe(f"{BASE}/benches/dawn/order"), client.subscribe(f"{BASE}/benches/east/position")
    assert ask(client, request="arm", pump="east")["done"]
    assert ask(client, request="hold", bench="east")["done"]
    wait_for(lambda: old_climate, "where the bench is")
    fed_daemon.stop()
    rename(fed_daemon, was=True)
    for _ in range(2):  # the settings keep saying so
        fed_daemon.start()
        order = wait_for(lambda: [m.json() for m in orders if m.payload], "an order for the new name")[-1]
        assert order["cause"] == "grower" and order["hold"]["cause"] == "grower" and order["stock"] == "locked"
        wait_for(lambda: old_climate[-1].payload == b"", "the old name's topic to be cleared")
        shown = json.loads(run("plainwater", "show", "--settings", fed_daemon.settings, "--json").stdout)
        assert "east" not in shown["benches"] and shown["benches"]["dawn"]["order"]["pump_mode"] == "armed", shown["benches"]
        fed_daemon.stop()
    assert causes(fed_daemon).count("renamed") == 1
    assert "benches-changed" not in causes(fed_daemon)
    assert run("plainwater", "audit", "--store", fed_daemon.store).returncode == 0


def test_a_bench_that_left_keeps_its_pump_from_feeding_another_until_it_is_retired(fed_daemon, client):
    notices = Notices(client)
    assert ask(client, request="arm", pump="east")["done"]
    assert ask(client, request="hold", bench="east")["done"]
    fed_daemon.stop()
    rename(fed_daemon, was=False)
    fed_daemon.start()
    told = wait_for(lambda: notices.of("bench-gone", "begun"), "that a bench left to be told")[0]
    assert "plainwater retire east" in told["text"]
    refused = ask(client, request="arm", pump="east")
    assert refused["problem"] == "bench-gone" and "`was: east`" in refused["text"]
    done = run("plainwater", "retire", "east", "--settings", fed_daemon.settings, "--who", "Ines")
    assert done.returncode == 0 and "left the settings for good, said Ines" in done.stdout, done.stderr
    assert run("plainwater", "arm", "east", "--yes", "--settings", fed_daemon.settings).returncode == 0
    fed_daemon.stop()
    found = causes(fed_daemon)
    assert found.count("bench-gone") == found.count("bench-retired") == found.count("benches-changed") == 1
    assert run("plainwater", "audit", "--store", fed_daemon.store).returncode == 0
