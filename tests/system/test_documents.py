"""The documents: commands and options in them exist, links lead somewhere, generated parts are up to date, and the two that
everybody reads first are short."""
import functools
import re
import subprocess

import pytest

from conftest import BIN, ROOT
from programs import environment


def is_ours(path):
    """False for files of tools: pytest's own cache contains a README.md after the first run."""
    folders = path.relative_to(ROOT).parts[:-1]
    return not {"node_modules", "build"} & set(folders) and not any(folder.startswith(".") for folder in folders)


DOCUMENTS = sorted(filter(is_ours, ROOT.rglob("*.md")))
PROGRAMS = {"plainwaterd", "plainwater-sim", "pump-stand-in"}
LARGEST = {"README.md": 9_000, "DEVELOPERS.md": 10_000}
FOLDERS = ("daemon", "tools", "tests", "config", "deploy", "sql")


def name_of(path):
    return str(path.relative_to(ROOT))


@functools.cache
def help_of(*command):
    done = subprocess.run([*command, "--help"], capture_output=True, text=True, env=environment(None))
    assert done.returncode == 0, f"{command}: {done.stderr}"
    return done.stdout


def program_of(words):
    """The command whose --help lists the options of these words; None: not a command of ours."""
    if words[0] == "plainwater":
        return (BIN / "plainwater", words[1]) if len(words) > 1 and re.fullmatch("[a-z][a-z-]+", words[1]) else None
    if words[0] in PROGRAMS:
        return (BIN / words[0],)
    script = re.fullmatch(r"tools/([a-z-]+)", words[0])
    return (ROOT / words[0],) if script and script[1] != "plainwater" and (ROOT / words[0]).is_file() else None


def commands(text):
    """Lines of code blocks, and inline code."""
    blocks = re.findall(r"^ *```[^\n]*\n(.*?)^ *```", text, re.MULTILINE | re.DOTALL)
    rest = re.sub(r"^ *```[^\n]*\n.*?^ *```", "", text, flags=re.MULTILINE | re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines()] + [" ".join(code.split()) for code in re.findall(r"`([^`]+)`", rest)]
    for line in lines:
        words = line.removeprefix("$ ").removeprefix("build/release/bin/").split("#")[0].split()
        if words and (program := program_of(words)):
            yield line, program


def test_there_are_commands_to_check():
    found = [line for document in DOCUMENTS for line, _ in commands(document.read_text())]
    assert len(found) > 60


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_its_commands_have_the_options_that_it_shows(document):
    for line, program in commands(document.read_text()):
        known = set(re.findall(r"(?<![\w-])--?[a-zA-Z][\w-]*", help_of(*program)))
        for option in re.findall(r"(?<![\w-])--[a-z][a-z-]*", line.split(" # ")[0].split(" | ")[0]):
            assert option in known, f"{line}: no {option}"


def anchors(path):
    """Anchors as Markdown viewers make them from headings."""
    headings = re.findall(r"^#+ (.*)$", path.read_text(), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_its_links_lead_somewhere(document):
    text = document.read_text()
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match("https?://", target):
            continue
        file, _, anchor = target.partition("#")
        path = (document.parent / file).resolve() if file else document
        assert path.exists(), target
        assert not anchor or anchor in anchors(path), target
    for path in re.findall(r"`((?:%s)/[\w./-]*)`" % "|".join(FOLDERS), text):
        assert (ROOT / path).exists() or (document.parent / path).exists(), path


@pytest.mark.parametrize("document", LARGEST)
def test_it_is_short(document):
    assert (ROOT / document).stat().st_size <= LARGEST[document]


def test_generated_parts_match_the_code():
    done = subprocess.run([ROOT / "tools" / "document", "--check"], capture_output=True, text=True, env=environment(None) | {"PLAINWATER_BIN": str(BIN)})
    assert done.returncode == 0, done.stderr
