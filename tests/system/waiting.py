"""Waits for expected events by polling, with a patience that only a failure uses up."""
import os
import time

import pytest

# Seconds, for events that take milliseconds on an idle machine.
PATIENCE = int(os.environ.get("PLAINWATER_TEST_PATIENCE", "120"))


def wait_for(condition, what, patience=PATIENCE):
    """The first true value of condition(); fails after `patience` seconds. `what` may be a function, called then."""
    deadline = time.monotonic() + patience
    while True:
        value = condition()
        if value:
            return value
        if time.monotonic() > deadline:
            pytest.fail(f"waited {patience} s for {what() if callable(what) else what}")
        time.sleep(0.02)
