"""Requests to the pages of a daemon, as a page sends them."""
import itertools
import json

from board import ask

TRUSTING = 'board:\n  listen: "127.0.0.1:0"\n  trust_loopback: true\n'
KEEPER = "this machine's keeper"
_IDS = itertools.count(1)


def fresh_id():
    return f"page-{next(_IDS)}"


def post(port, body, target="/api/requests", **fields):
    """One request with all that the door asks for; body as it is, or as JSON."""
    text = body if isinstance(body, (str, bytes)) else json.dumps(body)
    fields = {"content_type": "application/json", "plainwater_page": "1", "origin": f"http://127.0.0.1:{port}", **fields}
    return ask(port, target, "POST", text, **fields)


def real(port, fields=(), **wish):
    """The answer to a request, which must be one; `fields`: more of the header, as of who has signed in."""
    reply = post(port, {"id": fresh_id(), **wish}, **dict(fields))
    assert reply.status == 200, reply.body
    return reply.json()


def tried(port, fields=(), **wish):
    reply = post(port, {"id": fresh_id(), **wish}, "/api/requests/try", **dict(fields))
    assert reply.status == 200, reply.body
    return reply.json()


def taken_back(port, answer):
    assert answer["undo"], answer
    return real(port, **answer["undo"]["request"])


def bench(port, name):
    return ask(port, f"/api/benches/{name}").json()
