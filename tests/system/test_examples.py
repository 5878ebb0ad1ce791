"""deploy/examples: the microcontroller's valve, compiled and driven, and the shell scripts over a real broker."""
import ctypes
import os
import pathlib
import random
import shutil
import signal
import subprocess

import pytest

from conftest import ROOT, wait_for
from pump import BASE, STRENGTH

EXAMPLES = ROOT / "deploy" / "examples"
STRICT = ["cc", "-std=c99", "-ffreestanding", "-Wall", "-Wextra", "-Wpedantic", "-Werror", "-O2"]
PATIENCE_S = 15 * 60


class Valve:
    """valve.c behind ctypes. The struct lies in more memory than it needs, which must stay as it was."""

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
    """Nothing to link against: no allocation, no clock, no library at all."""
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
    assert (valve.percent, valve.feed) == (60, 0)  # the watering that was cut short stays plain
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
    # Nothing at all may be read of what is too long to be one, nor of a null pointer.
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


def test_a_retained_strength_says_nothing(valve):
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


def test_the_valve_in_a_loop_with_the_real_service(valve, daemon, client):
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
    daemon.stop()
    percent()  # what it says at its end
    valve.waits(PATIENCE_S)
    assert valve.percent == 0


class Script:
    """A running example; `recorder` writes what it was told into a file, a line each."""

    def __init__(self, folder, name, *arguments, **environment):
        self.err = folder / f"{name}.err"
        self.process = subprocess.Popen(["sh", EXAMPLES / "shell" / name, *map(str, arguments)], stderr=open(self.err, "a"),
                                        env={**os.environ, "HOME": str(folder), **environment})

    def stop(self, number=signal.SIGTERM):
        self.process.send_signal(number)
        return self.process.wait(30)


@pytest.fixture
def script(tmp_path):
    running = []

    def start(name, *arguments, **environment):
        running.append(Script(tmp_path, name, *arguments, **environment))
        return running[-1]
    yield start
    for one in running:
        if one.process.poll() is None:
            one.stop()


def recorder(folder, body):
    """A command of the user's own, and what it has recorded so far."""
    command, record = folder / f"recorder-{len(list(folder.glob('recorder-*')))}", folder / "record"
    record.touch()
    command.write_text(f"#!/bin/sh\n{body} >>{record}\n")
    command.chmod(0o755)
    return command, lambda: record.read_text().splitlines()


def listening(broker, count=1):
    """Only what comes after the subscription is heard; the broker's log tells how many there have been."""
    log = pathlib.Path(broker.folder / "mosquitto.log")
    wait_for(lambda: log.read_text().count("as ") >= count, "the script to connect")


@pytest.fixture
def follow_strength(script, broker, client, tmp_path):
    def follow(**environment):
        command, record = recorder(tmp_path, 'echo "$@"')
        running = script("strength.sh", "-p", broker.port, "-t", STRENGTH, command, "valve", **environment)
        wait_for(lambda: record() == ["valve 0"], "plain water at the start")

        def heard():
            client.publish(STRENGTH, "1")
            return "valve 1" in record()
        wait_for(heard, "the script to listen")
        return running, record
    return follow


def gives(record, percent):
    wait_for(lambda: record()[-1] == f"valve {percent}", f"{percent} %, not {record()[-3:]}")


def test_the_strength_script_follows_and_ends_with_plain_water(follow_strength, client):
    running, record = follow_strength()
    for percent in (7, 100, 30, 99, 10, 0, 45):
        client.publish(STRENGTH, str(percent))
        gives(record, percent)
    for bad in ("", "+5", " 5", "5\n", "5.0", "1e2", "05", "101", "0\n45", "message 0 3435", "tick\ntick", "45" * 2**19):
        client.publish(STRENGTH, "45")
        gives(record, 45)
        client.publish(STRENGTH, bad)
        gives(record, 0)
    client.publish(STRENGTH, "45")
    gives(record, 45)
    assert running.stop() == 0
    assert record()[-1] == "valve 0"


def test_every_whole_percent_goes_through_the_strength_script(follow_strength, client):
    _, record = follow_strength()
    before = wait_for(lambda: len(record()), "a record")
    for percent in range(101):
        client.publish(STRENGTH, str(percent))
    gives(record, 100)
    assert [line for line in record()[-101:]] == [f"valve {percent}" for percent in range(101)], before


def test_silence_is_plain_water_to_the_strength_script(follow_strength, client):
    running, record = follow_strength(PATIENCE="2")
    client.publish(STRENGTH, "45")
    gives(record, 45)
    gives(record, 0)
    assert "plain water" in running.err.read_text()


def test_the_strength_script_ignores_a_retained_strength(script, broker, client, tmp_path):
    client.publish(STRENGTH, "45", retain=True)
    command, record = recorder(tmp_path, 'echo "$@"')
    running = script("strength.sh", "-p", broker.port, "-t", STRENGTH, command, "valve")
    wait_for(lambda: "no age" in running.err.read_text(), "the refusal")
    assert running.stop() == 0
    assert set(record()) == {"valve 0"}


def test_the_strength_script_outlives_the_broker(follow_strength, broker):
    running, record = follow_strength(PATIENCE="6")
    with broker.client() as client:
        client.publish(STRENGTH, "45")
        gives(record, 45)
    broker.stop()
    gives(record, 0)
    broker.start()
    with broker.client() as client:
        def heard():
            client.publish(STRENGTH, "30")
            return record()[-1] == "valve 30"
        wait_for(heard, "the strength after the restart")
    assert running.process.poll() is None


def test_what_the_command_failed_at_stays_owed(script, broker, client, tmp_path):
    broken = tmp_path / "broken"
    broken.touch()
    command, record = recorder(tmp_path, f'test -e {broken} && exit 1; echo "$@"')
    running = script("strength.sh", "-p", broker.port, "-t", STRENGTH, command, "valve")
    wait_for(lambda: running.err.read_text().count("failed at 0") > 1, "a second try")
    assert record() == []
    broken.unlink()
    wait_for(lambda: record() == ["valve 0"], "the third try")


def test_the_notices_script_tells_by_urgency(script, broker, client, tmp_path):
    urgent, record = recorder(tmp_path, 'read -r text; echo "loud $1: $text"')
    soon, _ = recorder(tmp_path, 'read -r text; echo "quiet $1: $text"')
    running = script("notices.sh", "-p", broker.port, "-b", BASE, "-u", urgent, "-s", soon)

    def say(urgency, text):
        client.publish(f"{BASE}/notices/{urgency}", text)
    heard = lambda mark, urgency: (say(urgency, "Are you there?"), f"{mark} {urgency}: Are you there?" in record())[1]  # noqa: E731
    wait_for(lambda: heard("loud", "urgent") and heard("quiet", "soon"), "both listeners")
    say("info", "A digest.")
    say("urgent", "The air of bench east fell to 9.6 °C; $(exit 3) `exit 3` \"quoted\" \\n *")
    say("urgent", "-rf --help")
    say("soon", "first\nurgent: second\a")
    client.publish(f"{BASE}/notices/urgent", "An old one.", retain=False)
    wait_for(lambda: "loud urgent: An old one." in record() and any("second" in line for line in record()), "the last of them")
    told = record()
    assert "loud urgent: The air of bench east fell to 9.6 °C; $(exit 3) `exit 3` \"quoted\" n *" in told or \
        "loud urgent: The air of bench east fell to 9.6 °C; $(exit 3) `exit 3` \"quoted\" \\n *" in told
    assert "loud urgent: -rf --help" in told and "quiet soon: first" in told and "quiet soon: urgent: second" in told
    assert not any("digest" in line for line in told)
    assert running.stop() == 0


def test_notices_wait_while_the_script_or_the_broker_is_away(script, broker, tmp_path):
    program, record = recorder(tmp_path, "cat")
    arguments = ("notices.sh", "-p", broker.port, "-b", BASE, "-s", program)
    first = script(*arguments, PAUSE="1")
    with broker.client() as client:
        def heard():
            client.publish(f"{BASE}/notices/soon", "Are you there?")
            return record()
        wait_for(heard, "the listener")
    assert first.stop() == 0
    with broker.client() as client:
        client.publish(f"{BASE}/notices/soon", "Said meanwhile.")
    second = script(*arguments, PAUSE="1")
    wait_for(lambda: "Said meanwhile." in record(), "what the broker kept")
    broker.stop()
    broker.start()
    with broker.client() as client:
        client.publish(f"{BASE}/notices/soon", "Said after the restart.")
    wait_for(lambda: "Said after the restart." in record(), "what came after the restart")
    assert second.process.poll() is None


def test_a_notice_of_the_real_service_comes_through(script, broker, daemon, client, tmp_path):
    program, record = recorder(tmp_path, 'read -r text; echo "$1: $text"')
    script("notices.sh", "-p", broker.port, "-b", BASE, "-u", program, "-s", program, "-i", program)
    listener = client.subscribe(f"{BASE}/notices/+")
    probe = lambda urgency: (client.publish(f"{BASE}/notices/{urgency}", "probe"), f"{urgency}: probe" in record())[1]  # noqa: E731
    wait_for(lambda: all([probe(urgency) for urgency in ("urgent", "soon", "info")]), "all listeners")
    assert client.ask(f"{BASE}/requests", {"id": "1", "who": "a test", "request": "watered", "bench": "east", "litres": 2, "strength_percent": 100})["done"]
    said = wait_for(lambda: [m for m in listener if m.payload != b"probe"], "a notice of the service")[0]
    expected = f"{said.topic.rsplit('/', 1)[1]}: {said.payload.decode()}"
    wait_for(lambda: expected in record(), f"{expected}, as the service said it")


def test_a_program_that_fails_leaves_the_notice_in_the_log(script, broker, client, tmp_path):
    running = script("notices.sh", "-p", broker.port, "-b", BASE, "-u", shutil.which("false"), PAUSE="0")

    def logged():
        client.publish(f"{BASE}/notices/urgent", "The store is full.")
        return "urgent: The store is full." in running.err.read_text()
    wait_for(logged, "the log")


@pytest.mark.parametrize("name, arguments", [("strength.sh", ()), ("strength.sh", ("-t", "a")), ("strength.sh", ("-x",)), ("notices.sh", ("-b", "a")),
                                             ("notices.sh", ("-u", "true")), ("notices.sh", ("-b", "a", "-u", "no-such-program"))])
def test_wrong_usage_is_told(script, name, arguments):
    running = script(name, *arguments)
    assert running.process.wait(30) == 2
    assert name in running.err.read_text()


@pytest.mark.skipif(not shutil.which("shellcheck"), reason="shellcheck is not installed")
def test_the_scripts_are_clean():
    result = subprocess.run(["shellcheck", *sorted((EXAMPLES / "shell").glob("*.sh"))], capture_output=True, text=True)
    assert result.returncode == 0, result.stdout
