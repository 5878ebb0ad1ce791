"""What other pages, other programs and strangers try against the door of the pages, printed as a table."""
from board import LISTEN, ask, port_of
from signing import SECRET, cookie_of, me, people, post, sign_in, signed_in


def attacks(port, cookie, ended, token):
    """(what is tried, its reply, the status that it must have)."""
    def requests(*given, **changes):
        return post(port, "/api/requests", {"id": "a", "request": "hold", "bench": "east"}, *given, **changes)
    form = {"Content_Type": "application/x-www-form-urlencoded", "Plainwater_Page": None}
    yield "another origin's page, with the cookie", requests(cookie, Origin="http://evil.example"), 403
    yield "a page of another port of this machine", requests(cookie, Origin="http://127.0.0.1:1"), 403
    yield "a page in a sandbox (origin null)", requests(cookie, Origin="null"), 403
    yield "no Origin", requests(cookie, Origin=None), 403
    yield "two origins", requests(cookie, Origin=f"http://127.0.0.1:{port}, http://evil.example"), 403
    yield "the browser says cross-site", requests(cookie, Sec_Fetch_Site="cross-site"), 403
    yield "the browser says same-site (another port)", requests(cookie, Sec_Fetch_Site="same-site"), 403
    yield "no Plainwater-Page", requests(cookie, Plainwater_Page=None), 403
    yield "a form", post(port, "/api/requests", "request=hold&bench=east", cookie, **form), 415
    yield "a form with text/plain that looks like JSON", requests(cookie, Content_Type="text/plain"), 415
    yield "a form with files", requests(cookie, Content_Type="multipart/form-data; boundary=x"), 415
    yield "GET", ask(port, "/api/requests?request=hold&bench=east", cookie=cookie), 405
    yield "HEAD", ask(port, "/api/requests", "HEAD", cookie=cookie), 405
    yield "GET that signs out", ask(port, "/api/sign-out", cookie=cookie), 405
    yield "GET that ends a session", ask(port, "/api/sessions/end?id=0", cookie=cookie), 405
    yield "PUT", ask(port, "/api/requests", "PUT", body="{}", cookie=cookie), 405
    yield "another path", post(port, "/api/now", {}, cookie), 405
    yield "a forged Host (DNS rebinding)", requests(cookie, Host="evil.example", Origin="http://evil.example"), 421
    yield "Host that only begins like ours", requests(cookie, Host="127.0.0.1.evil.example", Origin="http://127.0.0.1.evil.example"), 421
    yield "no cookie", requests(None), 403
    yield "a wrong cookie", requests("plainwater-person=" + "0" * 64), 403
    yield "an empty cookie", requests("plainwater-person="), 403
    yield "the hash that is kept, as the cookie", requests("plainwater-person=" + "f" * 64 + "; plainwater=x"), 403
    yield "the cookie of a TLS house", requests(cookie.replace("plainwater-person", "__Host-plainwater-person")), 403
    yield "a session that has ended, replayed", requests(ended), 403
    yield "the readers' token used to act", requests(None, Authorization=f"Bearer {token}"), 403
    yield "role look acts", requests(signed_in(port, "vera")), 403
    yield "a body of 9 KiB", post(port, "/api/requests", "x" * 9216, cookie), 413
    yield "JSON that is none, to sign in", post(port, "/enter", "{"), 400
    yield "fields that are no texts, to sign in", post(port, "/enter", {"name": ["ines"], "secret": {"$ne": ""}}), 400
    yield "a wrong secret", sign_in(port, "ines", "eight damp ferns"), 401
    yield "no secret", sign_in(port, "ines", ""), 401
    yield "the hash as the secret", sign_in(port, "ines", token), 401
    yield "a name that nobody has", sign_in(port, "nobody"), 401
    yield "a name with a line end", sign_in(port, "ines\r\nSet-Cookie: plainwater-person=x"), 401
    yield "signing in from another origin", sign_in(port, "ines", Origin="http://evil.example"), 403
    yield "signing in by a form", post(port, "/enter", f"name=ines&secret={SECRET}", **form), 415


def test_the_table_of_attacks_tried_and_refused(make_daemon, tmp_path, client):
    token = tmp_path / "token"
    token.write_text("tern-bank-0123456789\n")
    token.chmod(0o600)
    daemon = make_daemon(more=LISTEN + people(tmp_path, ines="care", oskar="keeper", vera="look"))
    daemon.start()
    port = port_of(daemon)
    orders = client.subscribe("plainwater/testing/benches/+/order")
    cookie, ended = signed_in(port, "ines"), signed_in(port, "ines")
    assert post(port, "/api/sign-out", {}, ended).status == 200
    table = []
    for what, reply, status in attacks(port, cookie, ended, "tern-bank-0123456789"):
        table.append((what, reply.status, status))
        assert "set-cookie" not in reply.fields, what
        if reply.status >= 400 and reply.body:
            assert len(reply.json()["detail"]) > 15, what

    # A key that somebody else put into the browser is not taken over.
    planted = "plainwater-person=" + "a" * 64
    given = cookie_of(sign_in(port, "ines", Cookie=planted))
    table.append(("session fixation: a planted key after signing in", post(port, "/api/requests", {}, planted).status, 403))
    assert given != planted
    # A name and a page that would break out of a header field.
    reply = post(port, "/enter", {"name": "ines", "secret": SECRET, "to": "/%0d%0aSet-Cookie: x=y"})
    assert reply.json()["to"] == "/" and reply.fields["set-cookie"].startswith("plainwater-person=")
    table.append(("header injection by `to`", 403 if "x=y" in str(reply.fields) else 200, 200))
    # More than a person sends.
    mine = signed_in(port, "oskar")
    many = []
    while len(many) < 1000 and 429 not in many:
        many.append(post(port, "/api/sessions/end", {"id": "0" * 16}, mine).status)
    table.append(("more than 120 requests in a minute", many[-1], 429))
    assert set(many[:-1]) == {404} and len(many) > 60

    print("\nAttacks tried, what each got:")
    for what, got, wanted in table:
        print(f"  {'refused' if got == wanted else 'WRONG  '} {got}  {what}")
    assert [row for row in table if row[1] != row[2]] == []
    assert me(port, cookie)["name"] == "ines", "the one whose cookie was used is still signed in"
    assert not [order for order in orders if order.json()["cause"] == "grower"], "nothing was done"
