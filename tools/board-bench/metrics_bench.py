#!/usr/bin/env python3
"""What the metrics cost: metrics_bench.py [--benches N] [--decisions N]. Prints figures; nothing passes or fails here.

A scrape of a big house: time, bytes, series. Then from a grower's request to the changed order on the wire, with a scrape
each second and without, by turns in one run.
"""
import argparse
import pathlib
import sys
import tempfile
import time
import urllib.request

import board_bench
import house as houses
from beside import Beside
from house import House, free_port, quantile

ROUNDS = 3


def scrape(port):
    """The bytes, and the seconds taken."""
    begin = time.perf_counter()
    with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(f"http://127.0.0.1:{port}/metrics", timeout=60) as answer:
        return answer.read(), time.perf_counter() - begin


class EachSecond(Beside):
    """Scrapes once a second, in a thread of its own, as a metrics server would."""

    def __init__(self, port):
        super().__init__()
        self.port, self.took = port, []

    def run(self):
        while not self.over.wait(1):
            self.took.append(scrape(self.port)[1])


def decide(grower, count):
    took = []
    for _ in range(count):
        took.append(1000 * grower.decide())
        time.sleep(0.05)  # a grower is not a stream of requests
    return took


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--benches", type=int, default=1000)
    parser.add_argument("--decisions", type=int, default=200, help="in each half of a round")
    options = parser.parse_args()
    houses.BENCHES = board_bench.BENCHES = options.benches
    houses.YEAR = ("--from", "2026-08-20", "--to", "2026-08-30", "--interval", "60m")
    port = free_port()
    plain = houses.settings
    houses.settings = lambda: plain() + f"metrics:\n  listen: 127.0.0.1:{port}\n"
    with tempfile.TemporaryDirectory() as folder:
        house = House(pathlib.Path(folder))
        try:
            house.play()
            text, _ = scrape(port)
            series = sum(1 for line in text.splitlines() if not line.startswith(b"#"))
            times = [1000 * scrape(port)[1] for _ in range(30)]
            print(f"A scrape of {options.benches} benches: {len(text) / 2**20:.2f} MiB, {series} series, p50 {quantile(times, 0.5):.0f} ms, longest {max(times):.0f} ms.")
            print(f"From a request to the order on the wire, with a scrape each second against none; {ROUNDS} rounds of {options.decisions} decisions each.")
            found = {False: [], True: []}
            with house.broker.client() as client:
                grower = board_bench.Grower(client, "2026-09-20T00:00:00Z")
                decide(grower, 20)
                for number in range(1, ROUNDS + 1):
                    line = []
                    for scraped in (False, True):
                        used, begin = house.processor_s(), time.monotonic()
                        if scraped:
                            with EachSecond(port) as server:
                                took = decide(grower, options.decisions)
                        else:
                            took = decide(grower, options.decisions)
                        share = (house.processor_s() - used) / (time.monotonic() - begin)
                        found[scraped] += took
                        line.append(f"{'with' if scraped else 'without'} p50 {quantile(took, 0.5):.1f} p99 {quantile(took, 0.99):.1f} ms (processor {100 * share:.0f} %)")
                    print(f"  round {number}: " + "; ".join(line) + f"; {len(server.took)} scrapes")
            for name, share in (("p50", 0.5), ("p99", 0.99)):
                alone, scraped = quantile(found[False], share), quantile(found[True], share)
                print(f"  {name}: {alone:.1f} ms without, {scraped:.1f} ms with scrapes, ratio {scraped / alone:.2f}")
            print(f"  memory of the service after it: {house.memory_mib()[0]:.1f} MiB, at most {house.memory_mib()[1]:.1f} MiB")
        finally:
            house.close()


if __name__ == "__main__":
    sys.exit(main())
