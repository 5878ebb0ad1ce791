"""The house's broker and the outer one, as deploy/broker/setup makes them, on loopback.

Only changed where a test needs it: ports, a steady retry of the bridge, and that the broker keeps the user who runs it."""
import re
import shutil
import signal
import socket
import ssl
import subprocess
import threading

import paho.mqtt.client as paho
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from conftest import ROOT, end, free_port, wait_for
from mqtt5 import PATIENCE, Client, Message

SITE = "testing"
BASE = f"plainwater/{SITE}"


# Seconds between two attempts of the bridge. Not fewer: after more than a few failed attempts mosquitto 2.0.11 spins
# for ever, and on a loaded machine a link may stay cut for long.
RETRY_S = 6


def deploy(folder, *more, check=True):
    """Runs deploy/broker/setup into `folder`, with everything on this machine."""
    data = folder / "data"
    data.mkdir(exist_ok=True)
    done = subprocess.run([ROOT / "deploy/broker/setup", "--site", SITE, "--folder", folder / "made", "--house", "localhost", "--outer", "localhost",
                           "--bind", "127.0.0.1", "--house-at", folder / "made/house", "--outer-at", folder / "made/outer", "--data", data, *map(str, more)],
                          capture_output=True, text=True)
    assert not check or done.returncode == 0, done.stderr
    return done


def edit(path, *changes):
    """Each change is (old text, new text); a missing old text is a mistake of the test."""
    text = path.read_text()
    for old, new in changes:
        text, times = re.subn(old, new, text, flags=re.MULTILINE)
        assert times == 1, f"{path}: {old} is there {times} times"
    path.write_text(text)


class Deployed:
    """One of the two brokers, `name` house or outer. Its log goes to a file."""

    def __init__(self, folder, name, tls_port, plain_port=None):
        self.made, self.name, self.tls_port, self.plain_port = folder / "made", name, tls_port, plain_port
        self.log, self.process = folder / f"{name}.log", None
        self.certificate_authority = self.made / name / "ca.pem"

    def password(self, user):
        return (self.made / "passwords" / f"{self.name}-{user}").read_text().strip()

    def start(self):
        program = shutil.which("mosquitto", path="/usr/sbin:/usr/bin:/usr/local/sbin")
        configuration = self.made / self.name / f"{self.name}.conf"
        if "user root" not in configuration.read_text():
            # Started by root it would change to a user who may not read a test's folder.
            configuration.write_text("user root\n" + configuration.read_text())
        with open(self.log, "a") as log:
            self.process = subprocess.Popen([program, "-c", configuration], stdout=log, stderr=subprocess.STDOUT)
        wait_for(self.answers, f"the {self.name} broker's port")

    def answers(self):
        assert self.process.poll() is None, self.log.read_text()
        with socket.socket() as s:
            return s.connect_ex(("127.0.0.1", self.tls_port)) == 0

    def save(self):
        """Saves, as autosave does once a minute."""
        self.process.send_signal(signal.SIGUSR1)

    def kill(self):
        self.process.kill()
        self.process.wait(PATIENCE)

    def stop(self):
        """At a test's end. A mosquitto whose bridge is just connecting sometimes ignores SIGTERM: it is not what is tested."""
        if self.process and self.process.poll() is None:
            try:
                end(self.process)
            except subprocess.TimeoutExpired:
                print(f"mosquitto of {self.name} ignored SIGTERM and was killed")

    def client(self, user="plainwater"):
        return SecureClient(self.tls_port, self.certificate_authority, user, user and self.password(user))


class SecureClient(Client):
    """A client over TLS that also records the reason code of each acknowledgement."""

    def __init__(self, port, authority, user, password, client_id=""):
        self.client = paho.Client(client_id=client_id, protocol=paho.MQTTv5)
        self.client.tls_set(str(authority), tls_version=ssl.PROTOCOL_TLS_CLIENT)
        if user:
            self.client.username_pw_set(user, password)
        self.collected, self.subscribed, self.connected, self.answer = {}, threading.Event(), threading.Event(), None
        self.arrived = []
        self.client.on_message = lambda _client, _data, raw: self._collect(Message(raw))
        self.client.on_subscribe = lambda *_: self.subscribed.set()
        self.client.on_connect = self._on_connect
        self.client.connect("localhost", port)
        self.client.loop_start()
        assert self.connected.wait(PATIENCE), "no answer of the broker"

    def _on_connect(self, _client, _data, _flags, reason, _properties=None):
        self.answer = reason
        self.connected.set()

    def _collect(self, message):
        self.arrived.append(message)
        for topic_filter, messages in list(self.collected.items()):  # further topics may be subscribed to meanwhile
            if paho.topic_matches_sub(topic_filter, message.topic):
                messages.append(message)

    def send(self, topic, payload, qos=1, retain=False, expiry_s=None, wait=True):
        properties = None
        if expiry_s:
            properties = Properties(PacketTypes.PUBLISH)
            properties.MessageExpiryInterval = expiry_s
        sent = self.client.publish(topic, payload, qos=qos, retain=retain, properties=properties)
        if wait:
            sent.wait_for_publish(PATIENCE)
            assert sent.is_published(), topic
        return sent


class Pair:
    """Both brokers, and a proxy between them on which the bridge's link can be cut."""

    def __init__(self, folder, proxy_class, *more):
        ports = {"loopback": free_port(), "house": free_port(), "outer": free_port()}
        deploy(folder, "--loopback-port", ports["loopback"], "--house-port", ports["house"], "--outer-port", ports["outer"], *more)
        self.folder, self.proxy = folder, proxy_class(ports["outer"], reads=False)
        self.house = Deployed(folder, "house", ports["house"], ports["loopback"])
        self.outer = Deployed(folder, "outer", ports["outer"])
        self.bridge = folder / "made/house/bridge/bridge.conf"
        edit(self.bridge, (r"^address .*$", f"address localhost:{self.proxy.port}"), (r"^restart_timeout .*$", f"restart_timeout {RETRY_S} {RETRY_S}"))

    def __enter__(self):
        self.outer.start()
        self.house.start()
        return self

    def __exit__(self, *_):
        # First, because a bridge that waits for an answer from there does not react to a stop.
        self.proxy.close()
        self.house.stop()
        self.outer.stop()

    def cut(self):
        self.proxy.refusing = True
        self.proxy.cut()
        wait_for(lambda: not self.proxy.open, "the link to be gone")

    def heal(self):
        self.proxy.refusing = False
