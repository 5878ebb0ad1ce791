"""Fixtures: a private broker, the real daemon, settings, an MQTT 5 client. Everything on loopback and in a fresh folder.

PLAINWATER_BIN names the folder with the binaries; by default build/release/bin. PLAINWATER_TEST_START: see clock.py. Nothing
here sleeps for a fixed time and hopes: see waiting.py and life.py."""
import itertools
import os
import pathlib
import shutil
import signal
import socket
import subprocess

import pytest

import nights
from houses import SMALL as SETTINGS
from life import SystemdSocket
from mqtt5 import Client
from programs import BIN, ROOT, environment, run, spawn  # noqa: F401
from waiting import PATIENCE, wait_for


def pytest_collection_modifyitems(items):
    """Starts the slowest files first, or one of them would run on alone in the end. A file that takes most of a minute gives
    its time in TAKES_S."""
    items.sort(key=lambda item: -getattr(item.module, "TAKES_S", 0))


def _unused_ports():
    """Ports below those that the system gives to connecting clients: otherwise a client could take the port of a broker that
    is away. Each is reserved for one process while that lives, by a name that the system forgets with the process."""
    lowest_given = int(pathlib.Path("/proc/sys/net/ipv4/ip_local_port_range").read_text().split()[0])
    span = range(max(1024, lowest_given - 16384), lowest_given)
    begin = os.getpid() * 61 % len(span)
    for port in itertools.chain(span[begin:], span[:begin]):
        name = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        try:
            name.bind(f"\0plainwater-test-port-{port}")
            with socket.socket() as probe:
                probe.bind(("127.0.0.1", port))
        except OSError:
            name.close()
            continue
        _NAMES.append(name)
        yield port


_NAMES = []
_PORTS = _unused_ports()


def free_port():
    """A free port that no other test gets, and that is still free when its broker restarts."""
    return next(_PORTS)


def end(process):
    """Ends it properly; if it does not react it is killed, and the test fails."""
    process.terminate()
    try:
        process.wait(PATIENCE)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait(PATIENCE)
        raise


class Broker:
    """A private mosquitto. Its persistence allows it to be killed and started again."""

    user = password = None

    def __init__(self, folder, more="allow_anonymous true\n"):
        """`more` lines of configuration follow those of the listener."""
        self.folder, self.port, self.process = folder, free_port(), None
        self.url = f"mqtt://127.0.0.1:{self.port}"
        (folder / "mosquitto.conf").write_text(
            f"listener {self.port} 127.0.0.1\n{more}persistence true\npersistence_location {folder}/\n"
            # Started by root, mosquitto would change to a user who may not write here, and would then forget accepted
            # messages.
            "user root\nmax_queued_messages 1000000\nmax_inflight_messages 1000\n")

    def start(self):
        program = shutil.which("mosquitto", path=os.environ["PATH"] + ":/usr/sbin")
        self.process = subprocess.Popen([program, "-c", self.folder / "mosquitto.conf"], stdout=open(self.folder / "mosquitto.log", "a"),
                                        stderr=subprocess.STDOUT)
        wait_for(self.answers, "the broker's port")

    def answers(self):
        assert self.process.poll() is None, (self.folder / "mosquitto.log").read_text()
        with socket.socket() as s:
            return s.connect_ex(("127.0.0.1", self.port)) == 0

    def stop(self):
        if self.process and self.process.poll() is None:
            end(self.process)

    def kill(self):
        self.process.kill()
        self.process.wait(PATIENCE)

    def client(self):
        """A connected client, to be used as a context."""
        return Client(self.port, self.user, self.password)


class GuardedBroker(Broker):
    """A broker that demands a user and a password."""

    def __init__(self, folder, user, password):
        self.users, self.user = folder / "users", user
        super().__init__(folder, f"allow_anonymous false\npassword_file {self.users}\n")
        self.users.touch()
        self.change_password(password)

    def change_password(self, password):
        """Takes effect at the next start."""
        subprocess.run(["mosquitto_passwd", "-b", self.users, self.user, password], check=True)
        self.password = password


class Daemon:
    """plainwaterd with a settings file."""

    def __init__(self, settings, store, topic, broker):
        self.settings, self.store, self.topic, self.broker = settings, store, topic, broker
        self.process, self.log = None, settings.with_suffix(".log")

    def start(self, past_backlog=True, more=(), env=None, program="plainwaterd"):
        """Starts it, with `more` arguments and in another environment, and waits for a heartbeat of this process that says
        online and that the backlog is drained. Without `past_backlog` it may not have subscribed yet: what is published
        then waits for it at the broker only if it has been there before."""
        with self.broker.client() as listener:
            heartbeats = listener.subscribe(self.topic)
            seen = len(heartbeats)
            self.spawn(more, env, program)

            def online():
                assert self.process.poll() is None, f"the daemon ended unexpectedly:\n{self.tail()}"
                states = [m.json() for m in heartbeats[seen:] if not m.retain]
                return any(s["state"] == "online" and not (past_backlog and s["backlog"]) for s in states)
            wait_for(online, f"{self.topic} to say online; log:\n{self.tail()}")

    def spawn(self, more=(), env=None, program="plainwaterd"):
        """Starts it without waiting for anything."""
        self.process = spawn(program, "--settings", self.settings, *more, log=self.log, env=env)

    def tail(self):
        return self.log.read_text()[-3000:] if self.log.exists() else ""

    def hear_a_night(self, *topics):
        """Before it starts: else its benches get plain water until their first night."""
        nights.hear_a_night(self, *topics)

    def stop(self):
        """Stops it properly; the exit code must be 0."""
        self.process.send_signal(signal.SIGTERM)
        code = self.process.wait(PATIENCE)
        assert code == 0, f"exit code {code} after SIGTERM:\n{self.tail()}"

    def kill(self):
        self.process.kill()
        self.process.wait(PATIENCE)

    def clean_up(self):
        if self.process and self.process.poll() is None:
            self.kill()

    def state(self):
        """The last heartbeat, as retained by the broker."""
        with self.broker.client() as client:
            messages = client.subscribe(self.topic)
            return wait_for(lambda: messages, "a retained heartbeat")[-1].json()


@pytest.fixture
def broker(tmp_path):
    broker = Broker(tmp_path)
    broker.start()
    yield broker
    broker.stop()
    print("The end of the broker's log:\n" + (tmp_path / "mosquitto.log").read_text()[-2000:])


@pytest.fixture
def life():
    """Notices each look that a service takes at its clock: daemon.start(env=life.env())."""
    listening = SystemdSocket()
    yield listening
    listening.close()


@pytest.fixture
def make_daemon(tmp_path, broker):
    """make_daemon(text): a daemon with these settings, whose {url} and {store} are filled in; not started."""
    made = []

    def make(text=SETTINGS, more="", name="testing"):
        store = tmp_path / f"{name}.db"
        settings = tmp_path / f"{name}.yaml"
        written = text.format(url=broker.url, store=store, more=more)
        # Tests run in parallel: only those of the pages have pages, each on its own port.
        if "\nboard:" not in written:
            written += 'board:\n  listen: ""\n'
        # Tests run at any hour, and cannot wait for a morning.
        if "\nnotices:" not in written:
            written += 'notices:\n  quiet: ""\n  digest: ""\n'
        settings.write_text(written)
        site = next(line.split(":", 1)[1].strip() for line in settings.read_text().splitlines() if line.strip().startswith("name:"))
        made.append(Daemon(settings, store, f"plainwater/{site}/service/main", broker))
        return made[-1]
    yield make
    for daemon in made:
        daemon.clean_up()
        print(f"The end of {daemon.log}:\n{daemon.tail()}")  # shown when the test failed


@pytest.fixture
def daemon(make_daemon):
    """A daemon with the small settings above, running on the machine's clock."""
    daemon = make_daemon()
    daemon.start()
    return daemon


@pytest.fixture
def fed_daemon(make_daemon):
    """The same, whose east bench was heard and may have feed."""
    daemon = make_daemon()
    daemon.hear_a_night()
    daemon.start()
    return daemon


@pytest.fixture
def client(broker):
    with broker.client() as client:
        yield client
