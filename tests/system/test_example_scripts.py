"""deploy/examples/shell: the scripts over a real broker, with hostile payloads, silence and outages."""
import os
import shutil
import signal
import subprocess

import pytest

from conftest import ROOT, SETTINGS, wait_for
from houses import EAST_PUMP
from pump import BASE, DOSED, STRENGTH

EXAMPLES = ROOT / "deploy" / "examples"


class Script:
    """A running example; `recorder` writes its arguments to a file, one line per call."""

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
    """The user's command, and what it has recorded so far."""
    command, record = folder / f"recorder-{len(list(folder.glob('recorder-*')))}", folder / "record"
    record.touch()
    command.write_text(f"#!/bin/sh\n{body} >>{record}\n")
    command.chmod(0o755)
    return command, lambda: record.read_text().splitlines()


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


def test_every_whole_percent_passes_the_strength_script(follow_strength, client):
    _, record = follow_strength()
    for percent in range(101):
        client.publish(STRENGTH, str(percent))
    gives(record, 100)
    assert record()[-101:] == [f"valve {percent}" for percent in range(101)]


def test_silence_is_plain_water_to_the_strength_script(follow_strength, client):
    running, record = follow_strength(PATIENCE="2")
    client.publish(STRENGTH, "45")
    wait_for(lambda: record()[-2:] == ["valve 45", "valve 0"], "45 %, and plain water after it")
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


def test_a_failed_command_is_tried_again(script, broker, client, tmp_path):
    broken = tmp_path / "broken"
    broken.touch()
    command, record = recorder(tmp_path, f'test -e {broken} && exit 1; echo "$@"')
    running = script("strength.sh", "-p", broker.port, "-t", STRENGTH, command, "valve")
    wait_for(lambda: running.err.read_text().count("failed at 0") > 1, "a second try")
    assert record() == []
    broken.unlink()
    wait_for(lambda: record() == ["valve 0"], "the third try")


def test_the_notices_script_sorts_by_urgency(script, broker, client, tmp_path):
    urgent, record = recorder(tmp_path, 'printf "loud %s: %s\\n" "$1" "$(cat)"')
    soon, _ = recorder(tmp_path, 'printf "quiet %s: %s\\n" "$1" "$(cat)"')
    running = script("notices.sh", "-p", broker.port, "-b", BASE, "-u", urgent, "-s", soon)

    def say(urgency, text):
        client.publish(f"{BASE}/notices/{urgency}", text)
    heard = lambda mark, urgency: (say(urgency, "Are you there?"), f"{mark} {urgency}: Are you there?" in record())[1]  # noqa: E731
    wait_for(lambda: heard("loud", "urgent") and heard("quiet", "soon"), "both listeners")
    say("info", "A digest.")
    hostile = 'The air of bench east fell to 9.6 °C; $(exit 3) `exit 3` "quoted" \\n %s *'
    say("urgent", hostile)
    say("urgent", "-rf --help")
    say("soon", "first\nurgent: second\a")
    say("urgent", "The last one.")
    wait_for(lambda: "loud urgent: The last one." in record() and any("second" in line for line in record()), "the last of them")
    lines = record()
    assert f"loud urgent: {hostile}" in lines
    assert "loud urgent: -rf --help" in lines and "quiet soon: first" in lines and "quiet soon: urgent: second" in lines
    assert not any("digest" in line for line in lines)
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


def test_a_notice_of_the_real_service_comes_through(script, broker, make_daemon, client, tmp_path):
    # No pump may follow the previous order, which in summer allows as much.
    make_daemon(SETTINGS.replace(EAST_PUMP, EAST_PUMP + "    grace_minutes: 0\n")).start()
    program, record = recorder(tmp_path, 'read -r text; echo "$1: $text"')
    script("notices.sh", "-p", broker.port, "-b", BASE, "-u", program, "-s", program, "-i", program)
    listener = client.subscribe(f"{BASE}/notices/+")
    probe = lambda urgency: (client.publish(f"{BASE}/notices/{urgency}", "probe"), f"{urgency}: probe" in record())[1]  # noqa: E731
    wait_for(lambda: all([probe(urgency) for urgency in ("urgent", "soon", "info")]), "all listeners")
    for number, what in enumerate(({"request": "arm", "pump": "east"}, {"request": "hold", "bench": "east"})):
        assert client.ask(f"{BASE}/requests", {"id": str(number), "who": "a test", **what})["done"]
    # Feed in spite of the hold: that is urgent, and sent at any hour.
    client.publish(DOSED, {"pump": "east", "litres": 50, "feed_ml": 500, "strength_percent": 100})
    said = wait_for(lambda: [m for m in listener if m.payload != b"probe" and m.topic.endswith("/urgent")], "a notice of the service")[0]
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
def test_wrong_usage_is_reported(script, name, arguments):
    running = script(name, *arguments)
    assert running.process.wait(30) == 2
    assert name in running.err.read_text()


@pytest.mark.skipif(not shutil.which("shellcheck"), reason="shellcheck is not installed")
def test_the_scripts_are_clean():
    result = subprocess.run(["shellcheck", *sorted((EXAMPLES / "shell").glob("*.sh"))], capture_output=True, text=True)
    assert result.returncode == 0, result.stdout
