"""The pages of a daemon as a reader sees them: addresses from its log, requests, live events."""
import http.client
import json
import re
import socket
import time

from conftest import PATIENCE, wait_for

LISTEN = 'board:\n  listen: "127.0.0.1:0"\n'


def port_of(daemon):
    """Read from the log line that is written at the start."""
    found = wait_for(lambda: re.search(r"pages on http://127\.0\.0\.1:(\d+)/", daemon.tail()), f"the address of the pages; log:\n{daemon.tail()}")
    return int(found.group(1))


class Reply:
    """Status, header fields in lower case, body."""

    def __init__(self, answer):
        self.status, self.body = answer.status, answer.read()
        self.fields = {name.lower(): value for name, value in answer.getheaders()}

    def json(self):
        return json.loads(self.body)


def ask(port, target, method="GET", body=None, connection=None, **fields):
    """One request; write _ for - in field names. On a connection of its own, or on a given one."""
    own = connection or http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    own.request(method, target, body, {name.replace("_", "-"): value for name, value in fields.items()})
    reply = Reply(own.getresponse())
    if connection is None:
        own.close()
    return reply


class Events:
    """A viewer of /api/events."""

    def __init__(self, port, patience=PATIENCE, **fields):
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=patience)
        more = "".join(f"{name.replace('_', '-')}: {value}\r\n" for name, value in fields.items())
        self.socket.sendall(f"GET /api/events HTTP/1.1\r\nHost: localhost\r\n{more}\r\n".encode())
        self.file = self.socket.makefile("rb")
        self.status = int(self.file.readline().split()[1])
        self.fields = {}
        for line in iter(self.file.readline, b"\r\n"):
            name, value = line.decode().rstrip().split(": ", 1)
            self.fields[name.lower()] = value

    def next(self):
        """(kind, data); None at the end of the stream. Skips comments."""
        kind = data = None
        for line in self.file:
            name, _, value = line.decode().rstrip("\n").partition(": ")
            if name == "event":
                kind = value
            elif name == "data":
                data = json.loads(value)
            elif line == b"\n" and kind:
                return kind, data
        return None

    def until(self, fits, patience=PATIENCE):
        """The data of the first matching event, and the seconds it took."""
        begin = time.monotonic()
        self.socket.settimeout(patience)
        while True:
            event = self.next()
            assert event is not None, "the stream ended"
            if fits(*event):
                return event[1], time.monotonic() - begin

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()
        self.socket.close()
