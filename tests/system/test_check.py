"""What `plainwater check` says of settings: a verdict, and what is wrong with the files and the place that they name."""
import os
import pathlib
import re
import shutil
import tempfile

import pytest

from conftest import BIN, ROOT, SETTINGS, run


@pytest.fixture
def settings(tmp_path):
    path = tmp_path / "house.yaml"
    path.write_text(SETTINGS.format(url="mqtt://127.0.0.1:1", store=tmp_path / "house.db", more=""))
    path.chmod(0o644)
    return path


def change(settings, what, by):
    text = settings.read_text()
    assert what in text
    settings.write_text(text.replace(what, by, 1))


def checked(settings, **options):
    """Exit code, and the lines that people read."""
    result = run("plainwater", "check", settings, **options)
    assert result.stdout == ""
    return result.returncode, result.stderr.splitlines()


def test_a_verdict_is_all_there_is_to_say_of_good_settings(settings):
    code, [verdict] = checked(settings)
    assert code == 0 and re.fullmatch(r"\d+ bench(es)?, \d+ sensors?, \d+ pumps?: fine", verdict)


def test_a_verdict_counts_mistakes_and_warnings(settings):
    change(settings, "latitude: 52.2", "latitude: 95")
    assert checked(settings)[1][-1] == f"{settings}: 1 mistake"
    change(settings, "time_zone: Europe/London", "time_zone: 1 o'clock")
    assert checked(settings)[1][-1] == f"{settings}: 2 mistakes"
    settings.write_text(SETTINGS.format(url="mqtt://127.0.0.1:1", store=settings.parent / "house.db",
                                        more="board: {behind_proxy: true}\n"))
    code, lines = checked(settings)
    assert code == 0 and lines[0].startswith("warning: ") and lines[-1].endswith(": fine, 1 warning")


def test_the_merged_settings_are_printed_when_asked_for_and_are_settings(settings, tmp_path):
    result = run("plainwater", "check", settings, "--print")
    assert result.returncode == 0 and result.stderr.splitlines()[-1].endswith(": fine")
    assert "  acclimation_days: 14\n" in result.stdout
    again = tmp_path / "again.yaml"
    again.write_text(result.stdout)
    assert run("plainwater", "check", "--print", again).stdout == result.stdout
    change(settings, "latitude: 52.2", "latitude: 95")
    assert run("plainwater", "check", "--print", settings).stdout == ""


def test_check_misses_a_store_folder_that_is_not_there(settings, tmp_path):
    change(settings, str(tmp_path / "house.db"), str(tmp_path / "nowhere" / "house.db"))
    code, [line, verdict] = checked(settings)
    assert code == 1 and verdict.endswith(": 1 mistake")
    assert re.match(rf".*house\.yaml:\d+: store\.path: there is no folder {tmp_path}/nowhere for the store", line)


def test_a_store_that_is_a_folder_is_a_mistake(settings, tmp_path):
    (tmp_path / "house.db").mkdir()
    code, lines = checked(settings)
    assert code == 1 and f"store.path: {tmp_path}/house.db is a folder; name a file in it" in lines[0]


def test_check_says_where_a_relative_store_will_be(settings, tmp_path):
    change(settings, str(tmp_path / "house.db"), "house.db")
    code, [place, verdict] = checked(settings, cwd=tmp_path)
    assert code == 0 and str(tmp_path / "house.db") in place and verdict.endswith(": fine")


FILES = {
    "broker.password_file": "  user: grower\n  password_file: {file}\n",
    "broker.certificate_authority": "  certificate_authority: {file}\n",
    "broker.client_certificate": "  client_certificate: {file}\n  client_key: {pem}\n",
    "broker.client_key": "  client_certificate: {pem}\n  client_key: {file}\n",
    "board.token_file": "  token_file: {file}\n",
    "people.ines.secret_file": "  ines: {{secret_file: {file}}}\n",
    "metrics.password_file": "  password_file: {file}\n",
}


def name_file(settings, key, file):
    """Puts the file into the settings, with what belongs to it."""
    pem = settings.parent / "pem"
    pem.write_text("-----BEGIN CERTIFICATE-----\n")
    pem.chmod(0o600)
    section = key.split(".")[0]
    keys = FILES[key].format(file=file, pem=pem)
    if section == "broker":
        change(settings, "broker:\n", "broker:\n" + keys)
        change(settings, "url: mqtt://", "url: mqtts://")
    else:
        text = settings.read_text()
        assert f"\n{section}:" not in text
        settings.write_text(f"{text}\n{section}:\n{keys}")


@pytest.mark.parametrize("key", FILES)
def test_a_file_that_is_missing_or_empty_is_named(settings, tmp_path, key):
    file = tmp_path / "file"
    name_file(settings, key, file)
    code, [line, verdict] = checked(settings)
    assert code == 1 and verdict.endswith(": 1 mistake")
    assert re.match(rf"{settings}:\d+: {key}: cannot read .*: there is no {file}; make it, or name the right one$", line)
    file.mkdir()
    assert f"{key}: cannot read" in checked(settings)[1][0] and f"{file} is a folder" in checked(settings)[1][0]
    file.rmdir()
    file.write_text("")
    file.chmod(0o600)
    code, [line, verdict] = checked(settings)
    assert code == 1 and f"{key}: " in line and str(file) in line and "; " in line and verdict.endswith(": 1 mistake")
    if key.startswith("people."):
        file.unlink()
        assert run("plainwater", "person", "add", "ines", "--secret-file", file, input="seven damp ferns\n").returncode == 0
    else:
        file.write_text("a-token-of-many-letters\n" if key == "board.token_file" else "-----BEGIN CERTIFICATE-----\n")
    assert checked(settings)[0] == 0


def test_a_relative_path_is_said_in_full_and_from_where_it_counts(settings, tmp_path):
    name_file(settings, "broker.password_file", "secrets/word")
    code, [line, _] = checked(settings, cwd=tmp_path)
    assert code == 1 and f"there is no {tmp_path}/secrets/word" in line
    assert "a relative path counts from the folder that the service starts in" in line


def test_what_only_the_service_may_read_is_a_warning_to_others(settings):
    """A password is closed to the grower who checks the settings; that is as it should be."""
    root = os.geteuid() == 0  # otherwise only what nobody may read is closed to us
    with tempfile.TemporaryDirectory(prefix="plainwater-user-") as name:
        folder = pathlib.Path(name)
        folder.chmod(0o755)
        program, file = folder / "plainwater", folder / "word"
        shutil.copy2(BIN / "plainwater", program)
        name_file(settings, "metrics.password_file", file)
        change(settings, str(settings.parent / "house.db"), str(folder / "house.db"))
        shutil.copy2(settings, folder / "house.yaml")
        file.write_text("")
        file.chmod(0o600 if root else 0)
        folder.chmod(0o755 if root else 0o555)
        result = run(program, "check", folder / "house.yaml", user="nobody" if root else None)
        folder.chmod(0o755)
    lines = result.stderr.splitlines()
    assert result.returncode == 0 and lines[-1].endswith(": fine, 2 warnings"), lines
    assert any(f"metrics.password_file: you may not read {file}, so it was not checked; " in line for line in lines)
    assert any(f"store.path: you may not write into {folder}; " in line for line in lines)


@pytest.mark.parametrize("latitude, longitude, zone, says", [
    (52.2, -2.1, "Asia/Kolkata", "site.longitude: -2.1 is 90° of longitude away from Asia/Kolkata; correct the place or time_zone"),
    (52.2, -2.1, "Asia/Calcutta", "site.longitude: -2.1 is 90° of longitude away from Asia/Calcutta"),
    (40.7, 74, "America/New_York", "did you mean -74?"),
    (33.9, 151.2, "Australia/Sydney", "site.latitude: 33.9 is on the other side of the equator"),
    (52.2, -2.1, "Europe/London", None),
    (52.4, 4.9, "Europe/Amsterdam", None),
    (-52.2, 120, "UTC", None),
    (-52.2, 120, "Etc/GMT-8", None),
])
def test_a_site_away_from_its_time_zone_is_a_warning(settings, latitude, longitude, zone, says):
    text = re.sub(r"longitude: \S+", f"longitude: {longitude}", settings.read_text())
    text = re.sub(r"latitude: \S+", f"latitude: {latitude}", text)
    settings.write_text(re.sub(r"time_zone: \S+", f"time_zone: {zone}", text))
    code, lines = checked(settings)
    assert code == 0
    if says is None:
        assert len(lines) == 1
    else:
        assert says in lines[0] and lines[0].startswith(f"warning: {settings}:") and lines[-1].endswith(": fine, 1 warning")


@pytest.mark.parametrize("typed, meant", [("London", "did you mean Europe/London?"), ("europe/london", "did you mean Europe/London?"),
                                          ("Mars/Olympus", "see the names under /usr/share/zoneinfo")])
def test_an_unknown_time_zone_is_a_mistake(settings, typed, meant):
    change(settings, "time_zone: Europe/London", f"time_zone: {typed}")
    code, [line, _] = checked(settings)
    assert code == 1 and f"site.time_zone: this machine knows no time zone {typed}; {meant}" in line


def test_the_shipped_settings_are_fine(tmp_path):
    for name in ("sample.yaml", "tern-bank.yaml"):
        code, lines = checked(ROOT / "config" / name, cwd=tmp_path)
        assert code == 0 and lines[-1].endswith(": fine"), lines
