"""The simulated site: the same everywhere and always, with faults as named."""
import collections
import datetime
import statistics

import pytest

from conftest import run
from season import readings, simulate

WEEK = ("--from", "2026-11-01", "--to", "2026-11-08", "--interval", "30m")


def nights(table, sensor):
    """Night means by date, from 21 h to 5 h UTC."""
    by_night = collections.defaultdict(list)
    for (time, name), (temperature, _) in table.items():
        t = datetime.datetime.fromisoformat(time.replace("Z", "+00:00"))
        if name == sensor and (t.hour >= 21 or t.hour < 5):
            by_night[(t - datetime.timedelta(hours=12)).date().isoformat()].append(temperature)
    return {night: statistics.mean(values) for night, values in by_night.items()}


def test_two_runs_give_the_same_bytes():
    assert simulate(*WEEK) == simulate(*WEEK)


def test_another_seed_gives_another_season():
    assert simulate(*WEEK) != simulate(*WEEK, "--seed", "7")


def test_a_part_of_the_season_equals_that_part_of_the_whole():
    whole = simulate(*WEEK).splitlines()[1:]
    part = simulate("--from", "2026-11-03", "--to", "2026-11-05", "--interval", "30m").splitlines()[1:]
    assert part == [line for line in whole if "2026-11-03" <= line[:10] < "2026-11-05"]


def test_the_season_follows_its_story():
    table = readings(simulate("--interval", "60m"))
    cold_end, courtyard, long_bench, mist = (nights(table, s) for s in ("cold-end-a", "courtyard-a", "long-a", "mist-a"))
    before = [f"2026-09-{day:02}" for day in range(7, 14)]
    after = [f"2026-09-{day:02}" for day in range(16, 26)]
    assert statistics.median(cold_end[n] for n in before) - statistics.median(cold_end[n] for n in after) > 4.5
    assert all(abs(mist[n] - 19) < 1 for n in mist if "2026-10" <= n < "2027-04")
    assert all(long_bench[n] < 10 for n in ("2027-01-12", "2027-01-13"))
    assert all(long_bench[n] > 14 for n in ("2027-01-11", "2027-01-14"))
    # Outdoors in summer, in the parlour at night from September on.
    assert statistics.median(courtyard[n] for n in courtyard if n < "2026-09-03") < 18
    assert all(17 < courtyard[n] < 19 for n in courtyard if "2026-11" <= n < "2027-04")


@pytest.mark.parametrize("kind", ["stuck", "silent", "spikes", "fahrenheit", "drift"])
def test_a_fault_changes_only_its_sensor_on_its_days(kind):
    plain = readings(simulate(*WEEK))
    faulty = readings(simulate(*WEEK, "--fault", f"{kind}:mist-b:2026-11-03/2026-11-06"))
    inside = {key for key in plain if key[1] == "mist-b" and "2026-11-03" <= key[0][:10] < "2026-11-06"}
    assert {key: value for key, value in plain.items() if key not in inside} == {key: value for key, value in faulty.items() if key not in inside}
    if kind == "silent":
        assert not inside & faulty.keys()
        return
    change = [faulty[key][0] - plain[key][0] for key in sorted(inside)]
    if kind == "stuck":
        assert len({faulty[key] for key in inside}) == 1
    elif kind == "spikes":
        assert 4 <= sum(abs(c) > 10 for c in change) <= 40
    elif kind == "fahrenheit":
        assert all(abs(faulty[key][0] - (plain[key][0] * 1.8 + 32)) < 0.2 for key in inside)
    else:
        assert change[0] == pytest.approx(0, abs=0.11) and change[-1] == pytest.approx(0.75, abs=0.11)


@pytest.mark.parametrize("arguments, says", [
    ([], "--broker"),
    (["--csv", "-", "--fault", "stuck:mist-b"], "kind:sensor:from/to"),
    (["--csv", "-", "--fault", "stuck:mist-z:2026-11-03/2026-11-04"], "mist-z"),
    (["--csv", "-", "--fault", "stuck:mist-b:2026-11-04/2026-11-03"], "before"),
    (["--csv", "-", "--from", "2026-11-31"], "2026-11-31"),
    (["--csv", "-", "--interval", "5s"], "5s"),
    (["--csv", "-", "--speed", "fast"], "fast"),
    (["--csv", "-", "--speed", "-1"], "-1"),
    (["--csv", "-", "--live"], "--broker"),
])
def test_wrong_usage_is_reported(arguments, says):
    result = run("plainwater-sim", *arguments)
    assert result.returncode == 2
    assert says in result.stderr


def test_an_unreachable_broker_is_exit_code_3():
    result = run("plainwater-sim", "--broker", "mqtt://127.0.0.1:1", "--quiet", *WEEK)
    assert result.returncode == 3
    assert "127.0.0.1:1" in result.stderr


def test_what_it_publishes_is_what_it_writes(broker, client):
    messages = client.subscribe("ternbank/#")
    result = run("plainwater-sim", "--broker", broker.url, "--from", "2026-11-01", "--to", "2026-11-02", "--interval", "30m")
    assert result.returncode == 0, result.stderr
    assert f"{48 * 9} reports of 9 sensors acknowledged" in result.stdout
    client.caught_up()
    written = readings(simulate("--from", "2026-11-01", "--to", "2026-11-02", "--interval", "30m"))
    published = [m.json() for m in messages if m.topic == "ternbank/air/mist-a"]
    assert [(m["time"], "mist-a") for m in published] == sorted(key for key in written if key[1] == "mist-a")
    assert all(written[m["time"], "mist-a"] == (m["t"], m["rh"]) for m in published)
    assert len(messages) == 48 * 9
