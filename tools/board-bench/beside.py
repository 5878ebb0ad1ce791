"""Work in a thread of its own while a bench measures something else."""
import threading


class Beside:
    """Runs from entering to leaving; `run` ends soon after `over` is set."""

    def __init__(self):
        self.over = threading.Event()
        self.thread = threading.Thread(target=self.run)

    def run(self):
        raise NotImplementedError

    def __enter__(self):
        self.thread.start()
        return self

    def __exit__(self, *_):
        self.over.set()
        self.thread.join()
