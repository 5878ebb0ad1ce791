#!/usr/bin/env python3
"""How long plain water takes to reach all benches of a large house: scale_bench.py [--benches N]... [--disk fine|slow]. Prints figures; nothing passes or fails here.

Each bench has a sensor and a pump. The peer is a plain publisher (mosquitto_pub) that sends as many retained messages of the same
size and quality to the same broker, and the same subscriber notes when the last one comes; the median of three times.
"""
import argparse
import json
import pathlib
import subprocess
import sys
import tempfile
import time

from beside import Beside
from large_house import BASE, IN_1970, PATIENCE, LargeHouse, Orders, bay, machine_s

HOLDS = 1000
HOURS_S = 2 * 3600
SLOW_MS, SLOW = 3000, (50, 100, 200)


def locked(order):
    return order["stock"] == "locked"


def any_order(_order):
    return True


def peer(house, count, size):
    """Seconds until the last of so many messages is with the subscriber."""
    with Orders(house.broker, house.folder, "peer/order") as heard:
        lines = "".join(f"{number:0{size}d}\n" for number in range(count))
        begin = machine_s()
        subprocess.run(["mosquitto_pub", "-V", "5", "-p", str(house.broker.port), "-q", "1", "-r", "-t", "peer/order", "-l"], input=lines, text=True, check=True)
        last, came = begin, 0
        while came < count:
            for last, _, _ in heard.news():
                came += 1
            time.sleep(0.01)
    return last - begin


def report(what, house, count, took, size):
    alone = sorted(peer(house, count, size) for _ in range(3))[1]
    print(f"  {what}: {took:.2f} s; {count} messages of {size} bytes by a plain publisher {alone:.2f} s, ratio {took / alone:.1f}; memory {house.resident_mib():.0f} MiB", flush=True)


def hold(house, orders):
    """Fewer in a house of more than a thousand benches, or it takes minutes."""
    count = min(HOLDS, house.benches, HOLDS * 1000 // house.benches)
    begun = house.request({"id": f"hold-{number}", "request": "hold", "bench": bay(number)} for number in range(1, count + 1))
    last, size = orders.until(count, lambda order: order["hold"] is not None, begun)
    report(f"{count} holds asked for at once, to the last order", house, count, last - begun, size)


def read_once(house):
    """Sends a reading of each bench; returns when they are stored."""
    with house.broker.client() as client:
        for number in range(1, house.benches + 1):
            client.client.publish(f"house/{bay(number)}/air", json.dumps({"t": 18}), qos=1)
        client.ask(f"{BASE}/requests", {"id": "read", "who": "a bench", "request": "acknowledge", "bench": bay(1)}, patience=PATIENCE)


def fall_silent(house, orders):
    """All sensors at once, and the orders of a new hour."""
    read_once(house)
    begun, since = machine_s(), time.monotonic()
    house.clocks.shift(wall_s=HOURS_S, boot_s=HOURS_S)
    last, size = orders.until(house.benches, any_order, begun)
    house.life.looks(2)
    report(f"all sensors fall silent, and an hour passes, to the last order (longest silence towards systemd {house.life.longest_silence(since):.1f} s)",
         house, house.benches, last - begun, size)


def large(benches):
    print(f"{benches} benches", flush=True)
    with tempfile.TemporaryDirectory() as name, LargeHouse(pathlib.Path(name), benches) as house, Orders(house.broker, house.folder) as orders:
        fence = house.start()
        last, size = orders.until(benches, any_order, fence)
        report("a first start: from the end of the backlog to the last order", house, benches, last - fence, size)
        fall_silent(house, orders)
        begun = machine_s()
        house.clocks.shift(wall_s=IN_1970, boot_s=HOURS_S, synchronised=False)
        last, size = orders.until(benches, locked, begun)
        report("the clock falls back to 1970, to the last order of plain water", house, benches, last - begun, size)
        house.daemon.stop()
        fence = house.start()
        last, size = orders.until(benches, locked, fence)
        report("a restart by that clock: from the end of the backlog to the last order of plain water", house, benches, last - fence, size)
        begun = machine_s()
        house.clocks.shift(wall_s=HOURS_S, boot_s=HOURS_S)
        last, size = orders.until(benches, lambda order: not locked(order), begun)
        report("the clock is right again, to the last order of feed", house, benches, last - begun, size)
        hold(house, orders)
        house.daemon.stop()


class Readings(Beside):
    """Sends one reading of each bench a minute, until closed."""

    def __init__(self, house):
        super().__init__()
        self.house = house

    def run(self):
        with self.house.broker.client() as client:
            number = 0
            while not self.over.wait(60 / self.house.benches):
                number = number % self.house.benches + 1
                client.publish(f"house/{bay(number)}/air", {"t": 18 + number % 7 / 10})


def on_a_slow_disk(benches):
    with tempfile.TemporaryDirectory() as name, LargeHouse(pathlib.Path(name), benches, "power") as house, Orders(house.broker, house.folder) as orders:
        fence = house.start()
        orders.until(benches, any_order, fence)
        house.disk.is_now(f"slow {SLOW_MS}")
        with Readings(house):
            time.sleep(5)
            silent_since, begun = time.monotonic(), machine_s()
            house.clocks.shift(wall_s=IN_1970, synchronised=False)
            last, _ = orders.until(benches, locked, begun)
            took = last - begun
            time.sleep(10)
            silence = house.life.longest_silence(silent_since)
        print(f"  {benches} benches: the clock falls back to 1970, to the last order of plain water {took:.1f} s, longest silence towards systemd {silence:.1f} s", flush=True)
        begun = time.monotonic()
        house.daemon.stop()
        stopped, silent_since = time.monotonic() - begun, time.monotonic()
        fence = house.start()
        last, _ = orders.until(benches, locked, fence)
        print(f"    a stop {stopped:.1f} s; a restart, from the end of the backlog to the last order of plain water {last - fence:.1f} s,"
              f" longest silence {house.life.longest_silence(silent_since):.1f} s; memory {house.resident_mib():.0f} MiB", flush=True)
        house.disk.is_now("fine")
        house.daemon.stop()


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--benches", type=int, action="append", help="may be repeated; default 200, 1,000, 5,000 and 10,000, on the slow disk 50, 100 and 200")
    parser.add_argument("--disk", choices=("fine", "slow"), help="this part alone")
    options = parser.parse_args()
    if options.disk != "slow":
        for benches in options.benches or (200, 1000, 5000, 10_000):
            large(benches)
    if options.disk == "fine":
        return
    print(f"On a disk that takes {SLOW_MS / 1000:g} s for a sync, with a reading of each bench a minute, each stored for good (durability power)")
    for benches in options.benches or SLOW:
        on_a_slow_disk(benches)


if __name__ == "__main__":
    sys.exit(main())
