"""A house that was heard before a test begins: a bench gets plain water until its first night has counted."""
import datetime
import re

from clock import now
from houses import PLAYED
from waiting import wait_for

CELSIUS = (19.6, 19.9, 20.2, 20.0, 19.8, 20.1, 19.7)


def _played(live):
    """The same house by the readings' own times, each sensor sending JSON with its time."""
    played = re.sub(r"^clock:\n(?: .*\n)+", "", live, flags=re.M)
    played = re.sub(r"    form: number\n    quantity: temperature\n", "    form: json\n    temperature: /t\n    time: /time\n", played)
    return played + PLAYED


def hear_a_night(daemon, topics=("house/east/air",)):
    """The daemon, which does not run yet, hears two days at 20 °C on these topics, up to now, and is stopped again."""
    live, until = daemon.settings.read_text(), now()
    daemon.settings.write_text(_played(live))
    daemon.start()
    with daemon.broker.client() as client:
        moments = [until - datetime.timedelta(hours=i) for i in range(48, 0, -1)]
        for i, moment in enumerate(moments):
            for topic in topics:
                client.publish(topic, {"t": CELSIUS[i % len(CELSIUS)], "time": moment.strftime("%Y-%m-%dT%H:%M:%SZ")})
        wait_for(lambda: daemon.state()["readings"] >= len(moments) * len(topics), "the readings of two days")
    daemon.stop()
    daemon.settings.write_text(live)
