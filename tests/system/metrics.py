"""Reads scrapes for tests."""
import base64
import re
import subprocess
import urllib.error
import urllib.request

LINE = re.compile(r"^([a-zA-Z_:][a-zA-Z0-9_:]*)(?:\{(.*)\})? (\S+)$")
LABEL = re.compile(r'([a-z_]+)="((?:[^"\\]|\\.)*)"')


def scrape(port, user=None, password=None):
    """The text; raises HTTPError."""
    request = urllib.request.Request(f"http://127.0.0.1:{port}/metrics")
    if user is not None:
        request.add_header("Authorization", "Basic " + base64.b64encode(f"{user}:{password}".encode()).decode())
    with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(request, timeout=20) as answer:
        return answer.read().decode()


def samples(text):
    """{(name, frozenset of labels): value} of plainwater's own figures and those of its process."""
    found = {}
    for line in text.splitlines():
        if line.startswith("#"):
            continue
        name, labels, value = LINE.match(line).groups()
        if name.startswith("exposer_"):
            continue
        key = name, frozenset(LABEL.findall(labels or ""))
        assert key not in found, f"published twice: {line}"
        found[key] = float(value)
    return found


def value(text, name, **labels):
    """The one sample with exactly these labels; None if there is none."""
    return samples(text).get((name, frozenset(labels.items())))


def promtool(*arguments, text=None, folder=None):
    """promtool's output; it must be satisfied."""
    result = subprocess.run(["promtool", *map(str, arguments)], input=text, capture_output=True, text=True, timeout=300, cwd=folder)
    assert result.returncode == 0, result.stdout + result.stderr
    return result.stdout + result.stderr
