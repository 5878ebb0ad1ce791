"""A season of Tern Bank with its board, read by Node with Chromium."""
import contextlib
import datetime
import json
import os
import pathlib
import queue
import re
import shutil
import sqlite3
import subprocess
import sys
import threading
import urllib.request

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "system"))

import pytest  # noqa: E402

from clock import instant, machine_s, text_of  # noqa: E402, F401
from conftest import PATIENCE, Broker, Daemon, free_port, run, wait_for  # noqa: E402
from season import export, play, readings, simulate, tern_bank_settings  # noqa: E402

INTERVAL = ("--interval", "60m")
# For starting a browser on a busy machine.
LONGEST = 4 * PATIENCE + 60


def in_days(house, days):
    """By the house's time, which is that of its readings."""
    now = instant(house.api("/api/now")["time"])
    return text_of(now + datetime.timedelta(days=days))


class Season:
    """What the real service made of Tern Bank's season, up to `until`: a store to start from, and its export. `more`: settings
    of its board."""

    def __init__(self, folder, until, more=""):
        self.folder, self.store = folder, folder / "season.db"
        broker = Broker(folder)
        broker.start()
        settings = folder / "tern-bank.yaml"
        settings.write_text(tern_bank_settings().format(url=broker.url, store=self.store) + 'board:\n  listen: ""\n' + more)
        daemon = Daemon(settings, self.store, "plainwater/tern-bank/service/main", broker)
        part = (*INTERVAL, "--to", until)
        try:
            daemon.start()
            play(broker, *part, timeout=LONGEST)
            time_of_last, sensor = max(readings(simulate(*part)))

            def taken():
                assert daemon.process.poll() is None, daemon.tail()
                return f"{time_of_last},{sensor}," in export(daemon)[0][-4000:]
            wait_for(taken, "the season's last report in the journal", LONGEST)
            daemon.stop()
            export(daemon)
            with contextlib.closing(sqlite3.connect(self.store)) as rows:
                lines = [row[0] + "\n" for row in rows.execute("SELECT json FROM ledger ORDER BY id")]
            # Without the places of a bench that is carried daily.
            self.shown = self.store.with_suffix(".shown.jsonl")
            self.shown.write_text("".join(lines))
        finally:
            daemon.clean_up()
            broker.stop()
        self.readings, self.ledger, self.settings = self.store.with_suffix(".csv"), self.store.with_suffix(".jsonl"), settings

    def rehearse(self, *arguments):
        result = run("plainwater", "rehearse", "--settings", self.settings, "--readings", self.readings, *arguments)
        assert result.returncode == 0, result.stderr


class House:
    """A broker, and a service with pages on a copy of a season's store."""

    def __init__(self, folder, season, more="", renamed=()):
        """`renamed`: pairs of a bench's name and the one that it has here."""
        folder.mkdir(exist_ok=True)
        self.season, self.port = season, free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.broker = Broker(folder)
        self.broker.start()
        store = folder / "house.db"
        shutil.copy(season.store, store)
        settings = folder / "house.yaml"
        text = tern_bank_settings().format(url=self.broker.url, store=store) + f"board:\n  listen: 127.0.0.1:{self.port}\n{more}"
        for was, name in renamed:
            text = text.replace(f"  {was}:\n    group", f"  {name}:\n    was: {was}\n    group")
            text = re.sub(rf"(    benches: \[.*?)\b{was}\b", rf"\g<1>{name}", text)
        settings.write_text(text)
        if "token_file" in more:
            settings.chmod(0o600)
        self.daemon = Daemon(settings, store, "plainwater/tern-bank/service/main", self.broker)
        try:
            self.daemon.start()
            wait_for(lambda: self.status("/") != 0, f"the board to answer; log:\n{self.daemon.tail()}")
        except BaseException:
            self.close()
            raise

    def status(self, path):
        """The status of an answer; 0 without an answer."""
        try:
            with urllib.request.urlopen(self.url + path, timeout=PATIENCE) as answer:
                return answer.status
        except urllib.error.HTTPError as error:
            return error.code
        except OSError:
            return 0

    def api(self, path):
        with urllib.request.urlopen(self.url + path, timeout=PATIENCE) as answer:
            return json.load(answer)

    def close(self):
        self.daemon.clean_up()
        self.broker.stop()


class Check:
    """One of the checks in checks/, run by Node; `asked` are its arguments. As a context manager it can exchange lines with
    the test; its output is shown when it fails."""

    def __init__(self, name, url, shots, env=(), **asked):
        self.name, self.output, self.lines = name, [], queue.Queue()
        environment = dict(os.environ, BOARD_URL=url, ASKED=json.dumps(asked), PLAINWATER_SCREENSHOTS=str(shots), PATIENCE=str(PATIENCE), **dict(env))
        self.process = subprocess.Popen(["node", HERE / "run.js", name], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=environment)
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self):
        for line in self.process.stdout:
            (self.lines.put if line.startswith("@") else self.output.append)(line)
        self.lines.put(None)

    def heard(self, word):
        """The value that the check sends with this word."""
        try:
            line = self.lines.get(timeout=LONGEST)
        except queue.Empty:
            pytest.fail(f"{self.name} did not say {word} within {LONGEST} s:\n{''.join(self.output)}")
        if line is None:
            self.end()
        said, value = (line or "nothing null").lstrip("@").split(" ", 1)
        assert said == word, f"{self.name} said {said} instead of {word}:\n{''.join(self.output)}"
        return json.loads(value)

    def say(self, word):
        self.process.stdin.write(word + "\n")
        self.process.stdin.flush()

    def end(self):
        try:
            code = self.process.wait(LONGEST)
        except subprocess.TimeoutExpired:
            pytest.fail(f"{self.name} takes longer than {LONGEST} s:\n{''.join(self.output)}")
        while code and self.lines.get(timeout=PATIENCE) is not None:
            pass
        assert code == 0, f"{self.name}:\n{''.join(self.output)}"

    def __enter__(self):
        return self

    def __exit__(self, kind, *_):
        if kind is None:
            self.end()
        elif self.process.poll() is None:
            # By SIGTERM, so that its browser ends with it.
            self.process.terminate()
            self.process.wait(PATIENCE)
