#!/usr/bin/env python3
"""How fast readings are durably stored: ingest_bench.py [--messages N] [--rounds N]. Prints figures; nothing passes or fails here.

The same stream of QoS 1 messages, from the same broker, to a client that only counts (mosquitto_sub) and to the service, by
turns in one run. Both have a session that is there before the stream begins. The service has taken all when it answers a request
that was sent behind them.
"""
import argparse
import datetime
import pathlib
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "tests" / "system"))

from clock import now  # noqa: E402
from conftest import SETTINGS, Broker, Daemon  # noqa: E402

# The peer has its own topic: messages on a topic with a session of the service would be queued for it at the broker.
TOPIC, COUNTED, REQUESTS = "house/east/air", "house/counted/air", "plainwater/testing/requests"
QUIET = 'board:\n  listen: ""\nnotices:\n  quiet: ""\n  digest: ""\n'


def stream(folder, messages, begin):
    """One line per message, one reading per second."""
    file = folder / f"stream-{begin:%Y%m%d%H%M%S}"
    with open(file, "w", encoding="utf-8") as out:
        for number in range(messages):
            when = begin + datetime.timedelta(seconds=number)
            out.write(f'{{"t":{18 + number % 40 / 10},"time":"{when:%Y-%m-%dT%H:%M:%SZ}"}}\n')
    return file


def publish(broker, file, topic):
    with open(file, encoding="utf-8") as lines:
        subprocess.run(["mosquitto_pub", "-p", str(broker.port), "-q", "1", "-t", topic, "-l"], stdin=lines, check=True)


def counted(broker, file, messages):
    """Seconds that a client needs just to count the messages."""
    peer = subprocess.Popen(["mosquitto_sub", "-p", str(broker.port), "-q", "1", "-t", COUNTED, "-C", str(messages)], stdout=subprocess.DEVNULL)
    time.sleep(0.5)
    begin = time.perf_counter()
    publish(broker, file, COUNTED)
    peer.wait()
    return time.perf_counter() - begin


def taken(broker, daemon, file, name):
    """Seconds until the service has stored all."""
    with broker.client() as client:
        begin = time.perf_counter()
        publish(broker, file, TOPIC)
        client.ask(REQUESTS, {"id": name, "who": "a bench", "request": "acknowledge", "bench": "east"})
        return time.perf_counter() - begin


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--messages", type=int, default=40_000)
    parser.add_argument("--rounds", type=int, default=3)
    options = parser.parse_args()
    for durability in ("process", "power"):
        with tempfile.TemporaryDirectory() as name:
            folder = pathlib.Path(name)
            broker = Broker(folder)
            broker.start()
            settings = folder / "testing.yaml"
            settings.write_text(SETTINGS.replace("durability: process", f"durability: {durability}").format(url=broker.url, store=folder / "testing.db", more="") + QUIET)
            daemon = Daemon(settings, folder / "testing.db", "plainwater/testing/service/main", broker)
            messages = options.messages if durability == "process" else options.messages // 8
            start = now() - datetime.timedelta(days=20)
            try:
                for number in range(options.rounds):
                    file = stream(folder, messages, start + datetime.timedelta(days=number))
                    peer = counted(broker, file, messages)
                    daemon.start()
                    ours = taken(broker, daemon, file, f"round-{number}-{durability}")
                    daemon.stop()
                    print(f"durability {durability}, round {number + 1}: {messages / ours:,.0f} readings/s taken, {messages / peer:,.0f} messages/s counted, ratio {peer / ours:.2f}")
            finally:
                daemon.clean_up()
                broker.stop()


if __name__ == "__main__":
    main()
