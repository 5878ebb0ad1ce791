"""A folder on a disk whose power a test cuts: tests/power/power_fs.cpp, below unmodified programs."""
import subprocess
import threading

from programs import spawn
from waiting import PATIENCE, wait_for


class PowerDisk:
    def __init__(self, folder, seed):
        """Mounts at `folder`, which is made. `seed` decides what a cut keeps, drops and tears of unsynced data."""
        folder.mkdir()
        self.folder = folder
        self.process = spawn("power_fs", folder, seed, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.said = []
        self.reader = threading.Thread(target=lambda: self.said.extend(map(str.strip, self.process.stdout)))
        self.reader.start()
        wait_for(lambda: self.said or self.process.poll() is not None, "a mounted disk")
        assert self.said, f"power cuts below the file system cannot be tried here: {self.process.stderr.read()}"

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.stdin.close()
        try:
            self.process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self.process.kill()
            raise
        finally:
            # Nothing is left to do, except after a disk that ended unexpectedly.
            subprocess.run(["umount", "--lazy", self.folder], capture_output=True)
            self.reader.join()
        assert self.process.returncode == 0, self.process.stderr.read()

    def _command(self, line):
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def _wait(self, word):
        wait_for(lambda: self.said[-1] == word or self.process.poll() is not None, f"the disk to say {word}")
        assert self.said[-1] == word, f"the disk ended with exit code {self.process.poll()}: {self.process.stderr.read()}"

    def cut_in(self, changes):
        """The power will fail in this write, truncation, sync or name change, counted from now; 0: at once."""
        self._command(f"cut {changes}")

    def is_cut(self):
        """True once the power has failed: from then on the disk answers nothing."""
        return self.said[-1] == "cut"

    def wait_for_cut(self):
        self._wait("cut")

    def forget_syncs(self):
        """From now on syncs have no effect at a cut."""
        self._command("forget")
        self._wait("forgetful")

    def power_on(self, killed):
        """`killed` is the process that used the disk: it must not see the disk again, and ends once that answers."""
        killed.kill()
        self._command("on")
        self._wait("on")
        killed.wait(PATIENCE)
