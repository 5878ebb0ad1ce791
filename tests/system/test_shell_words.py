"""Words that a shell completes, in the shells themselves, and the manual pages."""
import os
import pty
import re
import subprocess

import pytest

from conftest import SETTINGS, run, wait_for
from programs import BIN, environment
from waiting import PATIENCE

SHOWN = ["check", "show", "hold", "release", "arm", "watered", "dose", "rehearse", "export", "audit", "backup", "restore"]


@pytest.fixture
def house(tmp_path):
    path = tmp_path / "house.yaml"
    path.write_text(SETTINGS.format(url="mqtt://127.0.0.1:1", store=tmp_path / "house.db", more=""))
    return path


@pytest.fixture
def scripts(tmp_path):
    """The scripts as a person would keep them."""
    for shell in ("bash", "zsh", "fish"):
        printed = run("plainwater", "completion", shell)
        assert printed.returncode == 0 and "complet" in printed.stdout
        (tmp_path / shell).write_text(printed.stdout)
    return tmp_path


def path_first():
    return environment({**os.environ, "PATH": f"{BIN}:{os.environ['PATH']}"})


def offered(scripts, *words):
    """What bash offers for the last of these words."""
    script = ('source "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); $(complete -p plainwater | sed "s/.*-F //; s/ .*//"); '
              'printf "%s\\n" "${COMPREPLY[@]}"')
    done = subprocess.run(["bash", "--norc", "-c", script, "bash", scripts / "bash", "plainwater", *map(str, words)], capture_output=True, text=True,
                          env=path_first(), cwd=scripts)
    assert done.returncode == 0 and not done.stderr, done.stderr
    return done.stdout.split()


def test_bash_offers_commands_and_options(scripts):
    commands = offered(scripts, "")
    assert set(SHOWN) <= set(commands) and "complete" not in commands and "manual" not in commands
    assert offered(scripts, "re") == ["release", "retire", "reload", "rehearse", "restore"]
    assert offered(scripts, "hold", "--un") == ["--until"]
    assert "--litres" in offered(scripts, "watered", "--") and "--litres" not in offered(scripts, "hold", "--")
    assert offered(scripts, "no-such-command", "") == []


def test_bash_offers_the_names_of_the_house(scripts, house):
    named = ("--settings", house)
    assert offered(scripts, "hold", *named, "") == ["east", "west"]
    assert offered(scripts, *named, "hold", "e") == ["east"]
    assert offered(scripts, "hold", "--settings", "=", house, "w") == ["west"]  # as bash splits --settings=FILE
    assert offered(scripts, "arm", *named, "") == ["east"]
    assert offered(scripts, "hold", *named, "east", "") == []  # one bench is enough
    assert offered(scripts, "acknowledge", *named, "sensor-") == ["sensor-silent/", "sensor-doubted/"]
    assert offered(scripts, "acknowledge", *named, "sensor-silent/e") == ["sensor-silent/east-air"]
    assert "east" in offered(scripts, "acknowledge", *named, "")
    house.write_text(house.read_text().replace("  east:\n    group", "  dawn:\n    group").replace("benches: [east]", "benches: [dawn]"))
    assert offered(scripts, "hold", *named, "") == ["dawn", "west"]  # never older than the settings


def test_bash_offers_what_an_option_takes(scripts, house):
    assert offered(scripts, "move", "east", "--to", "") == ["outdoors", "indoors"]
    assert offered(scripts, "hold", "east", "--until", "t") == ["today", "tomorrow"]
    assert offered(scripts, "rehearse", "--readings", "hou") == ["house.yaml"]
    assert offered(scripts, "check", "hou") == ["house.yaml"]
    assert offered(scripts, "watered", "east", "--litres", "") == []


def test_without_settings_no_name_is_offered(scripts):
    assert offered(scripts, "hold", "--settings", scripts / "none.yaml", "") == []


def test_a_pipe_in_place_of_settings_is_not_waited_for(scripts):
    os.mkfifo(scripts / "pipe")
    done = run("plainwater", "complete", "hold", "--settings", scripts / "pipe", "", timeout=PATIENCE)
    assert done.returncode == 0 and done.stdout == "", done.stdout + done.stderr


def test_a_key_press_completes_in_a_running_bash(scripts):
    main, side = pty.openpty()
    shell = subprocess.Popen(["bash", "--norc", "--noprofile", "-i"], stdin=side, stdout=side, stderr=side, env={**path_first(), "PS1": "ready> ", "TERM": "dumb"},
                             start_new_session=True, cwd=scripts)
    os.close(side)
    os.set_blocking(main, False)
    seen = bytearray()

    def shows(text):
        try:
            seen.extend(os.read(main, 65536))
        except BlockingIOError:
            pass
        return text in seen
    try:
        wait_for(lambda: shows(b"ready> "), "the prompt")
        os.write(main, b"source ./bash\n")
        wait_for(lambda: shows(b"ready> ") and seen.count(b"ready> ") >= 2, "the script")
        os.write(main, b"plainwater growth-st\t")
        wait_for(lambda: shows(b"plainwater growth-started "), "the completed word")
    finally:
        shell.kill()
        shell.wait()
        os.close(main)


def test_fish_offers_commands_and_names(scripts, house):
    def offers(line):
        done = subprocess.run(["fish", "--no-config", "-c", f"source {scripts / 'fish'}; complete -C '{line}'"], capture_output=True, text=True,
                              env=path_first(), cwd=scripts)
        assert done.returncode == 0 and not done.stderr, done.stderr
        return [line.split("\t")[0] for line in done.stdout.splitlines()]
    assert offers("plainwater grow") == ["growth-started"]
    assert offers(f"plainwater hold --settings {house} ") == ["east", "west"]


def test_zsh_reads_its_script(scripts):
    done = subprocess.run(["zsh", "-f", "-n", scripts / "zsh"], capture_output=True, text=True)
    assert done.returncode == 0 and not done.stderr, done.stderr
    assert (scripts / "zsh").read_text().startswith("#compdef plainwater\n")


@pytest.fixture
def pages(tmp_path):
    folder = tmp_path / "man"
    assert run("plainwater", "manual", "--into", folder).returncode == 0
    (folder / "plainwaterd.8").write_text(run("plainwaterd", "--manual").stdout)
    (folder / "plainwater-sim.1").write_text(run("plainwater-sim", "--manual").stdout)
    return folder


def test_every_manual_page_is_read_without_a_warning(pages):
    names = {path.name for path in pages.iterdir()}
    assert {"plainwater.1", "plainwater-hold.1", "plainwater-watered.1", "plainwater.yaml.5", "plainwaterd.8", "plainwater-sim.1"} <= names
    assert {f"plainwater-{command}.1" for command in SHOWN} <= names and "plainwater-manual.1" not in names
    for path in pages.iterdir():
        done = subprocess.run(["groff", "-man", "-ww", "-Kutf8", "-Tutf8", "-P-cbou", path], capture_output=True, text=True)
        assert done.returncode == 0 and not done.stderr, (path.name, done.stderr)
        assert "NAME" in done.stdout


def test_the_pages_say_what_the_help_says(pages):
    """Each option of the help is in its page, and each key of the settings in theirs."""
    for command in SHOWN:
        text = (pages / f"plainwater-{command}.1").read_text().replace("\\-", "-")
        options = re.findall(r"^  (?:-\w,)?(--[a-z-]+)", run("plainwater", command, "--help").stdout, re.MULTILINE)
        assert "--help" in options and not [option for option in options if f"\\fB{option}\\fR" not in text]
    keys = [line.strip() for line in run("plainwater", "check", "--keys").stdout.splitlines() if line.startswith("  ") and not line.startswith("   ")]
    page = (pages / "plainwater.yaml.5").read_text().replace("\\-", "-")
    assert len(keys) > 100 and not [key for key in keys if f"\\fB{key}\\fR" not in page]


def test_a_page_that_is_not_there_is_told_with_those_that_are():
    done = run("plainwater", "manual", "hlod")
    assert done.returncode == 1 and "there is no page hlod; there are: plainwater" in done.stderr
    assert run("plainwater", "manual", "hold").stdout == run("plainwater", "manual", "plainwater-hold").stdout
