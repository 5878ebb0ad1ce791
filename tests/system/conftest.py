"""Fixtures: a private broker, the real daemon, settings, an MQTT 5 client. All on loopback, all in a fresh folder.

PLAINWATER_BIN names the folder with the binaries; build/release/bin when it is not set.
Nothing here sleeps for a fixed time and hopes: wait_for polls with a deadline.
"""
import os
import pathlib
import shutil
import signal
import socket
import subprocess
import time

import pytest

from mqtt5 import Client

ROOT = pathlib.Path(__file__).resolve().parents[2]
BIN = pathlib.Path(os.environ.get("PLAINWATER_BIN", ROOT / "build" / "release" / "bin"))
PATIENCE = int(os.environ.get("PLAINWATER_TEST_PATIENCE", "30"))  # seconds, for things that take milliseconds on a machine with nothing else to do


def wait_for(condition, what, patience=PATIENCE):
    """The first true value of condition(); fails after `patience` seconds."""
    deadline = time.monotonic() + patience
    while True:
        value = condition()
        if value:
            return value
        if time.monotonic() > deadline:
            pytest.fail(f"waited {patience} s for {what}")
        time.sleep(0.02)


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def run(program, *arguments, **options):
    """Runs one of our programs to its end; the result has returncode, stdout and stderr."""
    return subprocess.run([BIN / program, *map(str, arguments)], capture_output=True, text=True, timeout=300, **options)


class Broker:
    """A mosquitto of our own. Its persistence lets it be killed and started again."""

    user = password = None

    def __init__(self, folder, more="allow_anonymous true\n"):
        """`more` lines of its configuration come after those of the listener."""
        self.folder, self.port, self.process = folder, free_port(), None
        self.url = f"mqtt://127.0.0.1:{self.port}"
        (folder / "mosquitto.conf").write_text(
            f"listener {self.port} 127.0.0.1\n{more}persistence true\npersistence_location {folder}/\n"
            # Started by root, mosquitto becomes a user who may not write here, and then forgets what it had accepted.
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
            self.process.terminate()
            self.process.wait(PATIENCE)

    def kill(self):
        self.process.kill()
        self.process.wait(PATIENCE)

    def client(self):
        """A connected client, to be used as a context."""
        return Client(self.port, self.user, self.password)


class GuardedBroker(Broker):
    """A broker that wants a user and a password."""

    def __init__(self, folder, user, password):
        self.users, self.user = folder / "users", user
        super().__init__(folder, f"allow_anonymous false\npassword_file {self.users}\n")
        self.users.touch()
        self.change_password(password)

    def change_password(self, password):
        """Counts from its next start on."""
        subprocess.run(["mosquitto_passwd", "-b", self.users, self.user, password], check=True)
        self.password = password


class Daemon:
    """plainwaterd on a settings file."""

    def __init__(self, settings, store, topic, broker):
        self.settings, self.store, self.topic, self.broker = settings, store, topic, broker
        self.process, self.log = None, settings.with_suffix(".log")

    def start(self, past_backlog=True, more=(), env=None, program=BIN / "plainwaterd"):
        """Starts it, with `more` arguments and in another environment, and waits for a heartbeat of this process that says online, and that the backlog is drained."""
        with self.broker.client() as listener:
            heartbeats = listener.subscribe(self.topic)
            seen = len(heartbeats)
            self.spawn(more, env, program)

            def online():
                assert self.process.poll() is None, f"the daemon ended by itself:\n{self.tail()}"
                states = [m.json() for m in heartbeats[seen:] if not m.retain]
                return any(s["state"] == "online" and not (past_backlog and s["backlog"]) for s in states)
            wait_for(online, f"{self.topic} to say online; log:\n{self.tail()}")

    def spawn(self, more=(), env=None, program=BIN / "plainwaterd"):
        """Starts it and waits for nothing."""
        self.process = subprocess.Popen([program, "--settings", self.settings, *more], stdout=open(self.log, "a"), stderr=subprocess.STDOUT, env=env)

    def tail(self):
        return self.log.read_text()[-3000:] if self.log.exists() else ""

    def stop(self):
        """An orderly stop; the exit code must be 0."""
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
        """The last heartbeat, as the broker keeps it."""
        with self.broker.client() as client:
            messages = client.subscribe(self.topic)
            return wait_for(lambda: messages, "a retained heartbeat")[-1].json()


SETTINGS = """\
site:
  name: testing
  latitude: 52.2
  longitude: -2.1
  time_zone: Europe/London
broker:
  url: {url}
store:
  path: {store}
  durability: process
sensors:
  east-air:
    topic: house/east/air
    form: json
    temperature: /t
    humidity: /rh
    time: /time
  west-air:
    topic: house/west/air
    form: number
    quantity: temperature
benches:
  east:
    group: intermediate
    sensors: [east-air]
  west:
    group: warm
    sensors: [west-air]
pumps:
  east:
    benches: [east]
{more}"""


@pytest.fixture
def broker(tmp_path):
    broker = Broker(tmp_path)
    broker.start()
    yield broker
    broker.stop()


@pytest.fixture
def make_daemon(tmp_path, broker):
    """make_daemon(text): a daemon on these settings, with {url} and {store} to be filled in; not started."""
    made = []

    def make(text=SETTINGS, more="", name="testing"):
        store = tmp_path / f"{name}.db"
        settings = tmp_path / f"{name}.yaml"
        written = text.format(url=broker.url, store=store, more=more)
        # Tests run beside each other: only those of the pages have any, each on a port of its own.
        if "\nboard:" not in written:
            written += 'board:\n  listen: ""\n'
        # Tests run at any hour of the day, and wait for no morning.
        if "\nnotices:" not in written:
            written += 'notices:\n  quiet: ""\n  digest: ""\n'
        settings.write_text(written)
        site = next(line.split(":", 1)[1].strip() for line in settings.read_text().splitlines() if line.strip().startswith("name:"))
        made.append(Daemon(settings, store, f"plainwater/{site}/service/main", broker))
        return made[-1]
    yield make
    for daemon in made:
        daemon.clean_up()


@pytest.fixture
def daemon(make_daemon):
    """A daemon on the small settings above, running on the machine's clock."""
    daemon = make_daemon()
    daemon.start()
    return daemon


@pytest.fixture
def client(broker):
    with broker.client() as client:
        yield client
