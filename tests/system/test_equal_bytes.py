"""Equal bytes: the ledger of a season does not depend on the optimiser, the mathematics library, how often the engine's time
is advanced, or when it was stopped. Every comparison covers the whole output, to the byte: decisions, nights to the sixth
decimal, and a checksum of the whole state."""
import os
import pathlib
import subprocess

from conftest import BIN, ROOT, environment
from faults import preloaded, record, times
from season import simulate

SETTINGS = ROOT / "config" / "tern-bank.yaml"
UNOPTIMISED = pathlib.Path(os.environ.get("PLAINWATER_O0_BIN", ROOT / "build" / "O0" / "bin"))
# Names from before and after glibc 2.33; unknown ones have no effect.
WITHOUT_FMA = {"GLIBC_TUNABLES": "glibc.cpu.hwcaps=" + ",".join(f"-{name}" for name in ("FMA", "FMA_Usable", "FMA4", "FMA4_Usable", "AVX2", "AVX2_Usable"))}
DAY_S = 86_400
ROUNDED = 18  # a season in which an unrounded figure of the position filter once showed
# Besides the season's own faults: a silent sensor, a stuck one, and ten days without any.
FAULTS = ("--fault", "silent:mist-a:2026-10-03/2026-10-20", "--fault", "stuck:long-b:2026-11-03/2026-11-10", "--fault", "spikes:long-c:2027-02-01/2027-03-01")
SILENCE = ("2027-01-20", "2027-01-30")


def season(folder, seed):
    """A file with the readings from August to May."""
    lines = simulate("--interval", "60m", "--seed", seed, *FAULTS).splitlines(keepends=True)
    file = folder / f"season-{seed}.csv"
    file.write_text("".join(line for line in lines if not SILENCE[0] <= line[:10] < SILENCE[1]))
    return file


def output(program, *arguments, **variables):
    done = subprocess.run([program, *map(str, arguments)], capture_output=True, timeout=600, env=environment(None, **variables))
    assert done.returncode == 0, done.stderr.decode()[-2000:]
    return done.stdout


def ledger(readings, *options, folder=BIN, **variables):
    return output(folder / "ledger_bytes", "--settings", SETTINGS, "--readings", readings, *options, **variables)


def rehearsal(readings, folder, **variables):
    decisions, nights = folder / "decisions.jsonl", folder / "nights.csv"
    output(BIN / "plainwater", "rehearse", "--settings", SETTINGS, "--readings", readings, "--decisions", decisions, "--nights", nights, **variables)
    return decisions.read_bytes() + nights.read_bytes()


def first_difference(one, other):
    pairs = zip(one.splitlines(), other.splitlines())
    return next((f"line {n}: {a.decode()[:300]} | {b.decode()[:300]}" for n, (a, b) in enumerate(pairs, 1) if a != b), f"{len(one)} and {len(other)} bytes")


def has_fma():
    return " fma " in pathlib.Path("/proc/cpuinfo").read_text()


def test_the_other_libraries_differ():
    """Without this the comparisons below would compare a thing with itself."""
    usual = output(BIN / "ledger_bytes", "--library").splitlines()
    nudged = output(BIN / "ledger_bytes", "--library", **preloaded("library")).splitlines()
    without = output(BIN / "ledger_bytes", "--library", **WITHOUT_FMA).splitlines()
    differ = {name: sum(a != b for a, b in zip(usual, other)) for name, other in (("nudged", nudged), ("without FMA", without))}
    print(f"of {len(usual)} arguments, results differ in the last bit: {differ}")
    assert differ["nudged"] > len(usual) / 2
    if has_fma():
        assert differ["without FMA"] > 0, "GLIBC_TUNABLES did nothing; has glibc renamed its tunables?"
    else:
        print("this processor has no FMA: the library without it is the usual one")


def test_the_ledger_of_a_season_is_the_same_bytes(tmp_path):
    assert (UNOPTIMISED / "ledger_bytes").exists(), f"{UNOPTIMISED} holds no ledger_bytes; tools/test builds it, or cmake with -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG=-O0"
    tried, wrong = 0, []
    for seed in times((1, ROUNDED), range(1, 21)):
        readings = season(tmp_path, seed)
        expected = ledger(readings)
        assert expected.count(b'"decision":"hold-placed"') >= 4 and expected.count(b"\nstate ") == 1
        others = {"at -O0": ledger(readings, folder=UNOPTIMISED), "without FMA": ledger(readings, **WITHOUT_FMA), "nudged": ledger(readings, **preloaded("library")),
                  "at -O0, nudged": ledger(readings, folder=UNOPTIMISED, **preloaded("library")),
                  "in steps of a second": ledger(readings, "--step", 1), "in steps of a day": ledger(readings, "--step", DAY_S)}
        for stops in (1, 40):
            for round_number in range(times(5, 100) // 2 + 1):
                others[f"stopped {stops} times, {round_number}"] = ledger(readings, "--stops", stops, "--stop-seed", 1000 * seed + round_number, "--step", 3600)
        rehearsed = rehearsal(readings, tmp_path)
        assert b'"decision":"hold-placed"' in rehearsed
        for name, variables in (("without FMA", WITHOUT_FMA), ("nudged", preloaded("library"))):
            tried += 1
            if (other := rehearsal(readings, tmp_path, **variables)) != rehearsed:
                wrong.append(f"season {seed}, rehearsed {name}: {first_difference(rehearsed, other)}")
        tried += len(others)
        wrong += [f"season {seed}, {name}: {first_difference(expected, other)}" for name, other in others.items() if other != expected]
    record("other optimisation, mathematics library, steps, stops", tried, 0, len(wrong), None, "wrong: ledgers that differed in a byte")
    assert not wrong, "\n".join(wrong[:10])


def test_a_ledger_of_other_readings_differs(tmp_path):
    """The comparison notices a tenth of a degree in one reading of ten months, and a shorter season."""
    readings = season(tmp_path, 1)
    lines = readings.read_text().splitlines(keepends=True)
    at = next(n for n, line in enumerate(lines) if line.startswith("2026-09-20T02") and ",cold-end-a," in line)
    time, sensor, celsius, rest = lines[at].split(",", 3)
    lines[at] = f"{time},{sensor},{float(celsius) + 0.1:.3f},{rest}"
    other = tmp_path / "other.csv"
    other.write_text("".join(lines))
    expected = ledger(readings)
    assert ledger(other) != expected
    assert ledger(readings, "--days", 200) != expected
