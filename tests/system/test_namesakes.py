"""Two services under one instance, each with a store of its own: by mistake, and they would give their orders over each other's
for ever. The one with the younger store stands aside, says so, and takes over when the other is gone."""
from conftest import wait_for
from faults import Clocks
from test_notices import BASE, REQUESTS, Heard


def test_the_younger_of_two_under_one_name_stands_aside_and_takes_over(make_daemon, client, tmp_path, life):
    older, younger, clocks = make_daemon(name="older"), make_daemon(name="younger"), Clocks(tmp_path)
    orders, heard = client.subscribe(f"{BASE}/benches/+/order"), Heard(client)
    older.start(env=life.env())
    first = wait_for(lambda: orders, "an order of the older one")[-1].json()["store"]

    def of(store, since):
        return [order for order in (m.json() for m in list(orders)[since:]) if order["store"] == store]

    younger.spawn(env=clocks.env)
    wait_for(lambda: "another service runs under the name main" in younger.log.read_text() and heard.of("second-service", "begun"),
             lambda: f"the younger one to stand aside and to say so; log:\n{younger.tail()}", 240)
    assert heard.of("second-service")[0]["urgency"] == "urgent"
    assert "another service" not in older.log.read_text()
    # Their clients have different names from now on: nobody is thrown out any more, and nothing is ordered again.
    states = client.subscribe(f"{BASE}/service/main")
    wait_for(lambda: [m for m in list(states) if not m.retain and m.json().get("aside_for") == first], "its state to say so", 120)
    life.looks(3)
    client.caught_up()
    seen = len(orders)
    life.looks(8)
    client.caught_up()
    new = [m.json() for m in list(orders)[seen:]]
    assert len(new) == len({order["bench"] for order in new}) and len(of(first, seen)) == len(new), "at most those of a full hour"
    replies = client.ask(REQUESTS, {"id": "hold-1", "who": "Ines", "request": "hold", "bench": "east"})
    assert replies["done"]
    wait_for(lambda: [order for order in of(first, seen) if order["hold"]], "the hold in its order")
    life.looks(3)
    client.caught_up()
    assert len(of(first, seen)) == len(orders) - seen
    heard.check()

    older.kill()
    clocks.shift(wall_s=200, boot_s=200)
    gone = len(orders)
    taken = wait_for(lambda: [order for order in (m.json() for m in list(orders)[gone:]) if order["store"] != first and order["bench"] == "east"],
                     lambda: f"the younger one to take over; log:\n{younger.tail()}", 60)
    assert taken[-1]["feeding"] == "plain-water", "it has heard of the hold meanwhile"
    younger.stop()
