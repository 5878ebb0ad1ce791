"""A house of many benches, its service, and a subscriber that records when each message leaves it."""
import json
import pathlib
import re
import subprocess
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "tests" / "system"))

from clock import machine_s, now, text_of  # noqa: E402,F401
from conftest import Broker, Daemon  # noqa: E402
from faults import Clocks, Disk  # noqa: E402
from houses import bay, many  # noqa: E402
from life import SystemdSocket  # noqa: E402
from waiting import wait_for  # noqa: E402

BASE = "plainwater/testing"
QUIET = 'board:\n  listen: ""\nnotices:\n  quiet: ""\n  digest: ""\n'
IN_1970 = -56 * 365 * 86400  # seconds, added to a clock of these years
PATIENCE = 900


class Orders:
    """Messages as a subscriber gets them, each with the time by the machine's clock. mosquitto_sub writes them to a file, so
    that this program takes little processor time meanwhile."""

    def __init__(self, broker, folder, topic=f"{BASE}/benches/+/order"):
        self.file, self.read = folder / f"heard-{time.monotonic_ns()}", 0
        mark = f"test/{self.file.name}"
        self.process = subprocess.Popen(["stdbuf", "-oL", "mosquitto_sub", "-V", "5", "-p", str(broker.port), "-q", "1", "-R", "-t", topic, "-t", mark, "-F", "%U %t %p"],
                                        stdout=open(self.file, "w"))

        def listens():
            subprocess.run(["mosquitto_pub", "-p", str(broker.port), "-q", "1", "-t", mark, "-m", "here"], check=True)
            return self.file.stat().st_size > 0
        wait_for(listens, "the subscriber")

    def news(self):
        """(moment, topic, payload) of messages since the last call."""
        with open(self.file, "rb") as file:
            file.seek(self.read)
            lines = file.read().rpartition(b"\n")[0]
        if not lines:
            return
        self.read += len(lines) + 1
        for line in lines.decode().split("\n"):
            moment, topic, payload = line.split(" ", 2)
            if not topic.startswith("test/"):
                yield float(moment), topic, payload

    def until(self, benches, fits, since):
        """(moment, bytes) of the order by which the last of so many benches first had one that fits, after `since`."""
        first = {}

        def all_there():
            for moment, topic, payload in self.news():
                if moment >= since and fits(json.loads(payload)):
                    first.setdefault(topic, (moment, len(payload)))
            return len(first) >= benches
        wait_for(all_there, lambda: f"orders for {benches} benches; {len(first)} have one", PATIENCE)
        return max(first.values())

    def close(self):
        self.process.terminate()
        self.process.wait()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


class LargeHouse:
    def __init__(self, folder, benches, durability="process"):
        # Without it small messages wait for acknowledgements, 40 ms that would hide everything else.
        self.folder, self.benches = folder, benches
        self.broker = Broker(folder, "allow_anonymous true\nset_tcp_nodelay true\n")
        self.broker.start()
        settings = folder / "testing.yaml"
        text = many(benches, QUIET).replace("durability: process", f"durability: {durability}")
        settings.write_text(text.format(url=self.broker.url, store=folder / "testing.db", more=""))
        self.daemon = Daemon(settings, folder / "testing.db", f"{BASE}/service/main", self.broker)
        self.clocks, self.disk, self.life = Clocks(folder), Disk(folder, folder / "testing.db"), SystemdSocket()
        clock, disk = self.clocks.env, self.disk.env
        self.env = self.life.env({**clock, **disk, "LD_PRELOAD": f"{clock['LD_PRELOAD']}:{disk['LD_PRELOAD']}"})

    def start(self):
        """Returns when the service has reported the end of the broker's backlog; the time of that."""
        begun = len(self.daemon.log.read_text()) if self.daemon.log.exists() else 0
        self.daemon.spawn(env=self.env)
        said = wait_for(lambda: re.search(r"^\[(\S+ \S+)\].*backlog is drained", self.daemon.log.read_text()[begun:], re.M), "the end of the backlog", PATIENCE)
        return time_of(said.group(1))

    def times_drained(self):
        return self.daemon.log.read_text().count("backlog is drained")

    def request(self, requests):
        """Sends all of them in one stream; returns when it began."""
        lines = "".join(json.dumps({"who": "a bench", **request}) + "\n" for request in requests)
        begin = machine_s()
        subprocess.run(["mosquitto_pub", "-V", "5", "-p", str(self.broker.port), "-q", "1", "-t", f"{BASE}/requests", "-l"], input=lines, text=True, check=True)
        return begin

    def resident_mib(self):
        status = pathlib.Path(f"/proc/{self.daemon.process.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", status).group(1)) / 1024

    def close(self):
        self.daemon.clean_up()
        self.broker.stop()
        self.life.close()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


def time_of(logged):
    """The time of a log line, as seconds since 1970; the log uses the machine's clock and zone."""
    return time.mktime(time.strptime(logged[:19], "%Y-%m-%d %H:%M:%S")) + float("0" + logged[19:])
