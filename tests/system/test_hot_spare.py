"""Two daemons on one broker, each with its own store, with the machine's clock and timed readings: they decide and order the
same, one may be taken away, and a spare that was away for a day returns without a wrong order."""
import datetime
import json
import re
import sqlite3
import time

import pytest

import houses
from asking import TRUSTING, real
from clock import instant, now, text_of_ms
from conftest import run, wait_for
from faults import Clocks, OrderWatch, record, times
from season import export

TAKES_S = 60

SITE = "plainwater/testing"
BENCHES = ("east", "west")
TWO = houses.house(houses.sensor("east-air", "house/east/air") + houses.sensor("west-air", "house/west/air", humidity=False),
                   houses.bench("east", "intermediate", "east-air") + houses.bench("west", "cool", "west-air"), broker="  instance: INSTANCE\n")


def number(order):
    return order["epoch"], order["sequence"]


def name_of(order):
    """Identifies an order in messages."""
    return "{instance} {bench} {epoch}/{sequence} issued {issued} {cause}".format(**order)


def content(order):
    return {key: value for key, value in order.items() if key not in ("instance", "store")}


class House:
    """A house whose clock the test advances by hours, and whose sensors report at each hour."""

    def __init__(self, clocks, client, watch):
        self.clocks, self.client, self.watch, self.sent = clocks, client, watch, 0
        # It begins ten minutes past an hour, so that the machine's hour does not end within one of its own.
        self.ahead_s = (600 - now().timestamp()) % 3600
        clocks.shift(self.ahead_s, self.ahead_s)
        self.unheard = {}  # by daemon: readings from before its session began

    def now(self):
        return now() + datetime.timedelta(seconds=self.ahead_s)

    def hour(self, running, east_c=19.0, look=False):
        """Advances one hour. `look`: waits until every running daemon has woken and given its orders for the hour."""
        self.ahead_s += 3600
        self.clocks.shift(self.ahead_s, self.ahead_s)
        at = self.now()
        for _ in range(1 if east_c > 15 else 3):
            stamp = text_of_ms(at)
            self.client.publish("house/east/air", {"t": east_c, "rh": 70, "time": stamp})
            self.client.publish("house/west/air", {"t": 17.0, "time": stamp})
            at += datetime.timedelta(milliseconds=7)
            self.sent += 1
        for daemon in running:
            wait_for(lambda d=daemon: readings_of(d) + self.unheard.get(d, 0) >= 2 * self.sent, "the hour's readings in the journal")
        if look:
            mark = int(self.now().timestamp()) // 3600 * 3600
            for daemon in running:
                wait_for(lambda d=daemon: all(self.given(d.instance, bench, mark) for bench in BENCHES), f"{daemon.instance}'s orders for {mark}; log:\n{daemon.tail()}")

    def given(self, instance, bench, since):
        return [o for o in self.watch.seen() if o["instance"] == instance and o["bench"] == bench and o["sequence"] >= since]

    def latest(self):
        """The orders that a pump follows now, by bench, after everything that the broker has delivered."""
        newest = {}
        for order in self.watch.seen():
            newest[order["bench"]] = order
        return newest

    def older_or_expired(self):
        """Orders that came after a newer one, each with that one; and benches without a valid order now."""
        newest, found = {}, []
        for order in self.watch.seen():
            before = newest.setdefault(order["bench"], order)
            if number(order) < number(before):
                found.append(f"{name_of(order)} after {name_of(before)}")
            newest[order["bench"]] = max(before, order, key=number)
        return found + [name_of(o) for o in self.latest().values() if instant(o["valid_until"]) <= self.now()]


def readings_of(daemon):
    """Temperatures and requests in the journal, without humidities."""
    store = sqlite3.connect(f"file:{daemon.store}?mode=ro", uri=True)
    try:
        return store.execute("SELECT COUNT(*) FROM journal WHERE kind = 0 AND quantity = 0").fetchone()[0]
    finally:
        store.close()


def ledger(daemon):
    return export(daemon)[1]


@pytest.fixture
def pair(make_daemon, tmp_path, broker, client):
    """A main that ran for two days and holds a bench after a chill, a spare that was never started, and the house."""
    daemons = []
    for name in ("main", "spare"):
        daemon = make_daemon(TWO.replace("INSTANCE", name), name=name, more=TRUSTING)
        daemon.topic, daemon.instance = f"{SITE}/service/{name}", name
        daemons.append(daemon)
    clocks = Clocks(tmp_path)
    with OrderWatch(broker, "testing") as watch:
        house = House(clocks, client, watch)
        main, spare = daemons
        main.start(env=clocks.env)
        for hour in range(40):
            house.hour([main], 6.5 if hour == 36 else 19.0)
        house.hour([main], look=True)
        assert house.latest()["east"]["feeding"] == "plain-water" and house.latest()["east"]["cause"] == "chill"
        yield main, spare, house


def copied(main, spare, house, tmp_path):
    """Gives the spare the main's present store and starts it; it already has a session at the broker."""
    backup = tmp_path / "for-the-spare.db"
    assert run("plainwater", "backup", "--settings", main.settings, "--to", backup).returncode == 0
    done = run("plainwater", "restore", "--settings", spare.settings, "--from", backup, "--replace", "--spare")
    assert done.returncode == 0, done.stderr
    backup.unlink()
    spare.start(env=house.clocks.env)


def test_a_fresh_spare_gives_no_orders_beside_one_that_knows_more(pair, life):
    main, spare, house = pair
    before = len(house.watch.seen())
    spare.start(env=life.env(house.clocks.env))
    for _ in range(2):
        house.hour([main], look=True)
        life.looks(2)
        house.watch.settled()
    by_spare = [o for o in house.watch.seen() if o["instance"] == "spare"]
    wrong = house.watch.wrong(ledger(main)) + house.older_or_expired()
    record("fresh spare beside a running one", 2, 0, len(wrong) + len(by_spare), None)
    assert by_spare == [] and wrong == []
    assert len(house.watch.seen()) > before
    assert "is not published" in spare.tail()
    # The one that knew more is gone for good: the other gives plain water after a while of silence, and takes over when
    # the last order has expired.
    main.kill()
    house.unheard[spare] = 2 * house.sent - readings_of(spare)
    for _ in range(25):
        house.hour([spare])
    assert not any(o["instance"] == "spare" and o["stock"] != "locked" for o in house.watch.seen())
    house.hour([spare])
    house.hour([spare], look=True)
    assert house.latest()["east"]["instance"] == "spare" and house.older_or_expired() == []


def test_one_of_two_may_be_taken_away(pair, tmp_path):
    main, spare, house = pair
    spare.start(env=house.clocks.env)  # so that the broker keeps messages for it from now on
    spare.stop()
    house.hour([main])
    copied(main, spare, house, tmp_path)
    both = [main, spare]
    # Both together, through the end of the chill, another chill, and some nights. Neither may lag an hour behind, as
    # happens when an hour really lasts one: its order would come after the other's next one.
    # The first chill, of hour 36 of 41, ends with the close of a night after two and a half days: within 118 hours, whenever the
    # test began.
    for hour in range(86):
        house.hour(both, 6.5 if hour == 80 else 19.0, look=True)
    house.hour(both, look=True)
    assert ledger(main) == ledger(spare)
    assert sum('"cause":"chill"' in line for line in ledger(main).splitlines()) >= 2

    rounds, recovery = times(2, 20), 0.0
    for attempt in range(rounds):
        gone, left = both if attempt % 2 == 0 else reversed(both)
        for _ in range(2):
            house.hour(both, look=True)
            mark = max(o["sequence"] for o in house.watch.seen())
            for bench in BENCHES:
                one, other = (next(o for o in reversed(house.watch.seen()) if o["bench"] == bench and o["instance"] == d.instance and o["sequence"] == mark) for d in both)
                assert content(one) == content(other)
        gone.kill()
        for hour in range(3):
            since = time.monotonic()
            house.hour([left], 8.0 if hour == 1 else 19.0, look=True)
            recovery = max(recovery, time.monotonic() - since)
            assert house.older_or_expired() == []
        gone.start(env=house.clocks.env)
        house.hour(both, look=True)
    wrong = house.watch.wrong(ledger(main)) + house.older_or_expired()
    same = ledger(main) == ledger(spare)
    lost = 2 * (2 * house.sent) - readings_of(main) - readings_of(spare)
    record("spare taken away", rounds, lost, len(wrong), recovery)
    assert wrong == [] and same and lost == 0


def test_a_spare_drains_a_days_backlog_beside_the_other(pair, tmp_path):
    main, spare, house = pair
    spare.start(env=house.clocks.env)
    spare.stop()
    copied(main, spare, house, tmp_path)
    rounds, recovery, late = times(1, 10), 0.0, []
    for attempt in range(rounds):
        house.hour([main, spare], look=True)
        (spare.kill if attempt % 2 == 0 else spare.stop)()
        away = len(house.watch.seen())
        for hour in range(26):
            house.hour([main], 8.0 if hour == 12 else 19.0)
        assert not any(o["instance"] == "spare" for o in house.watch.seen()[away:])
        # It returns with a whole day's backlog, while the other runs on.
        back, since = house.now() - datetime.timedelta(seconds=1), time.monotonic()
        spare.start(env=house.clocks.env)
        recovery = max(recovery, time.monotonic() - since)
        wait_for(lambda: readings_of(spare) >= 2 * house.sent, "the backlog in the spare's journal")
        house.hour([main, spare], look=True)
        late += [o for o in house.watch.seen()[away:] if o["instance"] == "spare" and instant(o["issued"]) < back]
    wrong = house.watch.wrong(ledger(main)) + house.older_or_expired()
    lost = 2 * house.sent - readings_of(spare)
    record("spare drains a day's backlog", rounds, lost, len(wrong) + len(late), recovery)
    assert wrong == [] and late == [] and lost == 0
    assert ledger(main) == ledger(spare)
    newest = {d.instance: {o["bench"]: o for o in house.watch.seen() if o["instance"] == d.instance} for d in (main, spare)}
    for bench in BENCHES:
        assert content(newest["main"][bench]) == content(newest["spare"][bench])
        assert json.dumps(newest["main"][bench]["history_since"]) != "null"


def test_a_hold_asked_on_the_page_of_one_is_kept_by_the_other(pair, tmp_path):
    main, spare, house = pair
    spare.start(env=house.clocks.env)
    spare.stop()
    house.hour([main])
    copied(main, spare, house, tmp_path)
    house.hour([main, spare], look=True)
    assert house.latest()["west"]["cause"] != "grower"
    port = int(re.findall(r"pages on http://127\.0\.0\.1:(\d+)/", main.log.read_text())[-1])
    answer = real(port, request="hold", bench="west")
    assert answer["done"], answer
    wait_for(lambda: '"cause":"grower"' in ledger(spare), f"the hold in the spare's ledger; log:\n{spare.tail()}")
    assert ledger(main).count('"cause":"grower"') == 1  # its own request, heard again, has done nothing
    main.kill()
    house.hour([spare], look=True)
    order = house.latest()["west"]
    assert (order["instance"], order["feeding"], order["cause"]) == ("spare", "plain-water", "grower")
    assert house.older_or_expired() == []
