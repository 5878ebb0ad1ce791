"""Hand-made orders for the bench `east`, and a running pump stand-in that follows them."""
import datetime
import json
import signal

import pytest
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

from clock import now, text_of as text
from conftest import ROOT, spawn, wait_for

BASE = "plainwater/testing"
ORDER = f"{BASE}/benches/east/order"
STRENGTH = f"{BASE}/benches/east/strength"
DOSED = f"{BASE}/benches/east/dosed"
SCHEMA = json.loads((ROOT / "config" / "schemas" / "dosed.json").read_text())
WATER_EC, FULL_ML, EC_PER_ML = 0.2, 10.0, 0.08


def order(percent=40, good_for=3600, at=None, **changes):
    """An order for `east` of the pump `one`; full feed is 10 mL per litre."""
    at = at or now()
    ml = FULL_ML * percent / 100
    dose = {"recipe": "house", "water": "rain", "ml_per_litre": ml, "injector_ratio": 1000 / ml if ml else None, "ppm_n": 1.25 * percent,
            "ec": round(WATER_EC + ml * EC_PER_ML, 3), "water_ec": WATER_EC, "problem": None}
    return {"bench": "east", "feeding": "reduced" if percent else "plain-water", "strength_percent": percent, "stock": "open" if percent else "locked",
            "cause": "dull-season", "because": "Days are short.", "hold": None, "issued": text(at),
            "valid_until": text(at + datetime.timedelta(seconds=good_for)), "epoch": 0, "sequence": int(at.timestamp()), "pump": "one", "pump_mode": "armed",
            "pump_strength_percent": percent, "limited_by": None, "untrusted": False, "dose": dose, "instance": "main", "history_since": None, **changes}


def expiring(interval_s):
    properties = Properties(PacketTypes.PUBLISH)
    properties.MessageExpiryInterval = interval_s
    return properties


class Pump:
    """A running stand-in for `east`, ten waterings a second."""

    def __init__(self, folder, broker, *more, every="100ms", name="one"):
        self.log, self.out = folder / "pump.jsonl", folder / "pump.out"
        arguments = ["--broker", broker.url, "--site", "testing", "--pump", name, "--bench", "east", "--every", every, "--litres", "2", "--log", self.log, *more]
        self.process = spawn("pump-stand-in", *arguments, log=self.out)
        wait_for(lambda: "listens" in self.output() or self.process.poll() is not None, "the pump to listen")
        assert self.process.poll() is None, self.output()

    def output(self):
        return self.out.read_text()

    def waterings(self):
        return [json.loads(line) for line in self.log.read_text().splitlines(keepends=True) if line.endswith("\n")]

    def last(self):
        assert self.process.poll() is None, self.output()
        waterings = self.waterings()
        return waterings[-1] if waterings else {}

    def gives(self, fits, what):
        """The first matching watering, starting with the last one: an order may expire before anybody looks."""
        before = max(0, len(self.waterings()) - 1)

        def found():
            self.last()
            return next(filter(fits, self.waterings()[before:]), None)
        return wait_for(found, lambda: f"{what}; log: {self.log.read_text()[-300:]}")

    def gives_feed(self, percent):
        self.gives(lambda watering: watering["strength_percent"] == percent, f"feed of {percent} %")

    def gives_plain_water(self, because):
        last = self.gives(lambda watering: watering["plain_water_because"] == because, f"plain water by {because}")
        assert (last["litres"], last["feed_ml"], last["strength_percent"]) == (2, 0, 0)

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(30)


@pytest.fixture
def start(tmp_path, broker):
    pumps = []

    def make(*more, **how):
        pumps.append(Pump(tmp_path, broker, *more, **how))
        return pumps[-1]
    yield make
    for pump in pumps:
        if pump.process.poll() is None:
            pump.process.kill()
            pump.process.wait()
