"""Readers of the service's output may be slow, stop reading, or go away."""
import os

from conftest import SETTINGS, wait_for
from programs import spawn

TAKES_S = 95

REQUESTS = "plainwater/testing/requests"


def test_unread_output_stops_nothing(make_daemon, broker):
    """Ledger and log go into pipes that are never read; each hold is a line in both."""
    daemon = make_daemon(SETTINGS)
    (ledger, ledger_in), (log, log_in) = os.pipe(), os.pipe()
    daemon.process = spawn("plainwaterd", "--settings", daemon.settings, "--ledger", stdout=ledger_in, stderr=log_in)
    try:
        with broker.client() as client:
            beats = client.subscribe(daemon.topic)
            wait_for(lambda: any(m.json()["state"] == "online" and not m.json()["backlog"] for m in beats), "the service")
            for number in range(1000):  # about 200 kB: a pipe holds 64
                request = {"request": "hold"} if number % 2 else {"request": "release", "full": True}
                assert "done" in client.ask(REQUESTS, {"id": f"u{number}", "who": "Sam" * 20, "bench": "east", **request})
            os.close(ledger)
            os.close(log)  # now there is no reader at all
            assert client.ask(REQUESTS, {"id": "last", "who": "Sam", "bench": "east", "request": "hold"})
        daemon.process.terminate()
        assert daemon.process.wait(60) == 0
    finally:
        os.close(ledger_in)
        os.close(log_in)
