"""What a grower's year at Tern Bank needs: the season in stretches, the command line, and what phone, pump and board get."""
import contextlib
import json
import sqlite3

from conftest import run, wait_for
from notice_season import Notices
from season import play, tern_bank_settings

BASE = "plainwater/tern-bank"
INTERVAL = ("--interval", "60m")
# The notices of a house with a night's rest, told in the morning.
TOLD = 'notices:\n  quiet: "22:00-07:00"\n  digest: "07:30"\n'
BENCHES = ("mist", "long", "cold-end", "courtyard")
STAND_IN = ("--stand-in-pumps",)


class Year:
    """A house that lives through a year."""

    def __init__(self, broker, daemon, clients):
        """`clients`: an exit stack, which ends ours at the test's end."""
        self.broker, self.daemon, self.clients = broker, daemon, clients
        self.connect()

    def connect(self, *benches):
        """A new client, which hears what the broker keeps and all that follows; what an earlier one heard is forgotten."""
        self.client = self.clients.enter_context(self.broker.client())
        self.heard = Notices(self.client, BASE)
        self.orders, self.placards, self.strengths = {}, {}, {}
        self.listen_to(*benches)

    def listen_to(self, *benches):
        for bench in benches:
            for kept, what in ((self.orders, "order"), (self.placards, "placard"), (self.strengths, "strength")):
                kept[bench] = self.client.subscribe(f"{BASE}/benches/{bench}/{what}")

    def play(self, begin, end, *faults):
        """The readings from one day to another, and all that follows from them."""
        more = [word for fault in faults for word in ("--fault", fault)]
        play(self.broker, *INTERVAL, "--from", begin, "--to", end, *more)
        self.settled()

    def settled(self):
        # After weeks of readings, which a loaded machine takes its time over.
        assert not self.client.ask(f"{BASE}/requests", {"id": "barrier"}, patience=300)["done"]

    def order(self, bench):
        """As of the last `settled`: an answer goes out after the orders. The first order waits for the service's next second."""
        return wait_for(lambda: self.orders[bench], f"an order for {bench}")[-1].json()

    def placard(self, bench):
        return self.placards[bench][-1].payload.decode()

    def strength(self, bench):
        return wait_for(lambda: self.strengths[bench], f"a strength for {bench}")[-1].payload.decode()

    def asks(self, *words, refused=False):
        """What the command line answers."""
        done = run("plainwater", *words, "--settings", self.daemon.settings, "--who", "Ines")
        assert (done.returncode != 0) == refused, f"{words}: {done.returncode}\n{done.stdout}{done.stderr}"
        return done.stdout + done.stderr

    def shows(self, *more):
        done = run("plainwater", "show", "--settings", self.daemon.settings, *more)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def edit(self, *changes):
        text = self.daemon.settings.read_text()
        for before, after in changes:
            assert text.count(before) == 1, f"{before!r} is there {text.count(before)} times"
            text = text.replace(before, after)
        self.daemon.settings.write_text(text)

    def ledger(self, bench=None, since="", cause=None):
        """The decisions as people read them: without each single place."""
        with contextlib.closing(sqlite3.connect(self.daemon.store)) as store:
            lines = [json.loads(row[0]) for row in store.execute("SELECT json FROM ledger ORDER BY journal_seq, ordinal")]
        return [d for d in lines if (bench is None or d["bench"] == bench) and d["time"] >= since and (cause is None or d["cause"] == cause)]

    def last(self, bench, decision=None):
        return [d for d in self.ledger(bench) if decision in (None, d["decision"])][-1]

    def dosed(self, bench, time, **what):
        self.client.publish(f"{BASE}/benches/{bench}/dosed", {"time": time, **what})
        self.settled()


def begin(make_daemon, broker, clients):
    """The house on 1 August, its service running."""
    daemon = make_daemon(tern_bank_settings() + TOLD, name="tern-bank")
    daemon.start(more=STAND_IN)
    year = Year(broker, daemon, clients)
    year.listen_to(*BENCHES)
    return year
