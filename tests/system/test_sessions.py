"""The service's sessions at the broker: nobody can get them by guessing, a stolen one is reported, an upgrade and a restore
fetch the messages waiting under the former id, and of two services with one name exactly one gives orders."""
import contextlib
import json
import re
import sqlite3
import threading

import paho.mqtt.client as paho
import pytest
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from brokers import Deployed, deploy
from clock import instant, now
from conftest import Daemon, free_port, run, wait_for
from faults import Clocks, OrderWatch
from houses import any_sensor, bench, house
from outage import BASE, Sensors, in_store

TAKES_S = 220

SETTINGS = house(any_sensor(), bench("east", "intermediate", "east-a", "east-b"))
SERVICE = f"{BASE}/service/main"
OLD_ID = "plainwater-testing-main-in"  # client ids before there were keys
FILTERS = [(f"{SERVICE}/fence", 1), ("house/+/air", 1), (f"{BASE}/requests", 1), (f"{BASE}/benches/+/order", 1), (f"{BASE}/benches/+/dosed", 1), (SERVICE, 1)]


class Stranger:
    """Connects with a foreign id, with MQTT 5, and keeps the messages delivered to it."""

    def __init__(self, port, name, clean=False, expiry_s=0, subscribe=(), configure=lambda client: None):
        self.heard, self.lost, ready = [], [], threading.Event()
        self.client = paho.Client(client_id=name, protocol=paho.MQTTv5)
        configure(self.client)
        properties = Properties(PacketTypes.CONNECT)
        properties.SessionExpiryInterval = expiry_s
        self.client.on_message = lambda _client, _data, message: self.heard.append(message.payload)
        self.client.on_disconnect = lambda _client, _data, reason, _properties=None: self.lost.append(reason)

        def connected(client, _data, flags, _reason, _properties=None):
            self.present = flags["session present"]
            if subscribe:
                client.subscribe(list(subscribe))
            else:
                ready.set()
        self.client.on_connect = connected
        self.client.on_subscribe = lambda *_: ready.set()
        self.client.reconnect_delay_set(1, 1)
        self.client.connect("localhost", port, clean_start=clean, properties=properties)
        self.client.loop_start()
        assert ready.wait(60), f"{name} could not connect"

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.client.disconnect()
        self.client.loop_stop()


@contextlib.contextmanager
def rows(store):
    with contextlib.closing(sqlite3.connect(store)) as opened, opened:
        yield opened


def key_of(daemon, instance="main"):
    with rows(daemon.store) as store:
        (value,), = store.execute("SELECT value FROM meta WHERE key = ?", (f"client_key/{instance}",)).fetchall()
    return f"{value % 2 ** 64:016x}"


def in_id(daemon, instance="main"):
    return f"plainwater-testing-{instance}-{key_of(daemon, instance)}-in"


def taken(client):
    """Urgent notices of a stolen session, from now on."""
    heard = client.subscribe(f"{BASE}/notices/urgent/json")
    return lambda: [m.json() for m in heard if m.json()["kind"] == "session-taken"]


def test_the_id_cannot_be_guessed_and_is_shown_nowhere(make_daemon, client):
    everything = client.subscribe("#")
    daemon = make_daemon(SETTINGS)
    daemon.start()
    key = key_of(daemon)
    assert f"{in_id(daemon)} (p5, c0" in (daemon.broker.folder / "mosquitto.log").read_text()
    other = make_daemon(SETTINGS.replace("name: testing", "name: elsewhere"), name="elsewhere")
    other.start()
    assert key_of(other) != key
    client.caught_up()
    log, show = daemon.log.read_text(), run("plainwater", "show", "--settings", daemon.settings).stdout
    for what in (log, show, *(m.payload.decode() for m in everything)):
        assert key not in what


def test_an_upgrade_fetches_messages_waiting_under_the_old_id(make_daemon, broker, client):
    """The store of a version before there were keys, and the session that it left at the broker."""
    daemon, sensors = make_daemon(SETTINGS), Sensors()
    daemon.start()
    daemon.stop()
    with rows(daemon.store) as store:
        assert store.execute("DELETE FROM meta WHERE key LIKE 'client_key/%'").rowcount == 1
    with Stranger(broker.port, OLD_ID, clean=True, expiry_s=3600, subscribe=FILTERS):
        pass
    for _ in range(400):
        sensors.send(client)
    daemon.start()
    assert not in_store(daemon, sensors)
    assert daemon.tail().count("what waited under our former client id is in") == 1
    with Stranger(broker.port, OLD_ID) as former:
        assert not former.present, "the old session is over"
    # A service killed meanwhile starts over, but stores each only once.
    daemon.stop()
    sensors.send(client)
    daemon.start()
    assert not in_store(daemon, sensors)
    assert daemon.tail().count("former client id") == 1


def test_an_upgrade_that_is_killed_again_and_again_loses_nothing(make_daemon, broker, client):
    daemon, sensors = make_daemon(SETTINGS.replace("durability: process", "durability: power")), Sensors()
    daemon.start()
    daemon.stop()
    with rows(daemon.store) as store:
        store.execute("DELETE FROM meta WHERE key LIKE 'client_key/%'")
    with Stranger(broker.port, OLD_ID, clean=True, expiry_s=3600, subscribe=FILTERS):
        pass
    for _ in range(600):
        sensors.send(client)
    for stored in (1, 150, 350):
        daemon.spawn()
        wait_for(lambda: len(sensors.sent) - len(sensors.missing(daemon)) >= stored, f"{stored} readings in the store")
        daemon.kill()
        sensors.send(client)
    daemon.start()
    assert not in_store(daemon, sensors)


@pytest.mark.parametrize("role", ["plainwater", "sensors", "display", "grower", "bridge", "pump-east"])
def test_no_role_of_the_houses_broker_gets_our_session(tmp_path, role):
    ports = [free_port() for _ in range(2)]
    deploy(tmp_path, "--loopback-port", ports[0], "--house-port", ports[1], "--readings", "house", "--pump", "east=east")
    house_broker = Deployed(tmp_path, "house", ports[1], ports[0])
    house_broker.start()
    secret = tmp_path / "secret"
    secret.write_text(house_broker.password("plainwater") + "\n")
    secret.chmod(0o600)
    settings = tmp_path / "testing.yaml"
    url = f"mqtt://127.0.0.1:{ports[0]}\n  user: plainwater\n  password_file: {secret}"
    settings.write_text(SETTINGS.format(url=url, store=tmp_path / "testing.db", more="") + 'board:\n  listen: ""\n')
    daemon, sensors = Daemon(settings, tmp_path / "testing.db", SERVICE, house_broker), Sensors()
    try:
        daemon.start()
        with house_broker.client("sensors") as air:
            air.publish = lambda topic, payload: air.send(topic, json.dumps(payload))
            sensors.send(air)
            for name in (OLD_ID, OLD_ID.removesuffix("in") + "out", OLD_ID.removesuffix("in") + "aside-in"):
                with Stranger(ports[0], name, clean=True, configure=lambda c: c.username_pw_set(role, house_broker.password(role)), subscribe=FILTERS) as stranger:
                    for _ in range(10):
                        sensors.send(air)
                    assert not stranger.lost
            assert not in_store(daemon, sensors)
        assert "connection lost" not in daemon.log.read_text()
        daemon.stop()
    finally:
        daemon.clean_up()
        house_broker.stop()


def test_a_stolen_session_is_given_up_and_reported(make_daemon, client, broker):
    notices, sensors = taken(client), Sensors()
    daemon = make_daemon(SETTINGS)
    daemon.start()
    name, began = in_id(daemon), now()
    for _ in range(20):
        sensors.send(client)
    assert not in_store(daemon, sensors)  # messages in flight when the other connects may go to it
    with Stranger(broker.port, name) as thief:
        wait_for(notices, f"an urgent notice; log:\n{daemon.tail()}")
        # From now on it is another client: they no longer throw each other out.
        assert in_id(daemon) != name
        count = len(notices())
        for _ in range(200):
            sensors.send(client)
        assert not in_store(daemon, sensors)
        assert len(notices()) == count == 1
    (notice,) = notices()
    begin, end = instant(notice["evidence"]["from"]), instant(notice["evidence"]["to"])
    assert began.timestamp() - 2 <= begin.timestamp() <= end.timestamp()
    assert notice["urgency"] == "urgent" and "may have gone to it" in notice["text"]
    assert thief.lost, "what waited under the taken id was fetched back"
    daemon.stop()


def former_sessions_over(daemon):
    """True when it has finished with all former ids: until then it connects with each once more, and throws out whoever has
    it."""
    log = daemon.log.read_text()
    over = log.count("what waited under our former client id is in") + log.count("kept under our former client id")
    return over == log.count("we have another one from now on")


def heartbeat_of(messages, daemon):
    """This daemon's last live heartbeat, by its store's id."""
    with rows(daemon.store) as store:
        (value,), = store.execute("SELECT value FROM meta WHERE key = 'store_id/main'").fetchall()
    own = f"{value % 2 ** 64:016x}"
    mine = [m.json() for m in messages if not m.retain and m.json().get("store_id") == own]
    return mine[-1] if mine else {}


@pytest.mark.parametrize("copied", [False, True], ids=["two stores", "a copy"])
def test_of_two_services_under_one_name_one_gives_orders(make_daemon, broker, client, tmp_path, life, copied):
    """Two real services, one instance. The one with the older store gives orders, the other stays idle and says so; neither
    throws the other out. When the first is gone the other takes over."""
    clocks = Clocks(tmp_path)
    old, young = make_daemon(SETTINGS), make_daemon(SETTINGS, name="young")
    beats = client.subscribe(SERVICE)
    urgent = client.subscribe(f"{BASE}/notices/urgent/json")
    old.start(env=clocks.env)
    with OrderWatch(broker, "testing") as orders:
        wait_for(orders.seen, "an order of the first")
        if copied:
            assert run("plainwater", "backup", "--settings", old.settings, "--to", young.store).returncode == 0
        young.start(env=life.env(clocks.env), past_backlog=not copied)
        if copied:
            wait_for(lambda: any("we have another one from now on" in d.log.read_text() for d in (old, young)), "one of them to be another client")
            wait_for(lambda: in_id(old) != in_id(young), "two ids")
            wait_for(lambda: all(map(former_sessions_over, (old, young))), "what waited under the id of both to be fetched")
        ahead_s = 0

        def time_passes_until(condition, what, step_s=61, looks=2):
            nonlocal ahead_s
            for _ in range(40):
                ahead_s += step_s
                clocks.shift(ahead_s, ahead_s)
                life.looks(looks)
                if condition():
                    return
            pytest.fail(f"{what}; logs:\n{old.tail()}\n{young.tail()}")

        def aside():
            return [d for d in (old, young) if "gives no orders while it is heard" in d.log.read_text()]
        time_passes_until(aside, "nobody stays idle")
        # A copy is as old: then the smaller run id wins.
        (idle,) = aside()
        assert copied or idle is young
        busy = old if idle is young else young
        wait_for(lambda: any(m.json()["kind"] == "second-service" for m in urgent), "it to be reported")
        given, lost = len(orders.seen()), [d.log.read_text().count("connection lost") for d in (old, young)]
        for _ in range(5):
            ahead_s += 1801
            clocks.shift(ahead_s, ahead_s)
            life.looks(2)
        orders.settled()
        new = orders.seen()[given:]
        numbers = [(o["epoch"], o["sequence"]) for o in new]
        assert len(new) >= 2 and numbers == sorted(set(numbers)), "each bench's orders by one of them"
        with rows(busy.store) as store:
            (own,), = store.execute("SELECT value FROM meta WHERE key = 'store_id/main'").fetchall()
        assert {o["store"] for o in new} == {f"{own % 2 ** 64:016x}"}
        assert [d.log.read_text().count("connection lost") for d in (old, young)] == lost, "nobody throws anybody out"
        assert lost == [0, 0] or copied
        assert len(aside()) == 1
        assert heartbeat_of(beats, busy) and any(m.json().get("aside_for") for m in beats)
        # Gone for good: the other takes over.
        busy.kill()
        if busy is young:
            return  # `life` belongs to the one that was killed
        time_passes_until(lambda: "taking over" in idle.log.read_text(), "nobody takes over", 10, 1)  # as long as a service counts as alive


def test_a_restore_fetches_messages_waiting_for_the_old_store(make_daemon, client, tmp_path):
    daemon, sensors = make_daemon(SETTINGS), Sensors()
    daemon.start()
    assert run("plainwater", "backup", "--settings", daemon.settings, "--to", tmp_path / "backup.db").returncode == 0
    name = in_id(daemon)
    daemon.kill()
    for _ in range(100):
        sensors.send(client)
    done = run("plainwater", "restore", "--settings", daemon.settings, "--from", tmp_path / "backup.db", "--replace")
    assert done.returncode == 0, done.stderr
    daemon.start()
    assert not in_store(daemon, sensors)
    assert in_id(daemon) != name


def test_a_spare_gets_its_copy_and_keeps_what_waited_for_it(make_daemon, client, tmp_path):
    """As in the README: started and stopped once, then given a copy of the running service's store."""
    sensors = Sensors()
    main = make_daemon(SETTINGS)
    spare = make_daemon(SETTINGS.replace("  url:", "  instance: spare\n  url:"), name="spare")
    spare.topic = f"{BASE}/service/spare"
    main.start()
    spare.start()
    spare.stop()
    for _ in range(20):
        sensors.send(client)
    assert not in_store(main, sensors)
    assert run("plainwater", "backup", "--settings", main.settings, "--to", tmp_path / "copy.db").returncode == 0
    for _ in range(100):
        sensors.send(client)
    done = run("plainwater", "restore", "--settings", spare.settings, "--from", tmp_path / "copy.db", "--replace", "--spare")
    assert done.returncode == 0, done.stderr
    assert re.search(r"start it as spare\b", done.stdout)
    spare.start()
    assert not in_store(spare, sensors)
    assert not in_store(main, sensors)
    one, other = main.state(), spare.state()
    assert one["store_id"] != other["store_id"] and one["history_since"] == other["history_since"]
