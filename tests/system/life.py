"""The signs of life that a service gives systemd: one at the end of each look at its clock, once a second.

With them a test waits by the service's own pace, not by its own: a fault that lasts three looks does so on a machine
that is loaded, too. And "nothing came" is said after a look that began and ended meanwhile, not after a sleep.
"""
import contextlib
import os
import socket
import tempfile
import threading
import time

from waiting import wait_for


class SystemdSocket:
    """What systemd would hear: STATUS lines, and when each sign of life came."""

    def __init__(self):
        self.folder = tempfile.TemporaryDirectory()  # a short path: a socket's name holds 107 bytes
        self.path = f"{self.folder.name}/notify"
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.socket.bind(self.path)
        self.socket.settimeout(0.2)
        self.statuses, self.alive, self.others, self.open = [], [], [], True
        self.thread = threading.Thread(target=self._listen)
        self.thread.start()

    def _listen(self):
        while self.open:
            with contextlib.suppress(socket.timeout):
                for line in self.socket.recv(4096).decode().splitlines():
                    if line.startswith("STATUS="):
                        self.statuses.append(line[7:])
                    elif line == "WATCHDOG=1":
                        self.alive.append(time.monotonic())
                    else:
                        self.others.append(line)

    def env(self, own=None):
        """Daemon.start(env=life.env()): the service tells this socket."""
        return {**(os.environ if own is None else own), "NOTIFY_SOCKET": self.path}

    def looks(self, whole=1):
        """Returns when so many whole looks have begun and ended since the call: one was perhaps under way."""
        begun = len(self.alive)
        wait_for(lambda: len(self.alive) > begun + whole, f"{whole} looks of the service at its clock", 60 + 2 * whole)

    def longest_silence(self, since):
        """Seconds, up to now."""
        heard = [since, *[at for at in self.alive if at > since], time.monotonic()]
        return max(b - a for a, b in zip(heard, heard[1:]))

    def close(self):
        self.open = False
        self.thread.join()
        self.socket.close()
        self.folder.cleanup()
