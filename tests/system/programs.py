"""Starts our programs as every test does: from PLAINWATER_BIN, with the clock of the tests."""
import os
import pathlib
import subprocess

import clock

ROOT = pathlib.Path(__file__).resolve().parents[2]
BIN = pathlib.Path(os.environ.get("PLAINWATER_BIN", ROOT / "build" / "release" / "bin"))


def environment(own=None, *shims, **variables):
    """`own` (by default this process's environment) with these tests/preload/<shim>.cpp loaded first, and the clock of the
    tests when it is shifted. Existing preloads of `own` are kept."""
    made = {**(os.environ if own is None else own), **{name: str(value) for name, value in variables.items()}}
    if clock.SHIFT_S:
        shims, made[clock.SHIFT] = (*shims, "clock"), str(clock.SHIFT_S)
    if shims:
        preloaded = [*filter(None, made.get("LD_PRELOAD", "").split(":")), *(str(BIN / f"libtest_{shim}.so") for shim in shims)]
        made["LD_PRELOAD"] = ":".join(dict.fromkeys(preloaded))
        # Sanitizers must be first; these shims only pass calls on.
        options = [*filter(None, made.get("ASAN_OPTIONS", "").split(":")), "verify_asan_link_order=0"]
        made["ASAN_OPTIONS"] = ":".join(dict.fromkeys(options))
    return made


def run(program, *arguments, env=None, timeout=300, **options):
    """Runs one of our programs to its end; the result has returncode, stdout and stderr."""
    return subprocess.run([BIN / program, *map(str, arguments)], capture_output=True, text=True, timeout=timeout, env=environment(env), **options)


def spawn(program, *arguments, log=None, env=None, **options):
    """One of our programs, running. All its output is appended to the file `log`."""
    if log is None:
        return subprocess.Popen([BIN / program, *map(str, arguments)], env=environment(env), **options)
    with open(log, "a") as file:
        return subprocess.Popen([BIN / program, *map(str, arguments)], stdout=file, stderr=subprocess.STDOUT, env=environment(env), **options)

