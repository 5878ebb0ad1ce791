"""The pages of the real service over real sockets: who may read, the cost, hostile clients, live events."""
import gzip
import http.client
import os
import socket
import time

import pytest

from board import LISTEN, Events, ask, port_of
from clock import in_days
from conftest import PATIENCE, free_port, wait_for
from houses import PLAYED, SMALL, TRUSTED
from signing import post

TAKES_S = 55

REQUESTS = "plainwater/testing/requests"
TOKEN = "tern-bank-0123456789"
GUARDS = {"x-content-type-options": "nosniff", "referrer-policy": "no-referrer", "cross-origin-opener-policy": "same-origin",
          "cross-origin-resource-policy": "same-origin", "vary": "Accept-Encoding"}
POLICY = ("default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; base-uri 'none'; "
          "form-action 'self'; frame-ancestors 'none'")


@pytest.fixture
def shown(make_daemon, life):
    """A daemon with pages at .port."""
    daemon = make_daemon(more=LISTEN)
    daemon.start(env=life.env())
    daemon.port = port_of(daemon)
    return daemon


def held(client, bench, days=20):
    """Requests a hold; returns when it is obeyed."""
    reply = client.ask(REQUESTS, {"id": f"hold-{bench}", "who": "a test", "request": "hold", "bench": bench, "until": in_days(days)})
    assert reply["done"], reply


def named(data, bench):
    return bench in (data.get("bench"), data.get("name"))


def test_every_answer_has_security_headers(shown):
    for target, method in [("/", "GET"), ("/api/now", "GET"), ("/nowhere", "GET"), ("/api/now", "DELETE"), ("/api/now", "POST"), ("/", "HEAD"), ("/a%", "GET")]:
        reply = ask(shown.port, target, method)
        assert reply.fields["content-security-policy"] == POLICY, target
        for name, value in GUARDS.items():
            assert reply.fields[name] == value, (target, name)
    assert "server" not in reply.fields


def test_a_known_tag_gets_304_and_gzip_has_its_own(shown):
    first = ask(shown.port, "/")
    zipped = ask(shown.port, "/", accept_encoding="gzip")
    assert first.status == zipped.status == 200 and first.fields["content-type"].startswith("text/html")
    again = ask(shown.port, "/", if_none_match=first.fields["etag"])
    assert (again.status, again.body) == (304, b"")
    assert zipped.fields["content-encoding"] == "gzip"
    assert gzip.decompress(zipped.body) == first.body
    assert zipped.fields["etag"] != first.fields["etag"]
    assert ask(shown.port, "/", accept_encoding="gzip", if_none_match=zipped.fields["etag"]).status == 304
    head = ask(shown.port, "/", "HEAD")
    assert head.body == b"" and head.fields["content-length"] == str(len(first.body))


def test_one_connection_serves_many_requests(shown):
    connection = http.client.HTTPConnection("127.0.0.1", shown.port, timeout=PATIENCE)
    for _ in range(50):
        assert ask(shown.port, "/api/now", connection=connection).status == 200
    connection.close()


def test_host_names_that_others_can_own_get_nothing(shown):
    assert ask(shown.port, "/api/now", host=f"localhost:{shown.port}").status == 200
    reply = ask(shown.port, "/api/now", host="evil.example")
    assert reply.status == 421 and "board.address" in reply.json()["detail"]


def test_too_large_requests_are_refused(shown):
    assert ask(shown.port, "/enter", "POST", body="x" * 100_000).status == 413
    assert ask(shown.port, "/" + "x" * 3000).status == 414
    assert ask(shown.port, "/" + "x" * 30_000).status == 414
    assert ask(shown.port, "/", x="y" * 30_000).status == 431
    assert ask(shown.port, "/", "PUT").fields["allow"] == "GET, HEAD"


def test_a_trickling_request_is_dropped_while_others_are_served(shown, life):
    with socket.create_connection(("127.0.0.1", shown.port), timeout=PATIENCE) as drip:
        drip.sendall(b"GET / HTTP/1.1\r\n")
        begun, answer = len(life.alive), b""
        while not answer and len(life.alive) < begun + 30:
            assert ask(shown.port, "/").status == 200
            try:
                drip.sendall(b"X: y\r\n")
                drip.settimeout(0.5)
                answer = drip.recv(1000)
            except TimeoutError:
                continue
        # It counts seconds by its own looks at the clock.
        assert answer.startswith(b"HTTP/1.1 408") and 9 <= len(life.alive) - begun <= 13


@pytest.fixture
def guarded(make_daemon, tmp_path):
    """A daemon whose pages require a token."""
    file = tmp_path / "token"
    file.write_text(TOKEN + "\n")
    file.chmod(0o640)
    daemon = make_daemon(more=LISTEN + f"  token_file: {file}\n")
    daemon.start()
    daemon.port = port_of(daemon)
    return daemon


def test_the_token_works_in_the_form_and_in_a_field(guarded):
    port = guarded.port
    assert ask(port, "/api/now").status == 401
    assert ask(port, "/api/events").status == 401
    assert ask(port, "/api/now", authorization=f"Bearer {TOKEN}").status == 200
    reply = ask(port, "/bench/east")
    assert reply.status == 303 and reply.fields["location"] == "/enter?to=%2Fbench%2Feast"
    assert ask(port, "/enter").status == 200 and ask(port, "/files/enter.js").status == 200

    begin = time.monotonic()
    wrong = post(port, "/enter", {"token": "guessed-0123456789"})
    assert wrong.status == 401 and "set-cookie" not in wrong.fields
    assert post(port, "/api/requests", {}, authorization="Bearer guessed-0123456789").status == 401
    assert time.monotonic() - begin >= 1.9
    wait_for(lambda: "a wrong token was given" in guarded.log.read_text(), "the log to mention it")
    assert ask(port, "/api/now", authorization="Bearer guessed-0123456789").status == 401
    assert guarded.log.read_text().count("a wrong token was given (1 since the start; the last from 127.0.0.1)") == 1, "logged, and not each time"

    right = post(port, "/enter", {"token": TOKEN, "to": "/bench/east"})
    assert right.status == 200 and right.json() == {"to": "/bench/east"}
    cookie, *how = right.fields["set-cookie"].split("; ")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(how) and TOKEN not in cookie
    assert ask(port, "/api/now", cookie=cookie).status == 200
    with Events(port, cookie=cookie) as events:
        assert events.status == 200
    assert TOKEN not in guarded.log.read_text()


@pytest.mark.parametrize("text, says", [(None, "cannot read the file"), ("", "is empty"), ("short\n", "too short")])
def test_an_unusable_token_file_ends_the_start(make_daemon, tmp_path, text, says):
    file = tmp_path / "token"
    if text is not None:
        file.write_text(text)
        file.chmod(0o640)
    daemon = make_daemon(more=LISTEN + f"  token_file: {file}\n")
    daemon.spawn()
    assert daemon.process.wait(PATIENCE) == 1
    assert says in daemon.tail() and str(file) in daemon.tail()


def test_a_decision_reaches_viewers_within_a_second(shown, client):
    with Events(shown.port) as events, Events(shown.port) as other:
        assert events.fields["content-type"] == "text/event-stream"
        assert events.next()[0] == "house"
        held(client, "east")
        data, took = events.until(lambda kind, data: kind == "bench" and named(data, "east"))
        event, _ = events.until(lambda kind, data: kind == "ledger")
        assert event["decided"] >= 1
        assert other.until(lambda kind, data: kind == "bench" and named(data, "east"))[0] == data
        tried = 0
        while took >= 1 and tried < 5:  # again, when the machine was busy
            tried += 1
            what = {"request": "release", "full": True} if tried % 2 else {"request": "hold"}
            assert client.ask(REQUESTS, {"id": f"again-{tried}", "who": "a test", "bench": "east", **what})["done"]
            _, took = events.until(lambda kind, data: kind == "bench" and named(data, "east") and bool(data["hold"]) == (tried % 2 == 0))
        assert took < 1
    held(client, "west")
    assert ask(shown.port, "/api/now").status == 200


def test_a_decision_is_in_the_next_answer(shown, client):
    before = ask(shown.port, "/api/now")
    held(client, "east")
    after = ask(shown.port, "/api/now", if_none_match=before.fields["etag"])
    assert after.status == 200 and after.body != before.body


def test_a_port_in_use_does_not_stop_the_service(make_daemon):
    with socket.socket() as taken:
        port = free_port()
        taken.bind(("127.0.0.1", port))
        taken.listen()
        daemon = make_daemon(more=f'board:\n  listen: "127.0.0.1:{port}"\n')
        daemon.start()
        lines = wait_for(lambda: [line for line in daemon.tail().splitlines() if "no pages" in line], "a line about the port")
        assert "another program has this port" in lines[0]
        assert daemon.state()["state"] == "online"
    assert port_of(daemon) == port  # retried
    assert ask(port, "/").status == 200
    assert daemon.tail().count("no pages") == 1


def test_too_many_readers_are_refused(shown):
    readers = [socket.create_connection(("127.0.0.1", shown.port), timeout=PATIENCE) for _ in range(512)]
    last = wait_for(lambda: (reply := ask(shown.port, "/")).status == 503 and reply, "a closed door")
    assert last.fields["connection"] == "close"
    for reader in readers:
        reader.close()
    wait_for(lambda: ask(shown.port, "/").status == 200, "an open door")


def test_420_readers_that_do_not_read_delay_nobody(shown, client, life):
    """They ask for more than fits into their sockets and read nothing. Decisions go on, others are served, and their memory is
    freed soon after they leave: within 15 looks of the service at its clock, one a second."""
    asks = b"GET /api/now HTTP/1.1\r\nHost: localhost\r\n\r\n" * 5 + b"GET /api/events HTTP/1.1\r\nHost: localhost\r\n\r\n"
    readers = []
    for _ in range(420):
        reader = socket.socket()
        reader.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        reader.settimeout(PATIENCE)
        reader.connect(("127.0.0.1", shown.port))
        reader.sendall(asks)
        readers.append(reader)
    reply = client.ask(REQUESTS, {"id": "hold-420", "who": "Ines", "request": "hold", "bench": "east", "until": in_days(20)})
    assert reply["done"], reply
    # A reader that asks while earlier answers are still being made may have to ask again.
    wait_for(lambda: ask(shown.port, "/api/now").status == 200, "an answer to somebody else")
    life.looks(3)

    def files():
        return len(os.listdir(f"/proc/{shown.process.pid}/fd"))
    assert files() > 100, "they are still there"
    for reader in readers:
        reader.close()
    begun = len(life.alive)
    wait_for(lambda: files() < 60, "their connections to be gone")
    assert ask(shown.port, "/api/now").status == 200
    assert len(life.alive) - begun <= 15


def test_it_stops_with_readers_connected(shown):
    with Events(shown.port) as viewer, socket.create_connection(("127.0.0.1", shown.port)) as silent:
        viewer.next()
        begin = time.monotonic()
        shown.stop()
        assert time.monotonic() - begin < 5
        assert viewer.next() is None and silent.recv(1) == b""


def test_no_pages_when_none_are_wanted(daemon):
    """Its settings disable them: see make_daemon."""
    wait_for(lambda: "backlog is drained" in daemon.tail(), "the end of the start")
    assert "pages on" not in daemon.tail() and "no pages" not in daemon.tail()


def test_the_ledger_as_csv_comes_in_pieces(shown, client):
    held(client, "east")
    reply = ask(shown.port, "/api/ledger.csv")
    assert reply.status == 200 and reply.fields["transfer-encoding"] == "chunked"
    lines = reply.body.decode().split("\r\n")
    assert lines[0].startswith("id,time,bench") and any(",east," in line for line in lines[1:])
    assert ask(shown.port, "/api/ledger.csv", "HEAD").body == b""


def test_pages_work_with_time_from_the_readings(make_daemon, client):
    daemon = make_daemon(SMALL.replace(TRUSTED, PLAYED), more=LISTEN)
    daemon.start()
    port = port_of(daemon)
    assert ask(port, "/").status == 200
    assert ask(port, "/api/now").status in (200, 503)  # no reading has set the time yet
    with Events(port) as events:
        assert events.status == 200
        for day in range(1, 29):
            for hour in range(0, 24, 2):
                client.publish("house/east/air", f'{{"t": {20 if day < 20 else 4}, "rh": 60, "time": "2026-09-{day:02}T{hour:02}:00:00Z"}}')
        events.until(lambda kind, data: kind == "bench" and named(data, "east") and "2026-09-2" in str(data))
    assert ask(port, "/api/season").status == 200
