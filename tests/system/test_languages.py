"""Every word that people read comes out of one table: in another language no English is left, and in English the words of
before."""
import json
import shutil

import pytest

import pseudo
from board import LISTEN, ask, port_of
from conftest import ROOT, run
from mqtt5 import Client
from notice_season import BASE, REQUESTS, SEASON, House, Notices, play
from season import rehearse, simulate, tern_bank_settings

TAKES_S = 60

NAMES = ("east", "south", "west", "line", "drip", "moss", "ledge", "Ines", "tom", "testing", "litres", "absence-begun", "absence-ended")
DATA = ROOT / "tests" / "data" / "season"


@pytest.fixture(scope="module")
def language(tmp_path_factory):
    return pseudo.write(tmp_path_factory.mktemp("languages") / "pseudo")


def english_in(text):
    """Of a text that people read, what is English; ids of notices are names."""
    return pseudo.unaccented(text, NAMES)


class ReadByPeople:
    """All that this house says, by where it was read."""

    def __init__(self):
        self.texts = {}

    def take(self, where, *texts):
        self.texts.setdefault(where, []).extend(text for text in texts if text)

    def check(self, *wheres):
        """Nothing is English, and nowhere is nothing."""
        assert not [where for where in wheres if not self.texts.get(where)], "where nothing was read"
        faults = {f"{where}: {english_in(text)} of: {text}" for where in wheres for text in self.texts[where] if "⟦" not in text or english_in(text)}
        assert not faults, "\n".join(sorted(faults))


class Asking(House):
    """Whose replies are read."""

    def __init__(self, client, read):
        super().__init__(client)
        ask = client.ask

        def asked(topic, request, **options):
            reply = ask(topic, request, **options)
            read.take("reply", reply["text"])
            return reply
        client.ask = asked


def test_a_house_of_another_language_says_nothing_in_english(make_daemon, broker, language):
    settings = SEASON.replace('board:\n  listen: ""\n', f"{LISTEN}  language: {language}\n") + "placards:\n  width: 80\n  lines: 8\n  ascii: false\n"
    daemon = make_daemon(settings, name="season")
    daemon.start(more=["--stand-in-pumps"])
    port, read = port_of(daemon), ReadByPeople()
    with Client(broker.port) as client:
        heard, placards = Notices(client), client.subscribe(f"{BASE}/benches/+/placard")
        house = Asking(client, read)
        play(house, heard, daemon)
        for request in ({"request": "release", "bench": "south"}, {"request": "extend", "bench": "east"}, {"request": "arm", "pump": "lime"},
                        {"request": "hold", "bench": "aest"}, {"request": "watered", "bench": "east", "litres": 0}, {"request": "dance"},
                        {"request": "watered", "bench": "west", "litres": 3}, {"request": "hold", "bench": "west", "until": "2020-01-01T00:00:00Z"},
                        {"request": "disarm", "pump": "line"}, {"request": "move", "bench": "south", "to": "indoors"}):
            house.client.ask(REQUESTS, {"id": f"late-{json.dumps(request)}"[:90], "who": "Ines", **request})
        now = ask(port, "/api/now").json()
        read.take("need", *(need["text"] for need in now["needs"]))
        for bench in now["benches"]:
            read.take("because", bench["because"])
            read.take("question", *bench["questions"])
        before = ""
        while before is not None:
            page = ask(port, f"/api/ledger?limit=500{before}").json()
            read.take("ledger", *(row["text"] for row in page["rows"]))
            before = f"&before={page['before']}" if page["before"] else None
        read.take("season", *(hold["text"] for bench in ask(port, "/api/season").json()["benches"] for hold in bench["holds"]))
        daemon.stop()
        for lines in heard.lines.values():
            read.take("line", *(line.payload.decode() for line in list(lines)))
        for notice in heard.all():
            read.take("notice", notice["text"], *(other["text"] for other in notice["with"]))
        read.take("placard", *(line for message in list(placards) for line in message.payload.decode().split("\n") if line not in NAMES))
    assert len(read.texts["ledger"]) > 60 and len(set(read.texts["line"])) > 60
    read.check("need", "because", "ledger", "season", "line", "notice", "placard", "reply")


def test_a_season_reads_word_for_word_as_it_did(tmp_path):
    """Of the same decisions; a detector that has learnt decides otherwise here and there."""
    settings = tmp_path / "tern-bank.yaml"
    settings.write_text(tern_bank_settings().format(url="mqtt://127.0.0.1:1", store=tmp_path / "none.db"))
    lines = rehearse(settings, simulate("--interval", "60m"), tmp_path, "--requests", DATA / "requests.jsonl").splitlines()
    now = {}
    for decision in map(json.loads, lines):
        now.setdefault((decision["time"], decision["bench"], decision["decision"], decision["cause"]), []).append(decision["text"])
    before = [row.split("\t") for row in (DATA / "texts.tsv").read_text().splitlines()]
    same = [(now[tuple(row[:4])], row[4]) for row in before if tuple(row[:4]) in now]
    assert len(same) > len(before) / 2
    for texts, text in same:
        assert text in texts


def test_a_translators_faults_are_named_by_line(tmp_path, language):
    folder, settings = tmp_path / "faulty", tmp_path / "house.yaml"
    shutil.copytree(language, folder)
    table = (folder / "sentences.yaml").read_text().splitlines()
    chill = next(n for n, row in enumerate(table) if row.startswith("chill: "))
    table[chill] = table[chill].replace("{air}", "{aire}")
    table = [row for row in table if not row.startswith("hold.placed: ")] + ['hold.plaiced: "x"']
    (folder / "sentences.yaml").write_text("\n".join(table) + "\n")
    text = (ROOT / "config" / "sample.yaml").read_text()
    assert "\nboard:\n" in text
    settings.write_text(text.replace("\nboard:\n", f"\nboard:\n  language: {folder}\n", 1).replace("\n  language: en\n", "\n"))
    checked = run("plainwater", "check", settings)
    assert checked.returncode == 0, checked.stderr
    line = 1 + next(n for n, row in enumerate(table) if row.startswith("chill: "))
    assert f"sentences.yaml:{line}: chill: it has no argument {{aire}}; English is said there; it may use" in checked.stderr
    assert f"sentences.yaml:{len(table)}: there is no sentence hold.plaiced" in checked.stderr
    assert "sentences are missing, and said in English: chill" not in checked.stderr and "said in English: hold.placed" in checked.stderr
    settings.write_text(settings.read_text().replace(f"language: {folder}", f"language: {tmp_path}/none"))
    refused = run("plainwater", "check", settings)
    assert refused.returncode == 1 and "board.language: " in refused.stderr and "none/sentences.yaml cannot be read" in refused.stderr
