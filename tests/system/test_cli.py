"""The command line: exit codes, messages, and what a rehearsal promises."""
import gzip
import json

import pytest

from conftest import ROOT, SETTINGS, run
from season import rehearse, simulate, tern_bank_settings

SEASON = ("--interval", "60m", "--to", "2027-02-01")


@pytest.fixture
def settings(tmp_path):
    path = tmp_path / "tern-bank.yaml"
    path.write_text(tern_bank_settings().format(url="mqtt://127.0.0.1:1", store=tmp_path / "none.db"))
    return path


@pytest.fixture(scope="module")
def season():
    return simulate(*SEASON)


def test_the_sample_settings_are_good():
    for name in ("sample.yaml", "tern-bank.yaml"):
        result = run("plainwater", "check", ROOT / "config" / name)
        assert result.returncode == 0, result.stderr


@pytest.mark.parametrize("change, says", [
    (("latitude: 52.2", "latitude: north"), "latitude"),
    (("latitude: 52.2", "latitude: 95"), "95"),
    (("group: warm", "group: hot"), "hot"),
    (("sensors: [east-air]", "sensors: [nowhere-air]"), "nowhere-air"),
    (("benches: [east]", "benches: [nowhere]"), "nowhere"),
    (("form: number", "form: number\n    form: json"), "form"),
    (("time_zone: Europe/London", "time_zone: Europe/Nowhere"), "Nowhere"),
    (("  time: /t", "  colour: green\n    time: /t"), "colour"),
])
def test_wrong_settings_name_file_line_and_key(tmp_path, change, says):
    text = SETTINGS.format(url="mqtt://127.0.0.1:1", store=tmp_path / "a.db", more="")
    assert change[0] in text
    path = tmp_path / "wrong.yaml"
    path.write_text(text.replace(*change, 1))
    result = run("plainwater", "check", path)
    assert result.returncode == 1
    output = result.stdout + result.stderr
    assert "wrong.yaml:" in output and says in output


@pytest.mark.parametrize("arguments", [[], ["water"], ["rehearse"], ["check", "--no-such-option"], ["show", "too", "many", "words"],
                                       ["dose"], ["backup"], ["restore", "--settings", "x.yaml"], ["export", "--store", "x.db"]])
def test_wrong_usage_is_exit_code_2(arguments):
    assert run("plainwater", *arguments).returncode == 2


@pytest.mark.parametrize("arguments, meant", [
    (["chekc", "x.yaml"], "chekc: did you mean check?"),
    (["reherse", "--settings", "x.yaml"], "reherse: did you mean rehearse?"),
    (["rehearse", "--setings", "x.yaml", "--readings", "r.csv"], "--setings: did you mean --settings?"),
    (["rehearse", "--settings", "x.yaml", "--reading=r.csv"], "--reading: did you mean --readings?"),
    (["hold", "mist", "--settings", "x.yaml", "--untill", "2026-10-12"], "--untill: did you mean --until?"),
])
def test_a_mistyped_word_is_reported_with_a_suggestion(arguments, meant):
    result = run("plainwater", *arguments)
    assert result.returncode == 2
    assert meant in result.stderr.splitlines()
    assert result.stderr.count("did you mean") == 1


def test_a_word_close_to_no_other_gets_no_suggestion():
    result = run("plainwater", "check", "--colourful-nonsense", "x.yaml")
    assert result.returncode == 2 and "did you mean" not in result.stderr


@pytest.mark.parametrize("command", [[], ["check"], ["show"], ["hold"], ["release"], ["watered"], ["runoff"], ["trust"], ["dose"],
                                     ["rehearse"], ["import"], ["export"], ["backup"], ["restore"]])
def test_help_is_exit_code_0(command):
    result = run("plainwater", *command, "--help")
    assert result.returncode == 0 and "Usage" in result.stdout


def test_a_request_that_reaches_no_service_is_exit_code_3(settings):
    assert run("plainwater", "hold", "--settings", settings, "mist").returncode == 3


@pytest.mark.parametrize("arguments, says", [
    (["watered", "mist"], "--litres"),
    (["watered", "mist", "--litres", "0"], "--litres: expected a number from 0.001 to 100000, found 0"),
    (["watered", "mist", "--litres", "nan"], "--litres: expected a number from 0.001 to 100000, found nan"),
    (["watered", "mist", "--litres", "5", "--strength", "101"], "--strength: expected a number from 0 to 100, found 101"),
    (["watered", "mist", "--litres", "5", "--at", "lately"], "write a date"),
    (["runoff", "mist", "--ec", "25"], "--ec: expected a number from 0 to 20, found 25"),
    (["runoff", "mist", "--ec", "much"], "--ec"),
    (["runoff", "mist", "--ec", "1,8"], "write it with a point, as 1.8"),
    (["feed", "mist"], "release, end-chill and growth-started"),
    (["trust"], "PUMP"),
])
def test_an_impossible_request_is_refused_without_sending_it(settings, arguments, says):
    result = run("plainwater", arguments[0], "--settings", settings, *arguments[1:])
    assert result.returncode == 2
    assert says in result.stdout + result.stderr


def test_a_missing_store_is_reported(tmp_path):
    result = run("plainwater", "export", "--store", tmp_path / "none.db", "--ledger", tmp_path / "l.jsonl")
    assert result.returncode in (1, 3)
    assert "none.db" in result.stderr
    assert not (tmp_path / "none.db").exists()


def test_a_rehearsal_gives_the_same_bytes_again(settings, season, tmp_path):
    first = rehearse(settings, season, tmp_path)
    assert first and first == rehearse(settings, season, tmp_path)
    for line in first.splitlines():
        decision = json.loads(line)
        assert list(decision)[:4] == ["time", "bench", "decision", "cause"]


def test_decisions_never_come_from_the_future(settings, season, tmp_path):
    """The decisions of a part are the first decisions of the whole."""
    whole = rehearse(settings, season, tmp_path)
    lines = season.splitlines(keepends=True)
    for share in (0.1, 0.27, 0.5, 0.77, 0.93):
        part = rehearse(settings, "".join(lines[:int(len(lines) * share)]), tmp_path)
        assert whole.startswith(part)


def test_grouped_and_compressed_files_give_the_same(settings, season, tmp_path):
    plain = rehearse(settings, season, tmp_path)
    head, *rows = season.splitlines(keepends=True)
    grouped = head + "".join(sorted(rows, key=lambda row: row.split(",")[1]))
    assert rehearse(settings, grouped, tmp_path) == plain
    packed = tmp_path / "season.csv.gz"
    packed.write_bytes(gzip.compress(season.encode()))
    decisions = tmp_path / "packed.jsonl"
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", packed, "--decisions", decisions)
    assert result.returncode == 0, result.stderr
    assert decisions.read_text() == plain


def test_columns_are_found_by_name(settings, season, tmp_path):
    plain = rehearse(settings, season, tmp_path)
    turned = "\n".join(",".join(reversed(line.split(","))) for line in season.splitlines()) + "\n"
    assert rehearse(settings, turned, tmp_path) == plain


def test_a_stuck_sensor_among_three_changes_no_hold(settings, season, tmp_path):
    faulty = simulate(*SEASON, "--fault", "stuck:long-b:2026-11-03/2026-11-20")
    holds = [[line for line in map(json.loads, rehearse(settings, text, tmp_path).splitlines())] for text in (season, faulty)]
    placed = [[(d["bench"], d["cause"]) for d in decisions if d["decision"] == "hold-placed"] for decisions in holds]
    assert placed[0] == placed[1]
    assert [d for d in holds[1] if d["decision"] == "sensor-doubted" and d["cause"] == "stuck"]


def test_broken_rows_are_counted_and_strict_refuses_them(settings, season, tmp_path):
    lines = season.splitlines(keepends=True)[:2000]
    lines.insert(1000, "not a time,mist-a,20.0,60\n")
    path, decisions = tmp_path / "broken.csv", tmp_path / "d.jsonl"
    path.write_text("".join(lines))
    strict = run("plainwater", "rehearse", "--settings", settings, "--readings", path, "--decisions", decisions, "--strict")
    assert strict.returncode == 1
    assert "broken.csv:1001" in strict.stderr


def test_a_column_of_places_is_read_and_its_words_are_checked(settings, season, tmp_path):
    """Readings of a contact that belongs to no bench change nothing; unknown words are reported."""
    plain = rehearse(settings, season, tmp_path)
    head, *rows = season.splitlines()
    words = ["", "indoors", "outdoors"]
    with_places = "\n".join([head + ",place"] + [f"{row},{words[i % 3]}" for i, row in enumerate(rows)]) + "\n"
    assert rehearse(settings, with_places, tmp_path) == plain
    path = tmp_path / "wrong.csv"
    path.write_text("place,time,sensor,temperature_c\nIndoors,2026-09-14T00:00:00Z,mist-a,20\n")
    strict = run("plainwater", "rehearse", "--settings", settings, "--readings", path, "--strict")
    assert strict.returncode == 1
    assert 'wrong.csv:2: place is neither indoors nor outdoors: "Indoors"' in strict.stderr
    path.write_text("time,sensor,warmth\n")
    headless = run("plainwater", "rehearse", "--settings", settings, "--readings", path)
    assert headless.returncode == 1
    assert 'the file has "time", "sensor", "warmth"' in headless.stderr and "--columns" in headless.stderr


def test_a_rehearsal_names_refused_requests_with_the_reason(settings, season, tmp_path):
    readings, requests = tmp_path / "r.csv", tmp_path / "q.jsonl"
    readings.write_text("".join(season.splitlines(keepends=True)[:2000]))
    time = season.splitlines()[1500].split(",")[0]
    ask = {"time": time, "id": "a", "who": "Ines", "request": "hold", "bench": "mist"}
    requests.write_text("".join(json.dumps(line) + "\n" for line in (
        ask, ask | {"id": "b", "bench": "mits"}, ask | {"id": "c", "request": "release", "bench": "long"},
        ask | {"id": "d", "time": "2040-01-01T00:00:00Z"})))
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", readings, "--requests", requests)
    assert result.returncode == 0
    lines = result.stderr.splitlines()
    assert f'{requests}:2: refused: there is no bench "mits" in the settings; did you mean mist?' in lines
    assert any(line.startswith(f"{requests}:3: refused: no hold is in force on this bench; it gets ") for line in lines), lines
    assert f"{requests}:4: not asked: its time is after the last reading" in lines
    assert "2 refused requests" in result.stdout and f"{requests}:1:" not in result.stderr


def test_a_rehearsal_of_other_sensors_says_that_no_row_was_used(settings, tmp_path):
    readings = tmp_path / "r.csv"
    readings.write_text("time,sensor,temperature_c,humidity_percent\n2026-09-14T00:00:00Z,mits-a,20,60\n2026-09-14T00:10:00Z,attic,20,60\n")
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", readings)
    lines = result.stderr.splitlines()
    assert f'{readings}:2: sensor "mits-a" is on no bench and is no reference; its rows are not used; did you mean mist-a?' in lines
    assert f'{readings}:3: sensor "attic" is on no bench and is no reference; its rows are not used' in lines
    assert f"{readings}: no row was used: none is of a sensor in {settings}" in lines


@pytest.mark.parametrize("grouped", [False, True])
def test_a_rehearsal_writes_to_standard_output(settings, season, tmp_path, monkeypatch, grouped):
    head, *rows = season.splitlines(keepends=True)
    path = tmp_path / "r.csv"
    path.write_text(head + "".join(sorted(rows, key=lambda row: row.split(",")[1]) if grouped else rows))
    monkeypatch.chdir(tmp_path)
    for option in ("--decisions", "--nights"):
        common = ("plainwater", "rehearse", "--settings", settings, "--readings", path, option)
        there, here = tmp_path / "there", run(*common, "-")
        assert run(*common, there).returncode == here.returncode == 0
        assert here.stdout == there.read_text() and len(here.stdout.splitlines()) > 10
        assert "rows from" in here.stderr
    assert not (tmp_path / "-").exists()


@pytest.mark.parametrize("arguments, says", [(("--decisions", "-", "--nights", "-"), "cannot both"), (("--chart", "-"), "name a file")])
def test_only_one_text_goes_to_standard_output(settings, season, tmp_path, monkeypatch, arguments, says):
    path = tmp_path / "r.csv"
    path.write_text(season)
    monkeypatch.chdir(tmp_path)
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", path, *arguments)
    assert result.returncode == 2 and says in result.stderr
    assert not (tmp_path / "-").exists()
