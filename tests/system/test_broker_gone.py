"""The broker gone: for seconds, for hours, for a week, behind a dead connection, or refusing us. The service waits patiently,
reconnects automatically, and then orders what its ledger says."""
import datetime
import json
import random
import time

import pytest

from certificates import Authority
from clock import UTC, instant, machine_s, now
from conftest import Broker, GuardedBroker, free_port, wait_for
from faults import Clocks, OrderWatch, record, times
from outage import KEEP_ALIVE, LONGEST_BACKOFF, SETTINGS, Sensors, Usage, arm, assert_backed_off, back_again, in_store, restart, wait_while
from proxy import Proxy
from season import export

TAKES_S = 104

HOUR = 3600


def test_gone_for_seconds(make_daemon, broker):
    proxy, chance, sensors, recovery = Proxy(broker.port), random.Random(20261125), Sensors(), 0.0
    daemon, rounds = make_daemon(SETTINGS.replace("{url}", proxy.url())), times(2, 14)
    daemon.hear_a_night(["house/east-a/air", "house/east-b/air"])
    daemon.start()
    arm(broker)
    with OrderWatch(broker, "testing") as orders:
        wait_for(orders.seen, "an order")
        for round_number in range(rounds):
            kills = round_number % 2
            with broker.client() as client:
                for _ in range(20):
                    sensors.send(client)
            # What a killed broker had in memory is tested elsewhere, see test_kills.py.
            if kills:
                assert not in_store(daemon, sensors)
            usage, gone_at = Usage(daemon), time.monotonic()
            (broker.kill if kills else broker.stop)()
            wait_while(chance.uniform(1, times(4, 10)), daemon)
            back_at, given = time.monotonic(), len(orders.seen())
            assert_backed_off(proxy, gone_at, back_at, "-in")
            assert_backed_off(proxy, gone_at, back_at, "-out")
            usage.assert_idle()
            broker.start()
            with broker.client() as client:
                for _ in range(20):
                    sensors.send(client)
            recovery = max(recovery, back_again(daemon, orders, given, back_at, "after the broker's return"))
            assert not (missing := in_store(daemon, sensors)), missing
        wrong = orders.wrong(export(daemon)[1])
        newest = orders.seen()[-1]
    lost = sensors.missing(daemon)
    record("broker gone for seconds", rounds, len(lost), len(wrong), recovery, f"{len(sensors.sent):,} readings; to the first order")
    assert not lost and not wrong and newest["strength_percent"] > 0
    assert recovery < LONGEST_BACKOFF + 6


@pytest.mark.parametrize("gone_h, step_h", [(20, 10), (9 * 24, 36)], ids=["hours", "a week"])
def test_gone_for_long(make_daemon, broker, tmp_path, life, gone_h, step_h):
    rounds = times(1, 3)
    lost, wrong, recovery, sent = 0, 0, 0.0, 0
    for round_number in range(rounds):
        name = f"testing{round_number}"
        result = long_absence(make_daemon, broker, tmp_path, life, name, gone_h, step_h, round_number % 2)
        lost, wrong, recovery, sent = lost + result[0], wrong + result[1], max(recovery, result[2]), sent + result[3]
    record("broker gone for a week" if gone_h > 24 else "broker gone for hours", rounds, lost, wrong, recovery, f"simulated; {sent:,} readings; to the first order")
    assert not lost and not wrong
    assert recovery < LONGEST_BACKOFF + 6


def long_absence(make_daemon, broker, folder, life, name, gone_h, step_h, kills):
    clocks, sensors = Clocks(folder), Sensors()
    daemon = make_daemon(SETTINGS.replace("name: testing", f"name: {name}"), name=name)
    # Spring, when the feed is strong from the first day, whatever the date of this run.
    real = now()
    begun = datetime.datetime(real.year + 1, 4, 20, 10, 30, tzinfo=UTC)

    def set_to(hour):
        clocks.shift(wall_s=(begun - real).total_seconds() + hour * HOUR, boot_s=hour * HOUR)
        return begun + datetime.timedelta(hours=hour)

    set_to(0)
    daemon.start(env=life.env(clocks.env))

    with OrderWatch(broker, name) as orders:
        with broker.client() as client:
            reply = client.ask(f"plainwater/{name}/requests", {"id": "arm-1", "who": "a test", "request": "arm", "pump": "east"})
            assert reply["done"], reply
            for hour in range(0, 2 * 24 + 1, 2):  # two nights that count
                when = set_to(hour)
                for sensor in ("east-a", "east-b"):
                    sensors.send(client, sensor, 17, when)
                if when.hour in (4, 6, 8, 10):  # readings of a night must come before it closes
                    client.ask(f"plainwater/{name}/requests", {"id": "barrier"})
        in_store(daemon, sensors)
        wait_for(lambda: orders.seen() and instant(orders.seen()[-1]["issued"]) > when - datetime.timedelta(hours=1, minutes=5), "orders up to now")
        before = len(orders.seen())
        (broker.kill if kills else broker.stop)()
        life.looks(2)
        usage, ledger, given, gone_at = Usage(daemon), export(daemon)[1], len(orders.seen()), when + datetime.timedelta(minutes=1)
        kept = []
        for passed in range(step_h, gone_h + 1, step_h):
            last = set_to(hour + passed)
            kept += [(sensor, last) for sensor in ("east-a", "east-b")]
            life.looks()
            if passed < 24:
                assert export(daemon)[1] == ledger, "no night closes before the service has been without the broker for a day"
        assert len(orders.seen()) == given
        after = export(daemon)[1]
        assert after.startswith(ledger)
        news = [json.loads(line) for line in after[len(ledger):].splitlines()]
        usage.assert_idle(len(news))
        blind = [d for d in news if d["decision"] == "night-blind"]
        if gone_h > 24:
            assert [d["evidence"]["nights_in_a_row"] for d in blind] == list(range(1, len(blind) + 1)) and len(blind) == 7
            changes = [(d["cause"], d["strength_percent"], instant(d["time"])) for d in news if d["decision"] == "feeding-changed"]
            # In its first week a bench gets 25 % anyway; after two blind nights it would get no more.
            assert changes == [("blind", 0, instant(blind[6]["time"]))], changes
            # A pump that still has the last order knows that it has expired, long before that.
            assert all(instant(order["valid_until"]) < last for order in orders.seen())
        else:
            assert not news
        assert max(instant(order["valid_until"]) for order in orders.seen()) <= gone_at + datetime.timedelta(hours=26, minutes=1)
        back_at = time.monotonic()
        broker.start()
        new = wait_for(lambda: [o for o in orders.seen()[given:] if instant(o["issued"]) > gone_at], f"a fresh order; log:\n{daemon.tail()}", 60)
        recovery = time.monotonic() - back_at
        with broker.client() as client:
            for sensor, at in kept:
                sensors.send(client, sensor, 17, at)
            client.ask(f"plainwater/{name}/requests", {"id": "barrier"})
        lost, ledger = in_store(daemon, sensors), export(daemon)[1]
        words = [d for d in map(json.loads, ledger.splitlines()) if d["bench"] == "east" and instant(d["time"]) <= instant(new[0]["issued"])]
        assert new[0]["strength_percent"] == words[-1]["strength_percent"] == (0 if gone_h > 24 else words[-1]["strength_percent"])
        assert gone_h > 24 or new[0]["strength_percent"] > 0
        life.looks(2)
        orders.settled()
        # The broker's own clock is not shifted, so it still delivers what it retained; pumps know by their clocks that
        # it has expired.
        late = [o for o in orders.seen()[given:] if instant(o["valid_until"]) <= last and o not in orders.seen()[:given]]
        wrong = orders.wrong(ledger)
        print(f"{name}: {before} orders before, {len(orders.seen()) - given} after, {len(kept)} readings kept by sensors, "
              f"{[(d['decision'], d['strength_percent']) for d in news]}, first order {recovery:.1f} s after the return")
    daemon.stop()
    return len(lost), len(wrong) + len(late), recovery, len(sensors.sent)


def test_a_broker_that_hangs_up_again_and_again_is_gone(make_daemon, broker, tmp_path, life):
    """Each connection is accepted and lost before the backlog: that must not keep nights open for ever."""
    clocks, proxy, attempts = Clocks(tmp_path), Proxy(broker.port), 0
    daemon = make_daemon(SETTINGS.replace("{url}", proxy.url()))
    daemon.start(env=life.env(clocks.env))
    arm(broker)
    with OrderWatch(broker, "testing") as orders:
        wait_for(orders.seen, "an order")
        ledger = export(daemon)[1]
        proxy.fickle = True
        proxy.cut()
        for hours in range(16, 16 * times(3, 8) + 1, 16):
            clocks.shift(wall_s=hours * HOUR, boot_s=hours * HOUR)
            shifted = time.monotonic()
            life.looks(2)
            seen_it = time.monotonic()
            wait_for(lambda: len(proxy.tried(seen_it, "-in")) > 0, "another attempt")
            life.looks()
            attempts += len(proxy.tried(shifted, "-in"))
            if hours < 24:
                assert export(daemon)[1] == ledger
        blind = [d for d in map(json.loads, export(daemon)[1][len(ledger):].splitlines()) if d["decision"] == "night-blind"]
        given, back_at, proxy.fickle = len(orders.seen()), time.monotonic(), False
        recovery = back_again(daemon, orders, given, back_at, "after it holds on")
        wrong = orders.wrong(export(daemon)[1])
    record("broker that hangs up again and again", attempts, 0, len(wrong), recovery, f"{len(blind)} nights closed without it")
    assert blind and not wrong


def test_half_open(make_daemon, broker):
    proxy, sensors, rounds, recovery, found = Proxy(broker.port), Sensors(), times(1, 8), 0.0, []
    daemon = make_daemon(SETTINGS.replace("{url}", proxy.url()))
    daemon.start()
    arm(broker)
    with OrderWatch(broker, "testing") as orders, broker.client() as client:
        wait_for(orders.seen, "an order")
        for _ in range(rounds):
            with proxy.lock:
                dead = set(proxy.open)
            assert len(dead) == 2, "one connection to hear, one to speak"
            usage, frozen_at, given = Usage(daemon), time.monotonic(), len(orders.seen())
            proxy.freeze()
            for _ in range(20):
                sensors.send(client)
            wait_for(lambda: dead <= set(proxy.ended), f"both dead connections to be found; log:\n{daemon.tail()}", 10 * KEEP_ALIVE)
            found += [proxy.ended[number] - frozen_at for number in dead]
            recovery = max(recovery, back_again(daemon, orders, given, frozen_at, "after the dead connection"))
            wait_for(lambda: proxy.past_backlog(frozen_at), "the backlog drained")
            assert not (missing := in_store(daemon, sensors)), missing
            usage.assert_idle()
            assert_backed_off(proxy, frozen_at, time.monotonic(), "-in")
        wrong = orders.wrong(export(daemon)[1])
    lost = sensors.missing(daemon)
    print(f"found after {min(found):.1f} to {max(found):.1f} s of {KEEP_ALIVE} s keep-alive")
    record("half-open connection", rounds, len(lost), len(wrong), recovery, f"found after at most {max(found) / KEEP_ALIVE:.1f} keep-alives")
    assert not lost and not wrong
    assert max(found) < 1.5 * KEEP_ALIVE + 3, "the library looks about once a second"


def test_certificates(make_daemon, tmp_path):
    house, stranger, port = Authority(tmp_path / "house"), Authority(tmp_path / "stranger"), free_port()
    broker = Broker(tmp_path, f"allow_anonymous true\nlistener {port} 127.0.0.1\ncertfile {tmp_path}/broker.pem\nkeyfile {tmp_path}/broker.key\n")
    proxy, sensors, rounds, recovery, tried = Proxy(port, reads=False), Sensors(), times(1, 2), 0.0, 0
    house.issue(tmp_path / "broker", days=1)
    broker.start()
    daemon = make_daemon(SETTINGS.replace("{url}", f"mqtts://localhost:{proxy.port}\n  certificate_authority: {house.certificate}"))
    daemon.broker = broker
    try:
        daemon.start()
        arm(broker)
        with OrderWatch(broker, "testing") as orders:
            wait_for(orders.seen, "an order")
            for _ in range(rounds):
                for kind in ("expired", "of another authority"):
                    tried += 1
                    if kind == "expired":
                        for valid_s in (4, 15, 60):  # a busy machine needs its time
                            ends, given, since = house.issue(tmp_path / "broker", seconds=valid_s), len(orders.seen()), time.monotonic()
                            restart(broker)
                            while len(orders.seen()) == given and machine_s() < ends:
                                time.sleep(0.1)
                            if machine_s() < ends:
                                break
                        back_again(daemon, orders, given, since, "before the certificate ends")
                        wait_while(ends - machine_s() + 1, daemon)
                        with broker.client() as client:
                            sensors.send(client)
                        assert not in_store(daemon, sensors), "a running connection goes on"
                    else:
                        stranger.issue(tmp_path / "broker", days=1)
                    usage, since = Usage(daemon), time.monotonic()
                    restart(broker)
                    with broker.client() as client:
                        for _ in range(20):
                            sensors.send(client)
                    wait_while(times(3.5, 12), daemon)
                    says = "certificate has expired" if kind == "expired" else "certificate_authority"
                    wait_for(lambda: says in usage.text(), f"{says} in the log:\n{daemon.tail()}")
                    until = time.monotonic()
                    # One connection to receive, one to send; a refused certificate is checked on a further connection.
                    assert_backed_off(proxy, since, until, clients=2, per_attempt=2)
                    usage.assert_idle()
                    given = len(orders.seen())
                    house.issue(tmp_path / "broker", days=1)
                    mended_at = time.monotonic()
                    restart(broker)
                    recovery = max(recovery, back_again(daemon, orders, given, mended_at, "after the certificate was mended"))
                    assert not (missing := in_store(daemon, sensors)), missing
            wrong = orders.wrong(export(daemon)[1])
    finally:
        daemon.clean_up()
        broker.stop()
    lost = sensors.missing(daemon)
    record("certificate expired or of another authority", tried, len(lost), len(wrong), recovery, "refused, reported, repaired")
    assert not lost and not wrong and recovery < LONGEST_BACKOFF + 6


def test_wrong_password(make_daemon, tmp_path):
    right, wrong_word = "fern-lantern-43-ochre", "moss-lantern-44-umber"
    secret = tmp_path / "secret"
    secret.write_text(right + "\n")
    secret.chmod(0o600)
    broker = GuardedBroker(tmp_path, "grower", right)
    broker.start()
    proxy, sensors, rounds, recovery = Proxy(broker.port), Sensors(), times(1, 4), 0.0
    daemon = make_daemon(SETTINGS.replace("{url}", f"{proxy.url()}\n  user: grower\n  password_file: {secret}"))
    daemon.broker = broker
    try:
        daemon.start()
        arm(broker)
        with OrderWatch(broker, "testing") as orders:
            wait_for(orders.seen, "an order")
            for _ in range(rounds):
                secret.write_text(wrong_word + "\n")
                usage, since = Usage(daemon), time.monotonic()
                restart(broker)
                with broker.client() as client:
                    for _ in range(20):
                        sensors.send(client)
                wait_while(times(3.5, 12), daemon)
                says = 'check broker.user "grower", its password'
                wait_for(lambda: says in usage.text(), f"{says} in the log:\n{daemon.tail()}")
                assert_backed_off(proxy, since, time.monotonic(), "-in")
                assert_backed_off(proxy, since, time.monotonic(), "-out")
                usage.assert_idle()
                given, mended_at = len(orders.seen()), time.monotonic()
                secret.write_text(right + "\n")
                recovery = max(recovery, back_again(daemon, orders, given, mended_at, "after the password was mended"))
                assert not (missing := in_store(daemon, sensors)), missing
            wrong = orders.wrong(export(daemon)[1])
        log = daemon.log.read_text()
        assert right not in log and wrong_word not in log
    finally:
        daemon.clean_up()
        broker.stop()
    lost = sensors.missing(daemon)
    record("wrong password", rounds, len(lost), len(wrong), recovery, "refused, reported, repaired; shown nowhere")
    assert not lost and not wrong and recovery < LONGEST_BACKOFF + 6
