#!/usr/bin/env python3
"""What hours of a large house cost: hours_bench.py [--benches N] [--hours N]. Prints figures; nothing passes or fails here.

The service's clocks run fast: each bench sends a reading a minute, a grower asks for something every five minutes, the broker
starts anew each hour. What the store has grown by is held against the same readings as lines of text.
"""
import argparse
import datetime
import json
import os
import pathlib
import sys
import tempfile

from large_house import BASE, LargeHouse, bay, now, text_of, wait_for

HOUR_S, STEP_S, LOOK_S = 3600, 60, 300


class Hours:
    def __init__(self, house):
        self.house, self.passed_s, self.asked, self.text = house, 0, 0, 0
        self.begun = now()

    def minute(self, client):
        """Sends a reading of each bench, then advances to the next minute."""
        at = text_of(self.begun + datetime.timedelta(seconds=self.passed_s))
        for number in range(1, self.house.benches + 1):
            celsius = 18 + (number + self.passed_s // STEP_S) % 40 / 10
            self.text += len(f"{at},{bay(number)},{celsius:.1f},\n")
            client.client.publish(f"house/{bay(number)}/air", json.dumps({"t": celsius, "time": at}), qos=1)
        self.passed_s += STEP_S
        self.house.clocks.shift(wall_s=self.passed_s, boot_s=self.passed_s)

    def ask(self, client):
        """Requests a hold or its end, in turn; the answer comes when all earlier input is stored."""
        what = {"request": "release", "full": True} if self.asked % 2 else {"request": "hold"}
        bench = bay(self.asked // 2 % self.house.benches + 1)
        reply = client.ask(f"{BASE}/requests", {"id": f"ask-{self.asked}", "who": "a bench", "bench": bench, **what})
        if not reply["done"]:
            sys.exit(f"hours_bench: {reply}")
        self.asked += 1

    def pass_an_hour(self):
        with self.house.broker.client() as client:
            until = self.passed_s + HOUR_S
            while self.passed_s < until:
                self.minute(client)
                if self.passed_s % LOOK_S == 0:
                    self.ask(client)
                    self.house.life.looks()
        self.house.broker.stop()
        drained = self.house.times_drained()
        self.house.broker.start()
        wait_for(lambda: self.house.times_drained() > drained, "the end of the backlog")
        self.house.life.looks()


def figures(house):
    process = pathlib.Path(f"/proc/{house.daemon.process.pid}")
    store = sum(file.stat().st_size for file in house.folder.glob("testing.db*"))
    return {"memory": house.resident_mib(), "files": len(os.listdir(process / "fd")), "threads": len(os.listdir(process / "task")), "store": store,
            "lines": house.daemon.log.read_text().count("\n")}


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--benches", type=int, default=200)
    parser.add_argument("--hours", type=int, default=8)
    options = parser.parse_args()
    print(f"{options.hours} hours of {options.benches} benches: a reading of each a minute, a request every five minutes, the broker anew each hour")
    with tempfile.TemporaryDirectory() as name, LargeHouse(pathlib.Path(name), options.benches) as house:
        house.start()
        hours, before, text = Hours(house), figures(house), 0
        print(f"  at the start: memory {before['memory']:.1f} MiB, {before['files']} open files, {before['threads']} threads, store {before['store'] / 2**20:.2f} MiB, {before['lines']} lines of log")
        for hour in range(1, options.hours + 1):
            hours.pass_an_hour()
            after = figures(house)
            grown, text, written = after["store"] - before["store"], hours.text, hours.text - text
            print(f"  hour {hour}: memory {after['memory']:.1f} MiB, {after['files']} open files, {after['threads']} threads, store {grown / 2**20:+.2f} MiB"
                  f" (the readings as text {written / 2**20:.2f} MiB, ratio {grown / written:.2f}), {after['lines'] - before['lines']} lines of log", flush=True)
            before = after
        house.daemon.stop()


if __name__ == "__main__":
    sys.exit(main())
