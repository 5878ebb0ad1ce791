"""deploy/examples/microcontroller: the valve, compiled as strictly as possible, driven by tests, and in a loop with the real
service."""
import ctypes
import random
import subprocess

import pytest

from conftest import ROOT, wait_for
from pump import BASE, STRENGTH

EXAMPLES = ROOT / "deploy" / "examples"
STRICT = ["cc", "-std=c99", "-ffreestanding", "-Wall", "-Wextra", "-Wpedantic", "-Werror", "-O2"]
PATIENCE_S = 15 * 60


class Valve:
    """valve.c through ctypes. The struct is placed in more memory than it needs, and the rest must stay unchanged."""

    def __init__(self, library):
        self.memory = ctypes.create_string_buffer(b"\xa5" * 256, 256)
        self.library = library
        self.library.valve_start(self.memory)

    def hears(self, payload, retained=False):
        return self.library.valve_hears_strength(self.memory, payload, ctypes.c_size_t(len(payload)), ctypes.c_bool(retained))

    def waits(self, seconds):
        for _ in range(seconds):
            self.library.valve_second_passed(self.memory)

    def clock(self, milliseconds):
        self.library.valve_clock_shows(self.memory, ctypes.c_uint32(milliseconds % 2**32))

    def begins(self):
        self.library.valve_watering_begins(self.memory)

    def ends(self):
        self.library.valve_watering_ends(self.memory)

    @property
    def percent(self):
        return self.library.valve_percent(self.memory)

    @property
    def feed(self):
        return self.library.valve_feed_now(self.memory)


@pytest.fixture(scope="module")
def library(tmp_path_factory):
    shared = tmp_path_factory.mktemp("valve") / "valve.so"
    subprocess.run([*STRICT, "-shared", "-fPIC", "-o", shared, EXAMPLES / "microcontroller" / "valve.c"], check=True)
    library = ctypes.CDLL(str(shared))
    library.valve_hears_strength.restype = ctypes.c_bool
    for name in ("valve_percent", "valve_feed_now"):
        getattr(library, name).restype = ctypes.c_uint8
    return library


@pytest.fixture
def valve(library):
    return Valve(library)


def test_the_valve_needs_nothing_from_outside(tmp_path):
    """No symbols to link: no allocation, no clock, no library at all."""
    compiled = tmp_path / "valve.o"
    subprocess.run([*STRICT, "-c", "-o", compiled, EXAMPLES / "microcontroller" / "valve.c"], check=True)
    assert subprocess.run(["nm", "--undefined-only", compiled], check=True, capture_output=True, text=True).stdout.strip() == ""


def test_the_loop_in_its_readme_compiles(tmp_path):
    readme = (EXAMPLES / "microcontroller" / "README.md").read_text()
    loop = tmp_path / "loop.c"
    loop.write_text(readme.split("```c\n")[1].split("```")[0])
    subprocess.run([*STRICT, "-I", EXAMPLES / "microcontroller", "-c", "-o", tmp_path / "loop.o", loop], check=True)


def test_it_starts_with_plain_water(valve):
    assert valve.percent == valve.feed == 0
    valve.begins()
    assert valve.feed == 0


def test_every_whole_percent_counts(valve):
    for percent in range(101):
        assert valve.hears(str(percent).encode()) and valve.percent == percent


HOSTILE = [b"", b"+5", b" 5", b"5 ", b"5\n", b"5.0", b"1e2", b"-5", b"-0", b"05", b"00", b"007", b"101", b"140", b"255", b"256", b"261", b"999", b"5\x00", b"\x0045",
           b"0x5", b"5%", b"five", b"nan", b"null", b'"45"', b"[45]", "٤٥".encode(), "４５".encode(), b"4294967341", b"18446744073709551661", b"\xff\xfe", b"45" * 2**19, bytes(2**20)]


@pytest.mark.parametrize("payload", HOSTILE, ids=lambda p: ascii(p[:12]))
def test_anything_else_is_plain_water_until_a_good_one_comes(valve, payload):
    valve.hears(b"60")
    valve.begins()
    assert not valve.hears(payload)
    assert valve.percent == valve.feed == 0
    valve.hears(b"60")
    assert (valve.percent, valve.feed) == (60, 0)  # the interrupted watering stays plain
    valve.begins()
    assert valve.feed == 60


def test_no_other_short_payload_counts(valve):
    good = {str(percent).encode() for percent in range(101)}
    short = [bytes([a]) for a in range(256)] + [bytes([a, b]) for a in range(256) for b in range(256)]
    seeded = random.Random(7)
    short += [bytes(seeded.choices(b"0123456789+- .e\n\0", k=3)) for _ in range(20_000)]
    for payload in short:
        assert valve.hears(payload) == (payload in good), payload
        assert valve.percent == (int(payload) if payload in good else 0)


def test_a_payload_is_not_read_beyond_its_length(valve, library):
    assert library.valve_hears_strength(valve.memory, b"459", ctypes.c_size_t(2), ctypes.c_bool(False)) and valve.percent == 45
    # Nothing may be read from a payload that is too long, or through a null pointer.
    assert not library.valve_hears_strength(valve.memory, None, ctypes.c_size_t(0), ctypes.c_bool(False))
    assert not library.valve_hears_strength(valve.memory, ctypes.c_void_p(1), ctypes.c_size_t(2**40), ctypes.c_bool(False))
    assert valve.memory.raw[64:] == b"\xa5" * 192


def test_silence_is_plain_water(valve):
    valve.hears(b"45")
    valve.begins()
    valve.waits(PATIENCE_S - 1)
    assert (valve.percent, valve.feed) == (45, 45)
    valve.waits(1)
    assert (valve.percent, valve.feed) == (0, 0)
    valve.waits(70_000)  # more than its counter holds
    assert valve.percent == 0
    valve.hears(b"45")
    assert valve.percent == 45


def test_a_retained_strength_is_ignored(valve):
    assert not valve.hears(b"45", retained=True) and valve.percent == 0
    valve.hears(b"30")
    valve.waits(PATIENCE_S - 1)
    valve.hears(b"30", retained=True)
    valve.waits(1)
    assert valve.percent == 0


@pytest.mark.parametrize("start", [0, 2**32 - 1, 2**32 - 1000, 2**32 - 450_000, 2**31 - 450_000])
@pytest.mark.parametrize("step", [1, 7, 999, 1000, 1001, 60_000])
def test_a_count_of_milliseconds_may_wrap_around(valve, start, step):
    valve.clock(start)
    valve.hears(b"45")
    passed = 0
    while passed + step < PATIENCE_S * 1000:
        passed += step
        valve.clock(start + passed)
        if passed % 60_000 < step:
            assert valve.percent == 45, passed
    assert valve.percent == 45
    valve.clock(start + PATIENCE_S * 1000)
    assert valve.percent == 0


def test_the_longest_pause_of_the_main_loop_is_silence_too(valve):
    valve.clock(999)
    valve.clock(1998)
    valve.hears(b"45")
    valve.clock(1998 + 2**32 - 1)
    assert valve.percent == 0


def test_a_watering_takes_less_at_once_and_more_only_at_the_next(valve):
    valve.hears(b"40")
    valve.begins()
    assert valve.feed == 40
    valve.hears(b"60")
    assert (valve.percent, valve.feed) == (60, 40)
    valve.hears(b"25")
    assert valve.feed == 25
    valve.hears(b"0")
    valve.hears(b"40")
    assert (valve.percent, valve.feed) == (40, 0)
    valve.ends()
    assert valve.feed == 0
    valve.begins()
    assert valve.feed == 40


def test_the_valve_in_a_loop_with_the_real_service(valve, fed_daemon, client):
    heard = []
    messages = client.subscribe(STRENGTH)

    def percent():
        while len(heard) < len(messages):
            message = messages[len(heard)]
            heard.append(message.payload)
            assert valve.hears(message.payload, message.retain), message.payload
        return valve.percent
    requests = f"{BASE}/requests"
    assert client.ask(requests, {"id": "1", "who": "a test", "request": "arm", "pump": "east"})["done"]
    wait_for(lambda: percent() > 0, "feed by the service's own strength")
    valve.begins()
    assert valve.feed == valve.percent
    count = len(heard)
    assert client.ask(requests, {"id": "2", "who": "a test", "request": "hold", "bench": "east"})["done"]
    wait_for(lambda: percent() == 0 and len(heard) > count, "plain water by the hold")
    assert valve.feed == 0
    assert client.ask(requests, {"id": "3", "who": "a test", "request": "release", "bench": "east"})["done"]
    wait_for(lambda: percent() > 0, "feed after the hold")
    fed_daemon.stop()
    percent()  # its report at the end
    valve.waits(PATIENCE_S)
    assert valve.percent == 0
