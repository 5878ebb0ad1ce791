"""Every role of deploy/broker with every topic: what it may write arrives, what it may read is delivered, and nothing else."""
import shutil
import subprocess
import threading

import pytest

from brokers import BASE, Deployed, SecureClient, deploy
from certificates import Authority, openssl
from conftest import free_port, wait_for

ORDER, STRENGTH, PLACARD, CLIMATE, POSITION, DOSED = (f"{BASE}/benches/east/{leaf}" for leaf in
                                                       ("order", "strength", "placard", "climate", "position", "dosed"))
OTHER_ORDER, OTHER_STRENGTH, OTHER_DOSED = (f"{BASE}/benches/west/{leaf}" for leaf in ("order", "strength", "dosed"))
SHARED_ORDER, SHARED_STRENGTH, SHARED_DOSED = (f"{BASE}/benches/north/{leaf}" for leaf in ("order", "strength", "dosed"))
URGENT, SOON, INFO = (f"{BASE}/notices/{urgency}" for urgency in ("urgent", "soon", "info"))
REQUESTS, REPLY, SERVICE, FENCE = f"{BASE}/requests", f"{BASE}/replies/a-1", f"{BASE}/service/main", f"{BASE}/service/main/fence"
READING, SECOND_READING = "house/east/air", "weather/roof"
STRANGE = ["plainwater/elsewhere/notices/urgent", "plainwater/elsewhere/benches/east/order", f"{BASE}x/requests", BASE, "something/else", f"{BASE}/benches/east/order/more",
           f"{BASE}/more"]
TOM, TOM_JSON, RUTH = f"{BASE}/notices/tom/urgent", f"{BASE}/notices/tom/urgent/json", f"{BASE}/notices/ruth/urgent"
NOTICES = {URGENT, SOON, INFO, f"{URGENT}/json", TOM, TOM_JSON, RUTH}
FROM_SERVICE = {ORDER, STRENGTH, PLACARD, CLIMATE, POSITION, OTHER_ORDER, OTHER_STRENGTH, SHARED_ORDER, SHARED_STRENGTH, *NOTICES, REPLY, SERVICE, FENCE}
OF_SITE = FROM_SERVICE | {DOSED, OTHER_DOSED, SHARED_DOSED, REQUESTS}
READINGS = {READING, SECOND_READING}
EVERY = sorted(OF_SITE | READINGS | set(STRANGE))
# (role, what it may write, what it may read); everything else is forbidden.
HOUSE = {
    "plainwater": (FROM_SERVICE | {REQUESTS}, OF_SITE | READINGS | {f"{BASE}/more", BASE, f"{BASE}/benches/east/order/more"}),
    "sensors": (READINGS, set()),
    "display": (set(), {PLACARD}),
    "grower": ({REQUESTS}, OF_SITE | READINGS | {f"{BASE}/more", BASE, f"{BASE}/benches/east/order/more"}),
    "person-tom": (set(), {TOM, TOM_JSON, SERVICE}),
    "bridge": (set(), NOTICES | {SERVICE}),
    "pump-east": ({DOSED, SHARED_DOSED}, {ORDER, STRENGTH, SHARED_ORDER, SHARED_STRENGTH}),
    "pump-west": ({OTHER_DOSED}, {OTHER_ORDER, OTHER_STRENGTH}),
}
OUTER = {
    "bridge": (NOTICES | {SERVICE}, set()),
    "phone": (set(), NOTICES | {SERVICE}),
    "person-tom": (set(), {TOM, TOM_JSON, SERVICE}),
}


@pytest.fixture(scope="module")
def brokers(tmp_path_factory):
    """Both brokers with an additional user who may do everything, to observe, and to write what others should read."""
    folder = tmp_path_factory.mktemp("acl")
    ports = [free_port() for _ in range(3)]
    deploy(folder, "--loopback-port", ports[0], "--house-port", ports[1], "--outer-port", ports[2], "--readings", "house", "--readings", "weather",
          "--pump", "east=east,north", "--pump", "west=west", "--person", "tom", "--person", "ruth")
    made = {"house": Deployed(folder, "house", ports[1], ports[0]), "outer": Deployed(folder, "outer", ports[2])}
    (folder / "made/house/bridge/bridge.conf").unlink()
    for name, broker in made.items():
        users = folder / f"made/{name}/users"
        role = "plainwater" if name == "house" else "phone"
        theirs = next(line for line in users.read_text().splitlines() if line.startswith(role + ":"))
        users.write_text(users.read_text() + "watcher:" + theirs.split(":", 1)[1] + "\n")
        (folder / f"made/passwords/{name}-watcher").write_text(broker.password(role))
        access = folder / f"made/{name}/{name}.acl"
        access.write_text(access.read_text() + "\nuser watcher\ntopic readwrite #\n")
        broker.start()
    yield made
    for broker in made.values():
        broker.stop()


ROLES = [("house", role, *rights) for role, rights in HOUSE.items()] + [("outer", role, *rights) for role, rights in OUTER.items()]


@pytest.mark.parametrize("where, role, may_write, may_read", ROLES, ids=[f"{r[0]}-{r[1]}" for r in ROLES])
def test_role(brokers, where, role, may_write, may_read):
    broker = brokers[where]
    with broker.client("watcher") as watcher, broker.client(role) as client:
        assert client.answer == 0 and watcher.answer == 0
        arrived = watcher.subscribe("#")
        for topic in EVERY:
            client.send(topic, f"{role} writes {topic}", wait=False)
        # Its own messages are handled in order, so the answer to the last one marks the end.
        client.send(EVERY[-1], "last")
        watcher.send("end", "of writing")
        wait_for(lambda: any(m.topic == "end" for m in arrived), "the end of writing")
        written = {m.topic for m in arrived if m.topic != "end"}
        assert written == may_write, f"more: {written - may_write}, less: {may_write - written}"

        # A filter for everything, and one for each topic: neither gives more than the role has.
        for topic_filter in ("#", *EVERY):
            client.subscribe(topic_filter)
        client.arrived.clear()
        for topic in EVERY:
            watcher.send(topic, f"to {topic}", wait=False)
        watcher.send("end", "of reading")
        settle(broker, client, watcher, may_read)
        read = {m.topic for m in client.arrived}
        assert read == may_read, f"more: {read - may_read}, less: {may_read - read}"
        # Retained messages are protected in the same way.
        for topic in EVERY:
            watcher.send(topic, "retained", retain=True, wait=False)
        watcher.send("end", "of retaining")
        with broker.client(role) as later:
            later.subscribe("#")
            settle(broker, later, watcher, may_read)
            assert {m.topic for m in later.arrived} == may_read
        for topic in EVERY:
            watcher.send(topic, "", retain=True, wait=False)
        watcher.send("end", "of clearing")


def settle(broker, client, watcher, may_read):
    """Waits until `client` has received everything sent before: by a message that it may read, or, if it may read none, by an
    answer to it."""
    if may_read:
        last = sorted(may_read)[0]
        watcher.send(last, "settled")
        wait_for(lambda: any(m.payload == b"settled" for m in client.arrived), "the last message")
    else:
        client.subscribe("nothing/at/all")


def test_pump_of_one_bench_cannot_report_for_another(brokers):
    with brokers["house"].client("watcher") as watcher:
        arrived = watcher.subscribe(f"{BASE}/benches/+/dosed")
        for pump, topics in (("pump-west", [DOSED, SHARED_DOSED, OTHER_DOSED]), ("pump-east", [OTHER_DOSED, DOSED])):
            with brokers["house"].client(pump) as client:
                for topic in topics:
                    client.send(topic, pump)
        wait_for(lambda: len(arrived) >= 2, "the reports")
        watcher.send(f"{BASE}/benches/end/dosed", "end")
        wait_for(lambda: arrived[-1].payload == b"end", "the end")
        assert [(m.topic, m.payload) for m in arrived[:-1]] == [(OTHER_DOSED, b"pump-west"), (DOSED, b"pump-east")]


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_too_large_messages_are_refused(brokers):
    with brokers["house"].client("watcher") as watcher, brokers["house"].client("sensors") as sensors:
        arrived = watcher.subscribe("house/#")
        sensors.send(READING, b"x" * 65536)
        gone = threading.Event()
        sensors.client.on_disconnect = lambda *_: gone.set()
        sensors.client.reconnect_delay_set(60, 60)  # it would send the same again and again
        sensors.send(READING, b"x" * 71000, wait=False)
        # The client's thread may die of it while still writing.
        wait_for(lambda: gone.is_set() or not sensors.client._thread.is_alive(), "the broker to hang up")
        watcher.send("house/end", "end")
        wait_for(lambda: arrived[-1:] and arrived[-1].topic == "house/end", "the end")
        assert [len(m.payload) for m in arrived] == [65536, 3]


@pytest.mark.parametrize("where", ["house", "outer"])
@pytest.mark.parametrize("user", [None, "plainwater", "phone", "bridge", "nobody"])
def test_nobody_without_the_right_password(brokers, where, user):
    broker = brokers[where]
    for password in ("moss-lantern-44-umber", "", None) if user else (None,):
        with SecureClient(broker.tls_port, broker.certificate_authority, user, password) as client:
            assert client.answer in (134, 135), client.answer  # bad user name or password, or not authorised


def test_a_password_is_valid_only_at_its_own_broker(brokers):
    outer = brokers["outer"]
    with SecureClient(outer.tls_port, outer.certificate_authority, "bridge", brokers["house"].password("bridge")) as client:
        assert client.answer in (134, 135)


def test_setup_again_keeps_secrets(tmp_path):
    first = ["--readings", "house", "--pump", "east=east"]
    deploy(tmp_path, *first)
    made = tmp_path / "made"
    before = {path: path.read_bytes() for path in made.rglob("*") if path.is_file()}
    deploy(tmp_path, *first)
    assert {path: path.read_bytes() for path in made.rglob("*") if path.is_file()} == before, "nothing changes"
    # One more pump: one more user and its rights, everything else unchanged.
    deploy(tmp_path, *first, "--pump", "west=west")
    changed = {path.relative_to(made).as_posix() for path, content in before.items() if path.read_bytes() != content}
    assert changed == {"house/users", "house/house.acl"}
    assert (made / "house/users").read_bytes().startswith(before[made / "house/users"])
    assert (made / "house/house.acl.before").read_bytes() == before[made / "house/house.acl"]
    # Passwords that were moved elsewhere are not made again: the users stay valid.
    for path in (made / "passwords").iterdir():
        path.unlink()
    kept = (made / "house/users").read_bytes(), (made / "house/bridge/bridge.conf").read_bytes()
    deploy(tmp_path, *first, "--pump", "west=west")
    assert ((made / "house/users").read_bytes(), (made / "house/bridge/bridge.conf").read_bytes()) == kept
    assert not list((made / "passwords").iterdir())


def test_files_are_private_and_contain_no_password_in_clear(tmp_path):
    deploy(tmp_path, "--pump", "east=east")
    made = tmp_path / "made"
    passwords = {path.name: path.read_text().strip() for path in (made / "passwords").iterdir()}
    assert len(set(passwords.values())) == len(passwords) == 8 and all(len(word) == 32 for word in passwords.values())
    for path in made.rglob("*"):
        mode = path.stat().st_mode & 0o777
        private = path.parent.name in ("ca", "passwords")
        assert mode == (0o600 if private else 0o640) if path.is_file() else mode in (0o700, 0o750), f"{path}: {mode:o}"
        if path.is_file() and not private:
            found = {name for name, word in passwords.items() if word in path.read_text()}
            assert found == ({"outer-bridge"} if path.name == "bridge.conf" else set()), path


def test_certificates_are_renewed_in_time_and_keys_stay(tmp_path):
    deploy(tmp_path)
    made, authority = tmp_path / "made", Authority(tmp_path / "authority")
    for name in ("ca.pem", "ca.key"):
        shutil.copyfile(made / "ca" / name, authority.folder / name)
    key, first = (made / "house/server.key").read_bytes(), (made / "house/server.pem").read_bytes()
    for days, renewed in ((31, False), (29, True)):
        authority.issue(tmp_path / "ending", days=days)
        ending = (tmp_path / "ending.pem").read_bytes()
        (made / "house/server.pem").write_bytes(ending)
        deploy(tmp_path)
        assert ((made / "house/server.pem").read_bytes() != ending) == renewed, f"{days} days before its end"
    assert (made / "house/server.key").read_bytes() == key
    # Without its authority everything is made again, and fits together.
    for name in ("ca.pem", "ca.key"):
        (made / "ca" / name).unlink()
    deploy(tmp_path)
    for broker in ("house", "outer"):
        openssl("verify", "-CAfile", made / "ca/ca.pem", "-verify_hostname", "localhost", made / broker / "server.pem")
        assert (made / broker / "ca.pem").read_bytes() == (made / "ca/ca.pem").read_bytes()
    assert (made / "house/server.pem").read_bytes() != first and (made / "house/server.key").read_bytes() == key


def test_refusals_are_reported(brokers):
    """In MQTT 5 by the acknowledgement."""
    house = brokers["house"]
    for topic, refused in ((DOSED, True), (OTHER_DOSED, False)):
        done = subprocess.run(["mosquitto_pub", "-V", "5", "-q", "1", "-h", "localhost", "-p", str(house.tls_port), "--cafile", house.certificate_authority,
                               "-u", "pump-west", "-P", house.password("pump-west"), "-t", topic, "-m", "{}"], capture_output=True, text=True, timeout=30)
        assert ("Not authorized" in done.stdout + done.stderr) == refused, done


@pytest.mark.parametrize("wrong", [["--pump", "east"], ["--pump", "east=a/b"], ["--pump", "east=#"], ["--pump", "a b=c"], ["--readings", "plainwater"],
                                   ["--readings", "+"], ["--outer", "a|b"], ["--house-port", "x"], ["--site", "a/b"], ["--data", "relative"], ["--strange", "x"], ["--person", "a/b"], ["--person", "urgent"],
                                   ["--pump"]])
def test_setup_refuses(tmp_path, wrong):
    done = deploy(tmp_path, *wrong, check=False)
    assert done.returncode == 2 and "setup: " in done.stderr and not (tmp_path / "made").exists(), done.stderr
