"""A real Prometheus server watches a season: its data match the ledger, its rules work, its page names everything."""
import datetime
import json
import re
import shutil
import subprocess
import urllib.error
import urllib.parse
import urllib.request

import pytest

from clock import machine_s
from conftest import ROOT, free_port, run, wait_for
from metrics import promtool
from season import play, tern_bank_settings

DEPLOY = ROOT / "deploy" / "prometheus"
BENCHES = ("cold-end", "courtyard", "long", "mist")
PATIENCE = 400


def alerts():
    return re.findall(r"^\s*- alert: (\w+)$", (DEPLOY / "plainwater.rules.yml").read_text(), re.M)


def test_rules_and_example_are_good():
    promtool("check", "rules", DEPLOY / "plainwater.rules.yml")
    promtool("check", "config", DEPLOY / "prometheus.yml")


def test_each_alert_is_tried_firing_and_not_firing():
    promtool("test", "rules", "plainwater.rules.test.yml", folder=DEPLOY)
    tests = (DEPLOY / "plainwater.rules.test.yml").read_text()
    assert len(alerts()) == len(set(alerts())) >= 21
    for alert in alerts():
        tried = re.findall(rf"^      - alertname: {alert}\n        eval_time: \S+\n        exp_alerts:(.*)$", tests, re.M)
        assert sorted(what.strip() for what in tried) == ["", "[]"], f"{alert} needs one test in which it fires and one in which it does not"


def test_the_rules_tests_would_notice(tmp_path):
    """A rule that never fires fails its test."""
    rules, tests = ((DEPLOY / name).read_text() for name in ("plainwater.rules.yml", "plainwater.rules.test.yml"))
    head, *cases = tests.split("  - name: ")
    (tmp_path / "plainwater.rules.test.yml").write_text(head + "".join("  - name: " + case for case in cases if case.startswith("PlainwaterChill ")))
    (tmp_path / "plainwater.rules.yml").write_text(rules)
    promtool("test", "rules", "plainwater.rules.test.yml", folder=tmp_path)
    broken = re.sub(r"(- alert: PlainwaterChill\n\s+expr: ).*", r"\1vector(0) > 1", rules)
    assert broken != rules
    (tmp_path / "plainwater.rules.yml").write_text(broken)
    assert subprocess.run(["promtool", "test", "rules", "plainwater.rules.test.yml"], cwd=tmp_path, capture_output=True).returncode != 0


def test_each_alert_says_how_soon_and_what_to_do():
    blocks = (DEPLOY / "plainwater.rules.yml").read_text().split("- alert: ")[1:]
    for block in blocks:
        assert re.search(r"labels: \{severity: (urgent|soon)\}", block), block
        assert "summary:" in block and "description:" in block, block


def test_rules_and_page_use_existing_figures():
    """A renamed figure must not leave behind a rule that never fires."""
    known = set()
    for source in (ROOT / "daemon" / "metrics").glob("*.cpp"):
        known |= set(re.findall(r'"(plainwater_[a-z_]+)"', source.read_text()))
    for name in ("plainwater.rules.yml", "plainwater.rules.test.yml", "consoles/plainwater.html"):
        asked = set(re.findall(r"(?<![a-z:-])plainwater_[a-z_]+", (DEPLOY / name).read_text()))
        assert asked, name
        assert {re.sub(r"_bucket$", "", figure) for figure in asked} <= known, name


class Server:
    """Debian's prometheus on its own port, with its own folder."""

    def __init__(self, folder, target):
        self.port, self.folder, self.process = free_port(), folder, None
        folder.mkdir()
        for name in ("plainwater.rules.yml", "consoles"):
            (shutil.copytree if (DEPLOY / name).is_dir() else shutil.copy)(DEPLOY / name, folder / name)
        example = (DEPLOY / "prometheus.yml").read_text()
        assert '["127.0.0.1:8633"]' in example
        quick = example.replace("127.0.0.1:8633", f"127.0.0.1:{target}").replace("scrape_interval: 15s", "scrape_interval: 200ms").replace("evaluation_interval: 30s", "evaluation_interval: 1s")
        quick = quick.replace("  scrape_interval: 200ms", "  scrape_interval: 200ms\n  scrape_timeout: 200ms")
        (folder / "prometheus.yml").write_text(quick)

    def start(self):
        self.process = subprocess.Popen(
            ["prometheus", f"--config.file={self.folder}/prometheus.yml", f"--storage.tsdb.path={self.folder}/data", f"--web.listen-address=127.0.0.1:{self.port}",
             f"--web.console.templates={self.folder}/consoles", f"--web.console.libraries={self.folder}/consoles", "--log.level=warn"],
            stdout=open(self.folder / "log", "w"), stderr=subprocess.STDOUT)
        wait_for(lambda: self.get("/-/ready") is not None, "the metrics server")

    def get(self, path):
        try:
            with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(f"http://127.0.0.1:{self.port}{path}", timeout=20) as answer:
                return answer.read().decode()
        except (ConnectionError, urllib.error.URLError) as error:
            assert getattr(error, "code", 503) == 503, error.read()  # 503: not ready yet
            assert self.process.poll() is None, (self.folder / "log").read_text()
            return None

    def query(self, expression, **more):
        """[(labels, value or values)]"""
        path = "query_range" if more else "query"
        answer = json.loads(self.get(f"/api/v1/{path}?" + urllib.parse.urlencode({"query": expression, **more})))
        assert answer["status"] == "success"
        return [(r["metric"], r["values"] if more else float(r["value"][1])) for r in answer["data"]["result"]]

    def settled(self):
        """Returns when a scrape and the rules' figures are from after this call."""
        asked = machine_s()
        wait_for(lambda: (lambda r: r and r[0][1] > asked)(self.query('timestamp(up{job="plainwater"} == 1)')), "a scrape from now on", PATIENCE)
        scraped = machine_s()

        def evaluated():
            groups = json.loads(self.get("/api/v1/rules"))["data"]["groups"]
            return groups and all(datetime.datetime.fromisoformat(group["lastEvaluation"][:19] + "+00:00").timestamp() > scraped for group in groups)
        wait_for(evaluated, "the rules to be looked at", PATIENCE)

    def stop(self):
        self.process.terminate()
        self.process.wait(30)


@pytest.fixture
def season(make_daemon, broker, tmp_path):
    """A daemon that played autumn and some winter while a server scraped it: (server, ledger, begin, end)."""
    port = free_port()
    daemon = make_daemon(tern_bank_settings() + f"metrics:\n  listen: 127.0.0.1:{port}\n", name="tern-bank")
    daemon.start()
    server = Server(tmp_path / "prometheus", port)
    server.start()
    try:
        wait_for(lambda: server.query('up{job="plainwater"} == 1'), "the first scrape")
        begin = machine_s()
        play(broker, "--interval", "60m", "--to", "2027-01-14", "--duration", "15s", timeout=PATIENCE)
        # Until the last reading is in, and the server has seen it.
        wait_for(lambda: (lambda r: r and r[0][1] > 1_799_880_000)(server.query("plainwater_engine_timestamp_seconds")), "the last reading", PATIENCE)
        server.settled()  # final figures
        out = daemon.store.with_suffix(".jsonl")
        assert run("plainwater", "export", "--store", daemon.store, "--ledger", out).returncode == 0
        yield server, [json.loads(line) for line in out.read_text().splitlines()], begin, machine_s()
    finally:
        server.stop()


def test_the_servers_data_match_the_ledger(season):
    server, ledger, begin, end = season
    decided, last = {}, {}
    for decision in ledger:
        decided[decision["decision"]] = decided.get(decision["decision"], 0) + 1
        if decision["bench"]:
            last[decision["bench"]] = decision
    assert decided["hold-placed"] >= 2 and decided["feeding-changed"] > 10
    assert dict((labels["decision"], count) for labels, count in server.query("sum by (decision) (plainwater_decisions_total)")) == decided
    assert {labels["bench"]: round(100 * ratio) for labels, ratio in server.query("plainwater_bench_strength_ratio")} == {bench: last[bench]["strength_percent"] for bench in BENCHES}
    fed = {labels["bench"]: labels["feeding"] for labels, _ in server.query("plainwater_bench_feeding == 1")}
    assert fed == {bench: last[bench]["feeding"] for bench in BENCHES}
    # Over the season: each hold is in the server's history under its cause, and no other bench has any. (A bench that
    # is carried while held for a move is then held by the later move.)
    def kind(cause):
        return "move" if cause in ("moved-indoors", "moved-outdoors", "shuttling") else cause
    placed = {(d["bench"], kind(d["cause"])) for d in ledger if d["decision"] == "hold-placed"}
    history = server.query("plainwater_bench_hold", start=begin, end=end, step=0.2)
    seen = {(labels["bench"], kind(labels["cause"])) for labels, values in history if any(value == "1" for _, value in values)}
    assert seen == placed and ("cold-end", "sharp-drop") in seen
    # Strengths commanded on the way were in the ledger at some time.
    said = {bench: {d["strength_percent"] for d in ledger if d["bench"] == bench} for bench in BENCHES}
    for labels, values in server.query("plainwater_bench_strength_ratio", start=begin, end=end, step=0.2):
        assert {round(100 * float(value)) for _, value in values} <= said[labels["bench"]] | {0}
    # The heating fails in January, which is an alert.
    chilled = [labels for labels, _ in server.query('ALERTS{alertname="PlainwaterChill", alertstate="firing"}')]
    assert [labels["bench"] for labels in chilled] == ["long"] and chilled[0]["severity"] == "urgent"
    # A busy machine stores slowly, and may report that.
    alerts = {labels["alertname"] for labels, _ in server.query("ALERTS")} - {"PlainwaterStoreSlow"}
    assert alerts == {"PlainwaterChill"}, "nothing else is wrong in this house"

    page = server.get("/consoles/plainwater.html")
    for bench in BENCHES:
        assert re.search(rf"<h3>{bench} ", page), bench
    assert "13 January 2027" in page and "Chill: bench long" in page and "plain water" in page
    assert "error" not in page.lower() and "no value" not in page.lower()
    assert not re.findall(r'(?:src|href)="', page), "it needs nothing from anywhere"
