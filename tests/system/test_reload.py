"""The running service reads its settings again: by signal, and by request."""
import signal
import threading
import uuid

import board as pages
from board import LISTEN, Events, port_of
from conftest import run, wait_for
from houses import number
from test_renamed import causes, rename

BASE = "plainwater/testing"


def ask(client, **request):
    return client.ask(f"{BASE}/requests", {"id": uuid.uuid4().hex, "who": "a test", **request})


def edit(daemon, *changes):
    text = daemon.settings.read_text()
    for before, after in changes:
        assert before in text
        text = text.replace(before, after, 1)
    daemon.settings.write_text(text)


def reload(daemon):
    return run("plainwater", "reload", "--settings", daemon.settings, "--who", "Ines")


def connections(daemon, broker_log):
    """How often one of the service's own clients has connected."""
    return sum("New client connected" in line and "as plainwater-testing-main-" in line for line in broker_log.read_text().splitlines())


def test_a_bench_is_renamed_without_a_restart(fed_daemon, client, tmp_path):
    orders = client.subscribe(f"{BASE}/benches/dawn/order")
    old = client.subscribe(f"{BASE}/benches/east/strength")
    assert ask(client, request="arm", pump="east")["done"]
    wait_for(lambda: old and old[-1].payload != b"0", "feed")
    assert ask(client, request="hold", bench="east")["done"]
    pid, before = fed_daemon.process.pid, connections(fed_daemon, tmp_path / "mosquitto.log")
    assert before > 0
    rename(fed_daemon, was=True)
    compared = run("plainwater", "check", fed_daemon.settings, "--against-running")
    assert compared.returncode == 0, compared.stderr
    assert "benches.dawn: new, was east" in compared.stdout and "benches.east: gone" in compared.stdout
    assert "pumps.east.benches: [dawn], was [east]" in compared.stdout
    done = reload(fed_daemon)
    assert done.returncode == 0, done.stderr
    assert "are in force now" in done.stdout and "benches.dawn: new, was east" in done.stdout, done.stdout
    order = wait_for(lambda: orders and orders[-1].json(), "an order for the new name")
    assert order["cause"] == "grower" and order["stock"] == "locked" and order["pump_mode"] == "armed"
    assert fed_daemon.process.poll() is None and fed_daemon.process.pid == pid
    assert connections(fed_daemon, tmp_path / "mosquitto.log") == before
    assert ask(client, request="release", bench="dawn")["done"]
    fed_daemon.stop()
    assert causes(fed_daemon).count("renamed") == 1 and "benches-changed" not in causes(fed_daemon)
    assert run("plainwater", "audit", "--store", fed_daemon.store).returncode == 0


def test_a_faulty_file_changes_nothing_and_says_what_is_wrong(fed_daemon, client):
    good = fed_daemon.settings.read_text()
    edit(fed_daemon, ("group: ", "group: tropical #"))
    fed_daemon.process.send_signal(signal.SIGHUP)
    wait_for(lambda: "the settings stay as they were" in fed_daemon.log.read_text(), "the refusal in the log")
    refused = ask(client, request="reload")
    assert refused["done"] is False and refused["problem"] == "faulty-settings"
    assert "a mistake: " in refused["text"] and "tropical" in refused["text"] and ".group" in refused["text"], refused["text"]
    by_command = reload(fed_daemon)
    assert by_command.returncode == 1 and "tropical" in by_command.stderr
    fed_daemon.settings.write_text(good.replace("durability: process", "durability: power"))
    refused = ask(client, request="reload")
    assert refused["problem"] == "settings-refused" and "restart the service" in refused["text"]
    fed_daemon.settings.write_text(good)
    same = ask(client, request="reload")
    assert same["done"] and "in force already" in same["text"]
    assert ask(client, request="hold", bench="east")["done"]


def test_a_sensor_that_is_new_is_heard_from_then_on(fed_daemon, client):
    """Its bench gets plain water until its first night, as any bench that was never heard."""
    orders = client.subscribe(f"{BASE}/benches/porch/order")
    climate = client.subscribe(f"{BASE}/benches/porch/climate")
    edit(fed_daemon, ("sensors:\n", "sensors:\n" + number("porch-air", "air/porch")),
         ("benches:\n", "benches:\n  porch: {group: cool, sensors: porch-air}\n"))
    fed_daemon.process.send_signal(signal.SIGHUP)
    order = wait_for(lambda: orders and orders[-1].json(), "an order for the new bench")
    assert order["cause"] == "not-heard" and order["stock"] == "locked"

    def heard():
        client.publish("air/porch", "14.5")
        return any("14.5" in m.payload.decode() for m in climate)
    wait_for(heard, "the new sensor's air")


def test_viewers_of_the_pages_stay_and_see_the_change(make_daemon, client):
    daemon = make_daemon(more=LISTEN)
    daemon.start()
    port = port_of(daemon)
    viewer = Events(port)
    assert viewer.status == 200
    edit(daemon, ("group: intermediate", "group: cool"))
    done = reload(daemon)
    assert done.returncode == 0, done.stderr
    wait_for(lambda: viewer.next()[0] == "bench", "a bench's event on the connection of before")
    assert pages.ask(port, "/api/benches/east").json()["group"] == "cool"
    assert daemon.log.read_text().count("pages on http://") == 1


def test_what_needs_a_restart_is_refused_before_it_is_sent(fed_daemon, client):
    edit(fed_daemon, ('listen: ""', 'listen: "127.0.0.1:0"'))
    refused = reload(fed_daemon)
    assert refused.returncode == 1 and "board.listen cannot change while the service runs" in refused.stderr
    assert ask(client, request="reload")["problem"] == "settings-refused"


def test_many_wishes_at_once_are_one_reload_and_each_is_answered(fed_daemon, client, broker):
    edit(fed_daemon, ("group: intermediate", "group: warm"))
    others = [broker.client() for _ in range(4)]
    answers = []
    askers = [threading.Thread(target=lambda asker=asker: answers.append(ask(asker, request="reload"))) for asker in others]
    for asker in askers:
        asker.start()
    for asker in askers:
        asker.join()
    for other in others:
        other.__exit__()
    assert len(answers) == 4 and all(answer["done"] for answer in answers), answers
    assert ask(client, request="hold", bench="east")["done"]


def test_a_bench_that_would_be_left_behind_is_asked_about(fed_daemon, client):
    assert ask(client, request="hold", bench="east")["done"]
    rename(fed_daemon, was=False)
    refused = reload(fed_daemon)
    assert refused.returncode == 1 and "--yes" in refused.stderr and "its hold" in refused.stdout + refused.stderr
    assert "`was: east`" in refused.stdout
    assert "benches.east" not in fed_daemon.log.read_text(), "nothing was sent"
    done = run("plainwater", "reload", "--yes", "--settings", fed_daemon.settings)
    assert done.returncode == 0 and "are in force now" in done.stdout, done.stderr
