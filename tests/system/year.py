"""What a grower's year at Tern Bank needs: the season in stretches, the command line, and what phone, pump and board get."""
import contextlib
import datetime
import json
import sqlite3
import zoneinfo

import asking
import board
import signing
from conftest import free_port, run, spawn, wait_for
from notice_season import Notices
from season import play, readings, simulate, tern_bank_settings

BASE = "plainwater/tern-bank"
INTERVAL = ("--interval", "60m")
# The notices of a house with a night's rest, told in the morning.
TOLD = 'notices:\n  quiet: "22:00-07:00"\n  digest: "07:30"\n'
LONDON = zoneinfo.ZoneInfo("Europe/London")
BENCHES = ("mist", "long", "cold-end", "courtyard")
STAND_IN = ("--stand-in-pumps",)
# Who keeps the house, and who looks after it on Wednesdays.
PEOPLE = {"ines": "keeper", "tom": "care"}


class Year:
    """A house that lives through a year."""

    def __init__(self, broker, daemon, clients, port):
        """`clients`: an exit stack, which ends ours at the test's end; `port`: of the pages."""
        self.broker, self.daemon, self.clients, self.port, self.cookies = broker, daemon, clients, port, {}
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

    def taps(self, person, /, **wish):
        """What somebody who has signed in reads before, and what is answered when it is sent."""
        if person not in self.cookies:
            self.cookies[person] = signing.signed_in(self.port, person)
        who = {"cookie": self.cookies[person]}
        return asking.tried(self.port, who, **wish)["would"], asking.real(self.port, who, **wish)

    def today(self):
        """The day's work, as the page Today has it."""
        return board.ask(self.port, "/api/today").json()

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


def begin(make_daemon, broker, clients, folder):
    """The house on 1 August, before its service has ever run."""
    port = free_port()
    pages = f"board:\n  listen: 127.0.0.1:{port}\n"
    year = Year(broker, make_daemon(tern_bank_settings() + TOLD + pages + signing.people(folder, **PEOPLE), name="tern-bank"), clients, port)
    year.listen_to(*BENCHES)
    return year


@contextlib.contextmanager
def playing(broker, *arguments):
    """The simulator runs meanwhile, and is ended."""
    simulator = spawn("plainwater-sim", "--broker", broker.url, "--quiet", *arguments)
    try:
        yield
    finally:
        simulator.kill()
        simulator.wait()


def old_log(path, begin, end):
    """Last year as an old logger wrote it: a column a sensor, semicolons, decimal commas, °F, the clocks of the house."""
    rows, names = {}, []
    for (time, sensor), (celsius, _) in sorted(readings(simulate(*INTERVAL, "--from", begin, "--to", end)).items()):
        names += [] if sensor in names else [sensor]
        hour = datetime.datetime.fromisoformat(time.replace("Z", "+00:00")).replace(minute=0, second=0)
        if celsius is not None:
            rows.setdefault(hour, {})[sensor] = f"{celsius * 9 / 5 + 32:.1f}".replace(".", ",")
    lines = [";".join(["Date", *(name + " °F" for name in names)])]
    for hour, air in sorted(rows.items()):
        lines.append(";".join([f"{hour.astimezone(LONDON):%d.%m.%Y %H:%M}", *(air.get(name, "") for name in names)]))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    columns = ",".join(["time=Date", *(f"{name}.fahrenheit={name} °F" for name in names)])
    return ("--columns", columns, "--times", "day-first", "--zone", "site")
