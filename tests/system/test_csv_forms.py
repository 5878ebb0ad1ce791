"""Files of readings as people have them: a rehearsal on them decides what it decides on our own form of the same readings."""
import collections
import csv
import datetime
import gzip
import io
import zoneinfo

import pytest

from conftest import run
from season import rehearse, simulate, tern_bank_settings

# Past the night in which the clocks go back.
PART = ("--interval", "60m", "--from", "2026-08-20", "--to", "2026-11-02")
LONDON = zoneinfo.ZoneInfo("Europe/London")


@pytest.fixture
def settings(tmp_path):
    path = tmp_path / "tern-bank.yaml"
    path.write_text(tern_bank_settings().format(url="mqtt://127.0.0.1:1", store=tmp_path / "none.db"))
    return path


@pytest.fixture(scope="module")
def clean():
    return simulate(*PART)


@pytest.fixture(scope="module")
def rows(clean):
    return [(datetime.datetime.fromisoformat(row["time"].replace("Z", "+00:00")), row["sensor"], row["temperature_c"], row["humidity_percent"])
            for row in csv.DictReader(io.StringIO(clean))]


def comma(value):
    return f"{value:.3f}".replace(".", ",")


def wide(rows):
    """A column a sensor, with semicolons, °F, decimal commas, humidity as a fraction and local times; two lines above the header
    and one of units below it."""
    sensors = sorted({sensor for _, sensor, _, _ in rows})
    lines = collections.defaultdict(dict)
    for time, sensor, celsius, humidity in rows:
        lines[time][sensor] = (comma(float(celsius) * 1.8 + 32) if celsius else "", comma(float(humidity) / 100) if humidity else "---")
    text = "\ufeffLogger 7;exported\r\n# by hand\r\nDatum;Uhrzeit;" + ";".join(f"T {s};F {s}" for s in sensors) + "\r\n;;" + ";".join("°F;" for _ in sensors) + "\r\n"
    for time in sorted(lines):
        local = time.astimezone(LONDON)
        text += f"{local:%d.%m.%Y};{local:%H:%M:%S};" + ";".join(";".join(lines[time].get(s, ("", ""))) for s in sensors) + "\r\n"
    columns = ["date=Datum", "time=Uhrzeit"] + [c for s in sensors for c in (f"{s}.fahrenheit=T {s}", f"{s}.humidity.fraction=F {s}")]
    return text, columns


def described(settings, text, tmp_path, *arguments, name="described.csv"):
    path, decisions = tmp_path / name, tmp_path / "described.jsonl"
    path.write_bytes(gzip.compress(text.encode()) if name.endswith(".gz") else text.encode())
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", path, "--decisions", decisions, *arguments)
    return result, decisions.read_text() if decisions.exists() else ""


def test_a_wide_file_in_local_times_decides_the_same(settings, clean, rows, tmp_path):
    text, columns = wide(rows)
    result, decisions = described(settings, text, tmp_path, "--columns", ",".join(columns), "--zone", "site")
    assert result.returncode == 0, result.stderr
    assert "local times occur twice" in result.stderr and " 0 bad" in result.stderr
    assert decisions and decisions == rehearse(settings, clean, tmp_path)


def test_our_own_form_may_come_through_a_pipe(settings, clean, tmp_path):
    decisions = tmp_path / "piped.jsonl"
    result = run("plainwater", "rehearse", "--settings", settings, "--readings", "/dev/stdin", "--decisions", decisions, input=clean)
    assert result.returncode == 0, result.stderr
    assert decisions.read_text() == rehearse(settings, clean, tmp_path)
    other = run("plainwater", "rehearse", "--settings", settings, "--readings", "/dev/stdin", "--columns", "time=t,mist-a=v", input="t;v\n")
    assert other.returncode == 1 and "save it as a file" in other.stderr


def test_the_settings_describe_files_as_the_options_do(settings, clean, rows, tmp_path):
    text, columns = wide(rows)
    quoted = ", ".join(f'"{column}"' for column in columns)
    settings.write_text(settings.read_text() + f"csv:\n  columns: [{quoted}]\n  separator: semicolon\n  decimal: comma\n  times: day-first\n  zone: Europe/London\n")
    result, decisions = described(settings, text, tmp_path, name="described.csv.gz")
    assert result.returncode == 0, result.stderr
    # A file of our own form needs no description, and is read as ever.
    assert decisions and decisions == rehearse(settings, clean, tmp_path)


def test_a_long_file_grouped_by_sensor_decides_the_same(settings, clean, rows, tmp_path):
    text = "id\twhen\twhat\tvalue\n"
    for time, sensor, celsius, humidity in sorted(rows, key=lambda row: (row[1], row[0])):
        local = f"{time.astimezone(LONDON):%m/%d/%Y %I:%M:%S %p}"
        text += f"{sensor}\t{local}\ttemp\t{float(celsius) + 273.15:.3f}\n" if celsius else ""
        text += f"{sensor}\t{local}\t%RH\t{humidity}\n" if humidity else ""
    result, decisions = described(settings, text, tmp_path, "--columns", "time=when,sensor=id,quantity=what,value.kelvin=value", "--zone", "Europe/London")
    assert result.returncode == 0, result.stderr
    assert decisions and decisions == rehearse(settings, clean, tmp_path)


@pytest.mark.parametrize("text, arguments, says", [
    ("Zeit;T1;RH1\n2026-09-14T00:00:00Z;20,5;60\n", (), ['the file has "Zeit", "T1", "RH1"', "--columns time=COLUMN,SENSOR=COLUMN"]),
    ("Zeit;T1\n2026-09-14T00:00:00Z;20,5\n", ("--columns", "time=Zeit,mist-a=T2"), ['"T2"', 'the file has "Zeit", "T1"']),
    ("Zeit;T1\n2026-09-14 00:00;20,5\n", ("--columns", "time=Zeit,mist-a=T1"), ['line 2: the time "2026-09-14 00:00" names no zone', "--zone"]),
    ("Zeit;T1\n01/02/2026 00:00;20,5\n", ("--columns", "time=Zeit,mist-a=T1", "--zone", "UTC"), ["the day or the month comes first", "--times day-first"]),
    ("Zeit;T1\nsoon;20,5\n", ("--columns", "time=Zeit,mist-a=T1"), ['described.csv:2: column "Zeit": the time cannot be read: "soon"']),
    ("id;t;T\nattic;2026-09-14T00:00:00Z;20,5\n", ("--columns", "time=t,sensor=id,temperature=T"), ['described.csv:2: sensor "attic" is on no bench', "--columns time=COLUMN"]),
    ("time,sensor,temperature_c\n2026-09-14T00:00:00Z,attic,20\n", (), ['sensor "attic" is on no bench', "no row was used", "--columns time=COLUMN"]),
])
def test_a_file_of_which_nothing_was_used_says_what_it_has(settings, tmp_path, text, arguments, says):
    result, _ = described(settings, text, tmp_path, *arguments)
    assert result.returncode == 1, result.stderr
    for part in says:
        assert part in result.stderr


@pytest.mark.parametrize("arguments, says", [
    (("--columns", "Zeit"), "it has no ="), (("--columns", "time=Zeit"), "no column of readings"), (("--times", "swiss"), "day-first"),
    (("--zone", "Mars"), "Mars"), (("--decimal", "dot"), "point"),
])
def test_a_wrong_description_is_refused(settings, tmp_path, arguments, says):
    result, _ = described(settings, "Zeit;T1\n2026-09-14T00:00:00Z;20,5\n", tmp_path, *arguments)
    assert result.returncode in (1, 2) and says in result.stderr, result.stderr


def test_a_zone_that_this_machine_does_not_know_is_found_by_check(settings):
    settings.write_text(settings.read_text() + "csv:\n  zone: Europe/Nowhere\n")
    result = run("plainwater", "check", settings)
    assert result.returncode == 1 and "csv.zone: this machine knows no time zone Europe/Nowhere" in result.stderr


def test_refused_lines_are_counted_by_reason(settings, tmp_path):
    text = "Zeit;T1\n" + "soon;20\n" * 5 + "2026-09-14T00:00:00Z;warm\n2026-09-14T00:10:00Z;20\n"
    result, _ = described(settings, text, tmp_path, "--columns", "time=Zeit,mist-a=T1")
    assert result.returncode == 0, result.stderr
    lines = result.stderr.splitlines()
    assert sum('the time cannot be read: "soon"' in line for line in lines) == 3
    assert any("5 times that cannot be read in all" in line for line in lines)
    assert any('described.csv:7: column "T1": not a number, or beyond reason: "warm"' in line for line in lines)
    assert described(settings, text, tmp_path, "--columns", "time=Zeit,mist-a=T1", "--strict")[0].returncode == 1
