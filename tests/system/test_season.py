"""The whole season through broker and daemon: nothing is lost, and the ledger equals the rehearsal's, to the byte, however
often the daemon is stopped or killed."""
import json
import os

import pytest

from conftest import spawn, wait_for
from season import export, readings, rehearse, simulate, tern_bank_settings

TAKES_S = 54

INTERVAL = ("--interval", "60m")
ROUNDS = int(os.environ.get("PLAINWATER_SOAK_ROUNDS", "1"))
PATIENCE = 400


@pytest.fixture(scope="module")
def truth():
    """The sensors' readings."""
    return readings(simulate(*INTERVAL))


def start_simulator(broker, *arguments):
    return spawn("plainwater-sim", "--broker", broker.url, "--quiet", *INTERVAL, *arguments)


def wait_until_taken(daemon, truth):
    """The store's readings and ledger, once the last report is in the journal."""
    last_time, last_sensor = max(truth)

    def taken():
        assert daemon.process.poll() is None, daemon.tail()
        text, ledger = export(daemon)
        return (text, ledger) if f"{last_time},{last_sensor}," in text[-4000:] else None
    return wait_for(taken, "the season's last report in the journal", PATIENCE)


def test_the_ledger_of_a_season_equals_the_rehearsal(make_daemon, broker, truth, tmp_path):
    daemon = make_daemon(tern_bank_settings(), name="tern-bank")
    daemon.start()
    assert start_simulator(broker).wait(PATIENCE) == 0
    text, ledger = wait_until_taken(daemon, truth)
    daemon.stop()
    assert readings(text) == truth
    assert ledger == rehearse(daemon.settings, text, tmp_path)
    assert ledger == rehearse(daemon.settings, simulate(*INTERVAL), tmp_path)

    decisions = [json.loads(line) for line in ledger.splitlines()]
    placed = {(d["bench"], d["cause"]) for d in decisions if d["decision"] == "hold-placed"}
    assert ("cold-end", "sharp-drop") in placed, "the front of 14 September holds the cold end"
    chilled = [d for d in decisions if d["bench"] == "long" and d["cause"] == "chill" and d["feeding"] == "plain-water"]
    assert chilled and chilled[0]["time"][:10] in ("2027-01-12", "2027-01-13"), "the heating of the long bench fails in January"
    assert not any(bench == "mist" for bench, _ in placed), "the mist bench is warm all winter"
    first = next(d for d in decisions if d["decision"] == "hold-placed" and d["bench"] == "cold-end")
    assert "2026-09-15" <= first["time"][:10] <= "2026-09-21"


@pytest.mark.parametrize("round_number", range(ROUNDS))
def test_ten_stops_and_kills_change_nothing(make_daemon, broker, truth, tmp_path, round_number):
    daemon = make_daemon(tern_bank_settings(), name=f"round-{round_number}")
    daemon.start()
    simulator = start_simulator(broker, "--duration", "20s")
    try:
        for stop in range(10):
            # At any moment: the simulator runs on meanwhile, and the broker keeps the messages.
            taken = daemon.state()["engine_time"]
            (daemon.kill if (stop + round_number) % 2 else daemon.stop)()
            daemon.start(past_backlog=stop % 3 != 0)
            assert taken is None or daemon.state()["engine_time"] is None or daemon.state()["engine_time"] >= taken
        assert simulator.wait(PATIENCE) == 0
    finally:
        if simulator.poll() is None:
            simulator.kill()
            simulator.wait()
    text, ledger = wait_until_taken(daemon, truth)
    daemon.stop()
    assert readings(text) == truth
    assert ledger == rehearse(daemon.settings, simulate(*INTERVAL), tmp_path)
    assert ledger == rehearse(daemon.settings, text, tmp_path)


def test_a_restarted_broker_changes_nothing(make_daemon, broker, tmp_path):
    """The simulator also keeps what it could not send, and sends it later."""
    part = ("--from", "2026-09-01", "--to", "2026-10-15")
    daemon = make_daemon(tern_bank_settings(), name="tern-bank")
    daemon.start()
    truth = readings(simulate(*INTERVAL, *part))
    simulator = start_simulator(broker, *part, "--duration", "10s", "--in-flight", "20")
    for _ in range(2):
        wait_for(lambda: len(export(daemon)[0]) > 1000, "some readings in the journal")
        broker.stop()
        broker.start()
    assert simulator.wait(PATIENCE) == 0
    text, ledger = wait_until_taken(daemon, truth)
    assert readings(text) == truth
    assert ledger == rehearse(daemon.settings, text, tmp_path)
