#!/usr/bin/env python3
"""What the board costs: board_bench.py [--decisions N]. Prints figures; nothing passes or fails here.

1. From a grower's request to the changed order on the wire, with 200 viewers and without, by turns in one run.
2. A year's season of fifty benches: bytes, time of the answer, time to the first paint and to the drawn strips, memory.
"""
import argparse
import gzip
import json
import pathlib
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
import uuid

from house import BENCHES, House, names, quantile

HERE = pathlib.Path(__file__).resolve().parent
STREAMS, READERS, ROUNDS = 100, 100, 3


def fetch(url, zipped, tag=None):
    """The answer's fields, the bytes sent, and the seconds taken."""
    request = urllib.request.Request(url, headers={"Accept-Encoding": "gzip" if zipped else "identity", **({"If-None-Match": tag} if tag else {})})
    begin = time.perf_counter()
    try:
        with urllib.request.urlopen(request, timeout=120) as answer:
            body, fields = answer.read(), answer.headers
    except urllib.error.HTTPError as error:
        if error.code != 304:
            raise
        body, fields = b"", error.headers
    return fields, body, time.perf_counter() - begin


def kib(count):
    return f"{count / 1024:.1f} KiB"


class Grower:
    """Requests holds and releases in turn, and measures the time until the bench's order changes."""

    def __init__(self, client, clock):
        self.client, self.until, self.turn, self.arrived = client, clock, 0, threading.Condition()
        self.orders = {}
        before = client._collect

        def collect(message):
            with self.arrived:
                self.orders[message.topic.split("/")[3]] = (time.perf_counter(), json.loads(message.payload))
                self.arrived.notify_all()
            before(message)
        client._collect = collect
        client.client.socket().setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        client.subscribe("plainwater/tern-bank/benches/+/order")
        with self.arrived:
            self.arrived.wait_for(lambda: len(self.orders) == BENCHES, 60)

    def decide(self):
        bench, hold = names()[self.turn // 2 % BENCHES], self.turn % 2 == 0
        self.turn += 1
        request = {"id": uuid.uuid4().hex, "who": "board-bench", "bench": bench, **({"request": "hold", "until": self.until} if hold else {"request": "release", "full": True})}
        begin = time.perf_counter()
        self.client.client.publish("plainwater/tern-bank/requests", json.dumps(request), qos=1)

        def there():
            at, order = self.orders[bench]
            return at > begin and (order["hold"] is not None) == hold
        with self.arrived:
            if not self.arrived.wait_for(there, 60):
                sys.exit(f"board-bench: no order within a minute of {request}")
            return self.orders[bench][0] - begin


def decisions(house, count):
    now = json.loads(fetch(house.url + "/api/now", False)[1])["time"]
    until = time.strftime("%Y-%m-%dT00:00:00Z", time.gmtime(time.mktime(time.strptime(now[:10], "%Y-%m-%d")) + 21 * 86400))
    print(f"From a request to the order on the wire: {BENCHES} benches, {STREAMS} viewers of events who also ask /api/now every 5 s,\n"
          f"and {READERS} who open a page every 3 s, against none; {ROUNDS} rounds of {count} decisions each.")
    found = {False: [], True: []}
    with house.broker.client() as client:
        grower = Grower(client, until)
        for _ in range(50):
            grower.decide()
        for number in range(1, ROUNDS + 1):
            line = []
            for viewed in (False, True):
                viewers = None
                if viewed:
                    viewers = subprocess.Popen([sys.executable, HERE / "viewers.py", house.url, str(STREAMS), str(READERS), *names()], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
                    if viewers.stdout.readline() != "ready\n":
                        sys.exit("board-bench: not all viewers were served")
                used, begin, took = house.processor_s(), time.monotonic(), []
                for _ in range(count):
                    took.append(1000 * grower.decide())
                    time.sleep(0.05)  # a grower is not a stream of requests
                share = (house.processor_s() - used) / (time.monotonic() - begin)
                found[viewed] += took
                line.append(f"{'with' if viewed else 'without'} p50 {quantile(took, 0.5):.1f} p99 {quantile(took, 0.99):.1f} ms (processor {100 * share:.0f} %)")
                if viewers:
                    got = json.loads(viewers.communicate("")[0])
            print(f"  round {number}: " + "; ".join(line))
            print(f"    the viewers: {got['requests'] / got['seconds']:.0f} answers/s, {got['bytes'] / got['seconds'] / 1e6:.2f} MB/s, p50 {got['p50_ms']:.1f} p99 {got['p99_ms']:.1f} ms, {got['events'] / got['seconds']:.0f} events/s, "
                  f"{got['broken']} broken connections; " + ", ".join(f"{key} {value}" for key, value in sorted(got.items()) if key.startswith("status") or key == "unchanged"))
    for name, share in (("p50", 0.5), ("p99", 0.99)):
        alone, viewed = quantile(found[False], share), quantile(found[True], share)
        print(f"  {name}: {alone:.1f} ms without, {viewed:.1f} ms with viewers, ratio {viewed / alone:.2f}")
    now, most = house.memory_mib()
    print(f"  memory of the service after it: {now:.1f} MiB, at most {most:.1f} MiB")


def season(house):
    print(f"A year's season of {BENCHES} benches.")
    house.restart()
    before, _ = house.memory_mib()
    print("  time of the answer, after a restart of the service:")
    for path in ("/api/season", "/api/now", "/api/ledger?limit=60"):
        fields, body, cold = fetch(house.url + path, True)
        kept = quantile([fetch(house.url + path, True)[2] for _ in range(20)], 0.5)
        unchanged = quantile([fetch(house.url + path, True, fields["ETag"])[2] for _ in range(20)], 0.5) if fields["ETag"] else float("nan")
        raw = len(gzip.decompress(body)) if fields["Content-Encoding"] == "gzip" else len(body)
        print(f"    {path}: cold {1000 * cold:.1f} ms, kept {1000 * kept:.2f} ms, unchanged {1000 * unchanged:.2f} ms; {kib(raw)}, {kib(len(body))} by gzip")
    parts = {"page": ["/season"]}
    for address in re.findall(r'(?:src|href)="(/files/[^"]+)"', fetch(house.url + "/season", False)[1].decode()):
        parts.setdefault({"js": "scripts", "css": "styles"}.get(address.rsplit(".", 1)[1], "pictures"), []).append(address)
    for kind, addresses in parts.items():
        raw, zipped = (sum(len(fetch(house.url + address, how)[1]) for address in addresses) for how in (False, True))
        print(f"  {kind}: {len(addresses)}, {kib(raw)}, {kib(zipped)} by gzip")
    for width, height in ((1440, 900), (360, 740)):
        out = subprocess.run(["node", HERE / "paint.js", house.url + "/season", str(width), str(height), "5"], capture_output=True, text=True, timeout=600)
        if out.returncode:
            sys.exit(f"board-bench: {out.stderr}")
        runs = json.loads(out.stdout)
        of = {key: quantile([run[key] for run in runs], 0.5) for key in ("paint", "strips", "longest", "bytes", "visible")}
        print(f"  Chromium at {width} px, an empty cache, the middle of {len(runs)}: first contentful paint {of['paint']:.0f} ms, the {of['visible']} visible strips of {runs[0]['benches']} drawn at {of['strips']:.0f} ms, "
              f"longest task {of['longest']:.0f} ms, {kib(of['bytes'])} fetched")
    now, most = house.memory_mib()
    print(f"  memory of the service: {before:.1f} MiB before, {now:.1f} MiB after, at most {most:.1f} MiB")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--decisions", type=int, default=150, help="a round, with viewers and without")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        house = House(pathlib.Path(folder))
        try:
            print(f"A year of {BENCHES} benches, played in {house.play():.0f} s.")
            season(house)
            decisions(house, arguments.decisions)
        finally:
            house.close()


if __name__ == "__main__":
    main()
