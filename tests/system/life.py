"""The signs of life that a service sends to systemd: one at the end of each look at its clock, once a second.

They let a test wait at the service's own pace: a fault that lasts three looks does so on a loaded machine too. And "nothing
came" is checked after a complete look, not after a sleep."""
import contextlib
import os
import socket
import tempfile
import threading
import time

from waiting import wait_for


class SystemdSocket:
    """Acts as systemd: receives STATUS lines and records when each sign of life came."""

    def __init__(self):
        self.folder = tempfile.TemporaryDirectory()  # a short path: a socket's name is limited to 107 bytes
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
        """Daemon.start(env=life.env()): the service notifies this socket."""
        return {**(os.environ if own is None else own), "NOTIFY_SOCKET": self.path}

    def looks(self, whole=1):
        """Returns when this many complete looks have begun and ended since the call; one may have been under way."""
        begun = len(self.alive)
        wait_for(lambda: len(self.alive) > begun + whole, f"{whole} looks of the service at its clock", 60 + 2 * whole)

    def longest_silence(self, since):
        """Seconds, including the time until now."""
        heard = [since, *[at for at in self.alive if at > since], time.monotonic()]
        return max(b - a for a, b in zip(heard, heard[1:]))

    def close(self):
        self.open = False
        self.thread.join()
        self.socket.close()
        self.folder.cleanup()
