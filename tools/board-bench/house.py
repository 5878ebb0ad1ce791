"""A house of fifty benches that has lived through a year, and its service with the board."""
import os
import pathlib
import subprocess
import sys
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "system"))

from conftest import BIN, Broker, Daemon, free_port, wait_for  # noqa: E402
from season import export, readings, simulate, tern_bank_settings  # noqa: E402

BENCHES = 50
YEAR = ("--from", "2025-09-01", "--to", "2026-09-01", "--interval", "60m")
PATIENCE = 1200
# The simulator has eight sensors; the benches take them in turn.
AIRS = [("cool", "cold-end-a"), ("intermediate", "long-a"), ("warm", "mist-a"), ("intermediate", "courtyard-a"), ("intermediate", "long-b"), ("warm", "mist-b")]


def names():
    return [f"bay-{number:02d}" for number in range(1, BENCHES + 1)]


def settings():
    """Tern Bank with fifty benches in place of four, and a pump for every five."""
    text = tern_bank_settings().split("\n# mist-propagated", 1)[0].split("\nbenches:", 1)[0] + "\nbenches:\n"
    for number, name in enumerate(names()):
        group, sensor = AIRS[number % len(AIRS)]
        text += f"  {name}:\n    group: {group}\n    sensors: [{sensor}]\n"
        text += "    moves: watched\n" if sensor == "courtyard-a" else ""
    text += "pumps:\n"
    for first in range(0, BENCHES, 5):
        text += f"  line-{first // 5 + 1}:\n    benches: [{', '.join(names()[first:first + 5])}]\n"
    return text


class House:
    def __init__(self, folder):
        # Without it small messages wait for acknowledgements, 40 ms that would hide everything else.
        self.broker = Broker(folder, "allow_anonymous true\nset_tcp_nodelay true\n")
        self.broker.start()
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        path = folder / "house.yaml"
        path.write_text(settings().format(url=self.broker.url, store=folder / "house.db") + f"board:\n  listen: 127.0.0.1:{self.port}\n")
        self.daemon = Daemon(path, folder / "house.db", "plainwater/tern-bank/service/main", self.broker)
        self.daemon.start()

    def play(self):
        """Plays the year as fast as possible; returns the seconds taken."""
        begin = time.monotonic()
        subprocess.run([BIN / "plainwater-sim", "--broker", self.broker.url, "--quiet", *YEAR], check=True, timeout=PATIENCE)
        last, sensor = max(readings(simulate(*YEAR)))
        wait_for(lambda: f"{last},{sensor}," in export(self.daemon)[0][-4000:], "the year's last report in the journal", PATIENCE)
        return time.monotonic() - begin

    def restart(self):
        self.daemon.stop()
        self.daemon.start()

    def memory_mib(self):
        """Resident memory now, and its peak."""
        lines = dict(line.split(":", 1) for line in pathlib.Path(f"/proc/{self.daemon.process.pid}/status").read_text().splitlines())
        return tuple(int(lines[key].split()[0]) / 1024 for key in ("VmRSS", "VmHWM"))

    def processor_s(self):
        fields = pathlib.Path(f"/proc/{self.daemon.process.pid}/stat").read_text().rsplit(") ", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def close(self):
        self.daemon.clean_up()
        self.broker.stop()


def quantile(values, share):
    """The value not exceeded by this share of all."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
