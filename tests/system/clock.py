"""The clock of the tests, and of every program of ours that they start.

PLAINWATER_TEST_START=2028-02-29T03:00:00Z makes a run begin at that moment: now() adds a shift, and tests/preload/clock.cpp
adds the same to what our programs read (programs.environment). Without it nothing is shifted and nothing preloaded. Brokers,
browsers, metrics servers, openssl, and the libraries inside our programs keep the machine's time: machine_s(). No other test
module reads a clock, except monotonic ones; tools/lint checks that."""
import datetime
import os
import time

UTC = datetime.timezone.utc
SHIFT = "PLAINWATER_TEST_SHIFT_S"  # seconds; also read by tests/preload/clock.cpp


def instant(text):
    """A time as our programs write it, with an offset or Z."""
    return datetime.datetime.fromisoformat(text.replace("Z", "+00:00"))


def _shift_s():
    """Determined once per run: its workers and programs inherit it."""
    start = os.environ.get("PLAINWATER_TEST_START")
    if start and SHIFT not in os.environ:
        os.environ[SHIFT] = str(round(instant(start).timestamp() - time.time()))
    return int(os.environ.get(SHIFT, "0"))


SHIFT_S = _shift_s()


def machine_s():
    """Seconds since 1970 by the machine's own clock, to compare with programs that use that."""
    return time.time()


def now():
    return datetime.datetime.fromtimestamp(machine_s() + SHIFT_S, UTC)


def now_s():
    """Whole seconds since 1970."""
    return int(now().timestamp())


def text_of(when):
    """As our programs read it, to the second."""
    return when.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def text_of_ms(when):
    return when.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-3] + "Z"


def text_of_s(seconds):
    """From seconds since 1970."""
    return text_of(datetime.datetime.fromtimestamp(seconds, UTC))


def now_text():
    return text_of(now())


def in_days(days):
    return text_of(now() + datetime.timedelta(days=days))
