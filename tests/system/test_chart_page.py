"""`plainwater rehearse --chart season.html`: one self-contained file, with the nights of the CSV."""
import csv
import datetime
import html.parser
import json
import re

import pytest

from conftest import ROOT, run
from season import simulate

STRETCH = ("--interval", "60m", "--from", "2026-08-20", "--to", "2026-11-10")
RUNS = ("counted", "position", "feeding", "strength_percent")


class Page(html.parser.HTMLParser):
    """Its elements, and the text of its styles and scripts."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.texts, self.declared, self.within = [], {}, None, None
        self.feed(text)
        self.close()

    def handle_decl(self, decl):
        self.declared = decl

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        self.within = dict(attrs).get("id", tag)

    def handle_endtag(self, tag):
        self.within = None

    def handle_data(self, data):
        self.texts[self.within] = self.texts.get(self.within, "") + data


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """(page, its text, nights, decisions) of a rehearsal with a person whose name is hostile markup."""
    folder = tmp_path_factory.mktemp("page")
    (folder / "readings.csv").write_text(simulate(*STRETCH))
    request = {"time": "2026-10-20T10:00:00Z", "id": "r1", "who": "</script><!-- <script>", "request": "hold", "bench": "mist", "until": "2026-12-24T00:00:00Z"}
    (folder / "requests.jsonl").write_text(json.dumps(request) + "\n")
    result = run("plainwater", "rehearse", "--settings", ROOT / "config" / "tern-bank.yaml", "--readings", folder / "readings.csv", "--requests", folder / "requests.jsonl",
                 "--nights", folder / "nights.csv", "--decisions", folder / "decisions.jsonl", "--chart", folder / "season.html")
    assert result.returncode == 0, result.stderr
    text = (folder / "season.html").read_text()
    # A revised night is there twice; the last row counts.
    nights = {(n["bench"], n["night"]): n for n in csv.DictReader(open(folder / "nights.csv"))}
    return Page(text), text, list(nights.values()), [json.loads(line) for line in open(folder / "decisions.jsonl")]


def test_it_is_one_file_that_loads_nothing(made):
    page, text, _, _ = made
    assert page.declared == "DOCTYPE html" and ("html", {"lang": "en"}) in page.elements and page.texts["title"].startswith("tern-bank")
    for tag, attributes in page.elements:
        assert tag not in ("link", "img", "iframe", "object", "embed", "base", "form"), (tag, attributes)
        assert "src" not in attributes and not any(name.startswith("on") for name in attributes), (tag, attributes)
    policy = next(a["content"] for tag, a in page.elements if tag == "meta" and a.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none'; ") and "http" not in policy and "connect-src" not in policy
    # An XML name space, and the address of a licence; neither is loaded.
    places = {place for place in re.findall(r"https?://[^\s\"'`)<]+", text) if not place.endswith("/LICENSE.txt")}
    assert places == {"http://www.w3.org/2000/svg"}
    assert not re.search(r"\bfetch\(|EventSource|WebSocket|sendBeacon|importScripts", text)
    assert not re.search(r"@import|url\(\s*['\"]?(?!data:|#)", page.texts["style"])
    assert not re.search(r"sourceMappingURL|\beval\(|new Function\(", page.texts["script"])


def test_it_contains_the_styles_and_scripts_of_the_page(made):
    page, _, _, _ = made
    folder = ROOT / "daemon" / "board" / "pages"
    names = (folder / "season.files").read_text().split()
    assert len(names) > 5
    for name in names:
        if (folder / name).exists():
            assert (folder / name).read_text() in page.texts["style" if name.endswith(".css") else "script"], name
    assert "Dygraph" in page.texts["script"]


def test_its_nights_are_those_of_the_csv(made):
    page, _, nights, decisions = made
    season = json.loads(page.texts["season-data"])
    assert season["site"] == {"name": "tern-bank", "time_zone": "Europe/London", "unit": "celsius"}
    assert season["from"] == min(n["night"] for n in nights) and season["to"] == max(n["night"] for n in nights)
    count = 0
    for bench in season["benches"]:
        columns = {key: [word for word, times in bench[key] for _ in range(times)] for key in RUNS}
        first = datetime.date.fromisoformat(bench["first_night"])
        for n in (n for n in nights if n["bench"] == bench["name"]):
            i = (datetime.date.fromisoformat(n["night"]) - first).days
            count += 1
            assert columns["feeding"][i] == n["feeding"] and columns["position"][i] == n["position"]
            assert columns["strength_percent"][i] == (0 if n["feeding"] == "plain-water" else int(n["strength_percent"]))
            for key in ("mean_c", "minimum_c", "acclimated_c", "metabolic_rate"):
                value = bench[key][i]
                assert value is None if n[key] in ("", "null", "nan") else abs(value - float(n[key])) < 0.0051, (bench["name"], n["night"], key)
    assert count == len(nights) > 300
    placed = {(d["bench"], d["hold"]["id"]): d["text"] for d in decisions if d["decision"] == "hold-placed"}
    assert {(b["name"], h["id"]): h["text"] for b in season["benches"] for h in b["holds"]} == placed
    assert any("</script><!-- <script>" in text for text in placed.values())


def test_a_picture_stays_a_picture_and_a_missing_folder_is_reported(tmp_path):
    (tmp_path / "r.csv").write_text(simulate("--interval", "60m", "--from", "2026-08-20", "--to", "2026-08-25"))
    common = ("rehearse", "--settings", ROOT / "config" / "tern-bank.yaml", "--readings", tmp_path / "r.csv", "--decisions", tmp_path / "d.jsonl", "--chart")
    assert run("plainwater", *common, tmp_path / "s.svg").returncode == 0
    assert (tmp_path / "s.svg").read_text().startswith("<svg")
    failed = run("plainwater", *common, tmp_path / "nowhere" / "s.html")
    assert failed.returncode != 0 and "cannot be written" in failed.stderr


def test_without_a_night_there_is_still_a_page(tmp_path):
    (tmp_path / "r.csv").write_text("time,sensor,temperature_c,humidity_percent\n2026-08-20T12:00:00Z,mist-a,20.1,70\n")
    result = run("plainwater", "rehearse", "--settings", ROOT / "config" / "tern-bank.yaml", "--readings", tmp_path / "r.csv", "--decisions", tmp_path / "d.jsonl", "--chart", tmp_path / "s.html")
    assert result.returncode == 0, result.stderr
    season = json.loads(Page((tmp_path / "s.html").read_text()).texts["season-data"])
    assert all(bench["nights"] == 0 for bench in season["benches"]) and season["years"] == []
