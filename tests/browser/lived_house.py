"""A house of today, whose pages may ask: by the machine's clock, with feed, pumps, pots and a bench on wheels."""
import contextlib
import json
import sqlite3

from browser.house import Broker, Daemon, House, free_port, wait_for

import houses
import signing
from clock import in_days, now_text

BENCHES = ("long", "mist", "courtyard")
POTS = "    pots: 60\n    pot_litres: 0.8\n"
PUMPS = "  long:\n    benches: [long, mist]\n    recipe: growth\n    water: rain\n    line_litres: 10\n    grace_minutes: 0\n"
KEEPER = "this machine's keeper"


def settings(board, people):
    """With places for the broker's address and the store."""
    benches = houses.bench("long", "intermediate", "long") + POTS + houses.bench("mist", "intermediate", "mist") + \
        houses.bench("courtyard", "intermediate", "courtyard") + "    moves: declared\n"
    return houses.house(houses.any_sensor(), benches, PUMPS, "tern-bank", sections=f"{houses.FEED}{people}board:\n{board}")


class LivedHouse(House):
    """`board`: more lines of that section; `people`: roles by name, who all have the secret SECRET. What was asked is read from the store itself."""

    season = None  # none was played
    requests = "plainwater/tern-bank/requests"

    def __init__(self, folder, board="  trust_loopback: true\n", **people):
        folder.mkdir(exist_ok=True)
        self.port, self.store = free_port(), folder / "house.db"
        self.url = f"http://127.0.0.1:{self.port}"
        self.broker = Broker(folder)
        self.broker.start()
        path = folder / "house.yaml"
        who = signing.people(folder, **people) if people else ""
        path.write_text(settings(f"  listen: 127.0.0.1:{self.port}\n{board}", who).format(url=self.broker.url, store=self.store, more=""))
        path.chmod(0o600)
        self.daemon = Daemon(path, self.store, "plainwater/tern-bank/service/main", self.broker)
        try:
            # Else its benches would have plain water until their first night.
            self.daemon.hear_a_night(tuple(f"house/{name}/air" for name in BENCHES))
            self.restart()
        except BaseException:
            self.close()
            raise

    def _read(self, query):
        with contextlib.closing(sqlite3.connect(f"file:{self.store}?mode=ro", uri=True)) as rows:
            return rows.execute(query).fetchall()

    def asked(self):
        """Every request that was recorded, in their order, as it is in the journal."""
        return [json.loads(body) for body, in self._read("SELECT body FROM journal WHERE kind = 1 ORDER BY seq")]

    def ledger(self):
        return [json.loads(line) for line, in self._read("SELECT json FROM ledger ORDER BY id")]

    def bench(self, name):
        return next(b for b in self.api("/api/now")["benches"] if b["name"] == name)

    def pump_disobeys(self, bench):
        """Armed, it feeds a bench again and again that must have plain water, until nobody trusts it. (What feeds against advice is told only.)"""
        with self.broker.client() as client:
            assert client.ask(self.requests, {"id": "armed", "who": "a test", "request": "arm", "pump": "long"})["done"]
            asked = {"id": "held", "who": "a test", "request": "hold", "bench": bench, "from": in_days(-3)}
            assert client.ask(self.requests, asked)["done"]

            def distrusted():
                client.publish(f"plainwater/tern-bank/benches/{bench}/dosed", {"time": now_text(), "litres": 4, "feed_ml": 40, "strength_percent": 100})
                return not self.api("/api/now")["pumps"][0]["trusted"]
            wait_for(distrusted, "the pump to be distrusted")

    def barrier(self):
        """Returns when all that was sent to the service before has been taken, and gives the ids of what was recorded."""
        with self.broker.client() as client:
            client.ask(self.requests, {"id": f"barrier-{len(self.asked())}", "who": "a test", "request": "release", "bench": "mist"})
        return [request["id"] for request in self.asked() if not request["id"].startswith("barrier-")]

    def restart(self, env=None):
        self.daemon.start(env=env)
        wait_for(lambda: self.status("/") != 0, f"the board to answer; log:\n{self.daemon.tail()}")
