"""`plainwater person`: secrets become hashes in files, and are never shown."""
import os
import pty
import re
import stat
import termios

import pytest

from board import LISTEN
from conftest import PATIENCE, run, spawn, wait_for
from signing import SECRET, people


def test_a_person_is_added_and_only_a_hash_is_kept(tmp_path, make_daemon):
    made = run("plainwater", "person", "add", "ines", "--settings", tmp_path / "testing.yaml", "--role", "keeper", input=SECRET + "\n")
    assert made.returncode == 0, made.stderr
    file = tmp_path / "ines.secret"
    text = file.read_text()
    assert text.startswith("$scrypt$ln=15,r=8,p=1$") and text.count("\n") == 1
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert SECRET not in made.stdout + made.stderr + text
    section = re.search(r"^people:\n(?:  .*\n)+", made.stdout, re.M)[0]
    daemon = make_daemon(more=LISTEN + section)
    checked = run("plainwater", "check", daemon.settings)
    assert checked.returncode == 0, checked.stderr
    values = run("plainwater", "check", daemon.settings, "--print").stdout
    assert f"  ines:\n    secret_file: {file}\n    role: keeper\n" in values, values
    assert list(tmp_path.glob("*.part")) == []

    again = run("plainwater", "person", "add", "ines", "--settings", daemon.settings, input="another secret\n")
    assert again.returncode == 1 and "--replace" in again.stderr and file.read_text() == text
    file.chmod(0o640)
    other = run("plainwater", "person", "add", "ines", "--settings", daemon.settings, "--replace", input="another secret\n")
    assert other.returncode == 0 and file.read_text() != text and stat.S_IMODE(file.stat().st_mode) == 0o640
    assert "plainwater reload" in other.stdout and "role:" not in other.stdout, "the role stays what the settings give"

    listed = run("plainwater", "person", "list", "--settings", daemon.settings)
    assert listed.returncode == 0 and f"ines  keeper  {file}" in listed.stdout
    for secret, code in [("another secret", 0), (SECRET, 1)]:
        tried = run("plainwater", "person", "check", "ines", "--settings", daemon.settings, input=secret + "\n")
        assert tried.returncode == code and secret not in tried.stdout + tried.stderr
    assert run("plainwater", "person", "check", "nobody", "--settings", daemon.settings, input="x\n").returncode == 1


@pytest.mark.parametrize("name, secret, says", [
    ("ines", "short", "5 characters and could be guessed; it needs 8"), ("ines", "", "0 characters"), ("ines", "bell\x07in the secret", "control characters"),
    ("in/es", SECRET, "expected a person's name"), ("in es", SECRET, "expected a person's name"), ("<b>", SECRET, "expected a person's name"), ("+", SECRET, "expected a person's name")])
def test_what_is_no_name_or_no_secret_is_refused_with_the_reason(tmp_path, name, secret, says):
    done = run("plainwater", "person", "add", name, "--secret-file", tmp_path / "file", input=secret + "\n")
    assert done.returncode == 1 and says in done.stderr and not (tmp_path / "file").exists()
    if len(secret) > 6:
        assert secret not in done.stderr


def test_a_secret_can_be_made_and_is_shown_once(tmp_path):
    done = run("plainwater", "person", "add", "ines", "--secret-file", tmp_path / "file", "--generate")
    assert done.returncode == 0, done.stderr
    secret, = re.findall(r"\b(?:[a-z2-9]{3}-){5}[a-z2-9]{3}\b", done.stdout)
    assert done.stdout.count(secret) == 1 and secret not in (tmp_path / "file").read_text()


def test_a_terminal_is_asked_twice_and_shows_nothing(tmp_path):
    def typed(first, second):
        ours, theirs = pty.openpty()

        def own_terminal():
            os.setsid()
            os.close(os.open(os.ttyname(0), os.O_RDWR))  # becomes the controlling one
        process = spawn("plainwater", "person", "add", "ines", "--secret-file", tmp_path / "file", stdin=theirs, stdout=theirs, stderr=theirs, preexec_fn=own_terminal)
        os.close(theirs)
        seen, answers = "", [first, second]
        while True:
            try:
                part = os.read(ours, 4096).decode()
            except OSError:
                break
            if not part:
                break
            seen += part
            if answers and seen.count("Secret of ines:") > 2 - len(answers):
                # Nobody types as fast as a prompt comes: what is typed from here on is not shown.
                wait_for(lambda: not termios.tcgetattr(ours)[3] & termios.ECHO, "the terminal to show nothing")
                os.write(ours, answers.pop(0).encode() + b"\n")
        os.close(ours)
        return process.wait(PATIENCE), seen
    code, seen = typed(SECRET, "seven damp fern")
    assert code == 1 and "not the same twice" in seen and not (tmp_path / "file").exists()
    code, seen = typed(SECRET, SECRET)
    assert code == 0 and SECRET not in seen and (tmp_path / "file").exists(), seen


def test_check_names_a_file_that_is_missing_open_or_no_hash(tmp_path, make_daemon):
    daemon = make_daemon(more=LISTEN + people(tmp_path, ines="care"))
    file = tmp_path / "ines.secret"
    whole = file.read_text()

    def found():
        done = run("plainwater", "check", daemon.settings)
        return done.returncode, done.stderr
    assert found()[0] == 0
    file.chmod(0o644)
    code, said = found()
    assert code == 1 and "people.ines.secret_file: everybody on this machine may use" in said
    file.chmod(0o600)
    for text, says in [(SECRET + "\n", "a secret itself must not stand there"), ("", "holds nothing"), (whole[:-9], "make it anew")]:
        file.write_text(text)
        code, said = found()
        assert code == 1 and says in said and "people.ines.secret_file" in said and SECRET not in said, said
    file.unlink()
    code, said = found()
    assert code == 1 and f"there is no {file}" in said


def test_a_folder_that_nobody_may_look_into_is_told(tmp_path):
    """A link that leads to itself cannot be looked through by root either."""
    (tmp_path / "loop").symlink_to("loop")
    done = run("plainwater", "person", "add", "ines", "--secret-file", tmp_path / "loop" / "file", input=SECRET + "\n")
    assert done.returncode == 1 and "cannot be looked at" in done.stderr, (done.returncode, done.stderr)
