"""Who may sign in on the pages of the real service, and what that lets them do. Attacks: test_attacks.py."""
import concurrent.futures
import http.client
import json
import pathlib
import stat

import pytest

from board import LISTEN, Events, ask, port_of
from conftest import run
from proxied import Nginx
from signing import SECRET, add_person, cookie_of, may_ask, me, people, post, sign_in, signed_in

TAKES_S = 40
THREE = {"ines": "care", "oskar": "keeper", "vera": "look"}


@pytest.fixture
def house(make_daemon, tmp_path):
    """A daemon with ines, oskar and vera; .port: its pages."""
    daemon = make_daemon(more=LISTEN + people(tmp_path, **THREE))
    daemon.start()
    daemon.port = port_of(daemon)
    return daemon


def reload(daemon, *changes):
    text = daemon.settings.read_text()
    for before, after in changes:
        assert before in text, before
        text = text.replace(before, after, 1)
    daemon.settings.write_text(text)
    done = run("plainwater", "reload", "--settings", daemon.settings, "--who", "a test")
    assert done.returncode == 0, done.stderr + daemon.tail()


def test_a_person_signs_in_acts_and_signs_out(house):
    port = house.port
    assert me(port) == {"name": None, "role": "look", "may_sign_in": True, "way": "open", "why_not": None}
    reply = sign_in(port, "ines")
    assert reply.json() == {"to": "/", "name": "ines", "role": "care"}
    value, *how = reply.fields["set-cookie"].split("; ")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(how) and "Secure" not in how
    cookie = cookie_of(reply)
    assert me(port, cookie) == {"name": "ines", "role": "care", "may_sign_in": True, "way": "person", "why_not": None}
    assert may_ask(port, cookie) and not may_ask(port)
    assert ask(port, "/", cookie=cookie).status == 200
    with Events(port, cookie=cookie) as events:
        assert events.next()[0] == "house"
        out = post(port, "/api/sign-out", {}, cookie)
        assert out.status == 200 and "Max-Age=0" in out.fields["set-cookie"]
        while events.next() is not None:  # until it is cut
            continue
    assert me(port, cookie)["way"] == "open" and not may_ask(port, cookie)
    log = house.log.read_text()
    assert "ines signed in from 127.0.0.1" in log and "ines signed out" in log
    assert SECRET not in log and value.split("=")[1] not in log


def test_wrong_secrets_are_late_counted_and_at_last_refused(house):
    port = house.port
    for number in range(10):
        name = ("ines", "nobody")[number % 2]
        reply = sign_in(port, name, "eight damp ferns")
        assert reply.status == 401 and "set-cookie" not in reply.fields and reply.json()["detail"].startswith("Name or secret is not right")
    stopped = sign_in(port, "ines")
    assert stopped.status == 429 and 0 < int(stopped.fields["retry-after"]) <= 600
    log = house.log.read_text()
    assert log.count("a wrong secret was given") == 1, "told, and not each time"
    assert "eight damp ferns" not in log


def test_many_who_sign_in_at_once_wait_or_are_told_so(house):
    """Each takes the work of a hash; the pages go on meanwhile."""
    with concurrent.futures.ThreadPoolExecutor(24) as pool:
        signing = [pool.submit(sign_in, house.port, "ines") for _ in range(24)]
        assert ask(house.port, "/api/now").status == 200
        replies = [one.result() for one in signing]
    statuses = {reply.status for reply in replies}
    assert 200 in statuses and statuses <= {200, 503}, statuses
    for reply in replies:
        if reply.status != 200:
            assert int(reply.fields["retry-after"]) >= 1
    sessions = ask(house.port, "/api/sessions", cookie=signed_in(house.port, "ines")).json()["sessions"]
    assert len(sessions) <= 10


def test_sessions_outlive_the_service_as_hashes_in_a_file_of_its_own(house):
    cookie = signed_in(house.port, "ines")
    gone = signed_in(house.port, "ines")
    assert post(house.port, "/api/sign-out", {}, gone).status == 200
    file = pathlib.Path(f"{house.store}.sessions")
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert cookie.split("=")[1] not in file.read_text() and [s["person"] for s in json.loads(file.read_text())["sessions"]] == ["ines"]
    house.kill()
    house.log.unlink()
    house.start()
    house.port = port_of(house)
    assert me(house.port, cookie)["name"] == "ines" and may_ask(house.port, cookie)
    assert me(house.port, gone)["way"] == "open"
    house.stop()
    file.write_text('{"version":1,"sessions":[{"id":')
    house.log.unlink()
    house.start()
    house.port = port_of(house)
    assert "the sessions are lost" in house.log.read_text() and str(file) in house.log.read_text()
    assert me(house.port, cookie)["way"] == "open"
    assert may_ask(house.port, signed_in(house.port, "ines"))


def test_one_sees_and_ends_one_s_own_sessions_and_a_keeper_all(house):
    port = house.port
    ines, phone, oskar = signed_in(port, "ines"), cookie_of(sign_in(port, "ines", User_Agent="Mozilla/5.0 (Android 14; Mobile; rv:125.0) Gecko/125.0 Firefox/125.0")), signed_in(port, "oskar")

    def sessions(cookie):
        return ask(port, "/api/sessions", cookie=cookie).json()["sessions"]
    assert [s["person"] for s in sessions(ines)] == ["ines"] * 2 and {s["person"] for s in sessions(oskar)} == {"ines", "oskar"}
    assert [s["browser"] for s in sessions(ines) if not s["this"]] == ["Firefox on Android"]
    of_phone, = [s["id"] for s in sessions(phone) if s["this"]]
    of_oskar, = [s["id"] for s in sessions(oskar) if s["this"]]
    assert post(port, "/api/sessions/end", {"id": of_oskar}, ines).status == 404
    assert ask(port, "/api/sessions").status == 403
    with Events(port, cookie=phone) as stream:
        assert post(port, "/api/sessions/end", {"id": of_phone}, ines).json() == {"ended": of_phone}
        while stream.next() is not None:
            continue
    assert not may_ask(port, phone) and may_ask(port, ines)
    of_ines, = [s["id"] for s in sessions(ines)]
    assert post(port, "/api/sessions/end", {"id": of_ines}, oskar).status == 200
    assert not may_ask(port, ines) and may_ask(port, oskar)


def test_a_reload_counts_at_once_for_those_who_are_signed_in(house, tmp_path):
    port = house.port
    ines, oskar, vera = (signed_in(port, name) for name in THREE)
    add_person(tmp_path, "ines", "care", "another secret", "--replace")
    with Events(port, cookie=ines) as cut, Events(port, cookie=oskar) as kept:
        reload(house, ("    role: keeper\n", "    role: look\n"), (f"  vera:\n    secret_file: {tmp_path}/vera.secret\n    role: look\n", ""))
        while cut.next() is not None:
            continue
        assert kept.until(lambda kind, data: kind == "alive") is not None
    assert me(port, ines)["way"] == "open", "her secret is another one"
    assert me(port, oskar)["role"] == "look" and not may_ask(port, oskar)
    assert me(port, vera)["way"] == "open"
    assert sign_in(port, "ines").status == 401 and sign_in(port, "vera").status == 401
    assert may_ask(port, signed_in(port, "ines", "another secret"))
    (tmp_path / "ines.secret").write_text("damaged\n")
    refused = run("plainwater", "reload", "--settings", house.settings, "--who", "a test")
    assert refused.returncode == 1 and "ines cannot sign in" in refused.stderr, refused.stderr
    assert may_ask(port, signed_in(port, "ines", "another secret")), "all is as before"


def test_a_withdrawn_token_cuts_those_who_read_by_it(make_daemon, tmp_path):
    token = tmp_path / "token"
    token.write_text("tern-bank-0123456789\n")
    token.chmod(0o600)
    daemon = make_daemon(more=LISTEN + f"  token_file: {token}\n" + people(tmp_path, ines="care"))
    daemon.start()
    port = port_of(daemon)
    bearer = "Bearer tern-bank-0123456789"
    assert ask(port, "/api/me").status == 401 and ask(port, "/api/me", authorization=bearer).json()["way"] == "token"
    cookie = signed_in(port, "ines")
    assert ask(port, "/api/now", cookie=cookie).status == 200, "a name lets read too"
    with Events(port, authorization=bearer) as by_token, Events(port, cookie=cookie) as by_name:
        token.write_text("tern-bank-another-one\n")
        reload(daemon)
        while by_token.next() is not None:
            continue
        assert by_name.until(lambda kind, data: kind == "alive") is not None
    assert ask(port, "/api/now", authorization=bearer).status == 401


def test_the_machine_s_keeper_acts_without_a_name_where_that_is_trusted(make_daemon):
    daemon = make_daemon(more=LISTEN + "  trust_loopback: true\n")
    daemon.start()
    port = port_of(daemon)
    assert me(port) == {"name": "this machine's keeper", "role": "keeper", "may_sign_in": False, "way": "machine", "why_not": None}
    assert may_ask(port)
    assert may_ask(port, Host=f"localhost:{port}", Origin=f"http://localhost:{port}")
    # What came through a proxy that the settings do not know of may come from anywhere.
    assert not may_ask(port, X_Forwarded_For="192.0.2.7")
    assert not may_ask(port, Origin="http://127.0.0.1:1"), "another program of this machine"


def test_behind_the_proxy_that_we_ship_people_sign_in_over_tls(make_daemon, tmp_path):
    daemon = make_daemon(more=LISTEN + "  behind_proxy: true\n  address: https://greenhouse.example\n" + people(tmp_path, ines="care"))
    daemon.start()
    port = port_of(daemon)
    assert sign_in(port, "ines").status == 403, "not in clear, past the proxy"
    nginx = Nginx(tmp_path / "nginx", port)
    try:
        def through(method, target, body=None, cookie="", **more):
            connection = http.client.HTTPConnection("greenhouse.example")
            connection.sock = nginx.connect()
            fields = {"Host": "greenhouse.example", "Origin": "https://greenhouse.example", "Content-Type": "application/json", "Plainwater-Page": "1", "Cookie": cookie,
                      "X-Forwarded-For": "203.0.113.9", **more}
            connection.request(method, target, body, fields)
            answer = connection.getresponse()
            text = answer.read()
            connection.close()
            return answer, text
        answer, text = through("POST", "/enter", json.dumps({"name": "ines", "secret": SECRET}))
        assert answer.status == 200, text
        assert answer.getheader("strict-transport-security")
        cookie = answer.getheader("set-cookie")
        assert cookie.startswith("__Host-plainwater-person=") and "; Secure" in cookie and "; Path=/;" in cookie
        cookie = cookie.split(";")[0]
        assert json.loads(through("GET", "/api/me", cookie=cookie)[1])["name"] == "ines"
        session, = json.loads(through("GET", "/api/sessions", cookie=cookie)[1])["sessions"]
        assert session["address"] == "127.0.0.1", "not what the visitor wrote"
        assert through("POST", "/api/sign-out", "{}", cookie, Origin="http://greenhouse.example")[0].status == 403
        assert through("POST", "/enter", "x" * 9000)[0].status == 413
        with nginx.connect() as stream:
            stream.sendall(f"GET /api/events HTTP/1.1\r\nHost: greenhouse.example\r\nCookie: {cookie}\r\n\r\n".encode())
            seen = b""
            while b"event: alive" not in seen:
                seen += stream.recv(65536)
        moved = ask(nginx.clear, "/wall", host="greenhouse.example")
        assert moved.status == 301 and moved.fields["location"] == "https://greenhouse.example/wall"
        assert json.loads(through("POST", "/api/sign-out", "{}", cookie)[1]) == {}
    finally:
        nginx.stop()
