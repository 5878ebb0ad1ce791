"""People who sign in on the pages of a daemon, as their browsers do it."""
import json

from board import ask
from conftest import run

SECRET = "seven damp ferns"


def add_person(folder, name, role="care", secret=SECRET, *more):
    """By the command; the lines of the settings."""
    file = folder / f"{name}.secret"
    done = run("plainwater", "person", "add", name, "--role", role, "--secret-file", file, *more, input=secret + "\n")
    assert done.returncode == 0, done.stderr
    return f"  {name}:\n    secret_file: {file}\n    role: {role}\n"


def people(folder, **roles):
    """The section of the settings with these people."""
    return "people:\n" + "".join(add_person(folder, name, role) for name, role in roles.items())


def post(port, target, what, cookie=None, **changes):
    """A POST as our own page sends it; `changes` are fields, None leaves one out."""
    fields = {"Content_Type": "application/json", "Plainwater_Page": "1", "Origin": f"http://127.0.0.1:{port}", "Sec_Fetch_Site": "same-origin", "Cookie": cookie, **changes}
    body = what if isinstance(what, (str, bytes)) else json.dumps(what)
    return ask(port, target, "POST", body=body, **{name: value for name, value in fields.items() if value is not None})


def sign_in(port, name, secret=SECRET, **changes):
    return post(port, "/enter", {"name": name, "secret": secret}, **changes)


def cookie_of(reply):
    """The cookie that a browser sends from then on."""
    assert reply.status == 200, (reply.status, reply.body)
    return reply.fields["set-cookie"].split(";")[0]


def signed_in(port, name, secret=SECRET):
    return cookie_of(sign_in(port, name, secret))


def me(port, cookie=""):
    return ask(port, "/api/me", cookie=cookie).json()


def may_ask(port, cookie="", **changes):
    """Whether a request gets past the door; what it then asks for is another matter."""
    return post(port, "/api/requests/try", {"id": "t", "request": "hold", "bench": "east"}, cookie, **changes).status not in (401, 403, 405, 413, 415, 421, 429)
