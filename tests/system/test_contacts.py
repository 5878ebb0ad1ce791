"""Contacts that report where a bench is: from the broker into the store, out again and into a rehearsal."""
import csv
import datetime
import io
import sqlite3

from clock import now, text_of
from conftest import SETTINGS, run, wait_for
from season import export, rehearse

MORNING = now() - datetime.timedelta(days=76)
HEAD = "time,sensor,temperature_c,humidity_percent"
WITH_CONTACTS = SETTINGS.replace("benches:\n", """\
  east-door:
    topic: house/east/door
    form: json
    place: /open
    time: /time
    outdoors_word: true
    indoors_word: false
  west-cart:
    topic: house/west/cart
    quantity: place
    outdoors_word: yard
benches:
""", 1).replace("sensors: [east-air]\n", "sensors: [east-air]\n    moves: watched\n    contact: east-door\n").replace(
    "sensors: [west-air]\n", "sensors: [west-air]\n    moves: declared\n    place: outdoors\n    contact: west-cart\n")


def at(minute):
    return text_of(MORNING + datetime.timedelta(minutes=minute))


def places(daemon):
    """(sensor, place) of every contact reading in the store, in order of arrival."""
    return [(row["sensor"], row["place"]) for row in csv.DictReader(io.StringIO(export(daemon)[0])) if row.get("place")]


def test_contact_readings_are_stored_and_unknown_words_counted(make_daemon, client, tmp_path):
    daemon = make_daemon(WITH_CONTACTS)
    daemon.start()
    client.publish("house/east/air", {"t": 20.5, "rh": 60, "time": at(0)})
    client.publish("house/east/door", {"open": True, "time": at(1)})
    client.publish("house/east/door", {"open": True, "time": at(1)})
    client.publish("house/east/door", {"open": "ajar", "time": at(2)})
    client.publish("house/west/cart", b"outdoors")
    client.publish("house/west/cart", b"yard")
    client.publish("house/west/cart", b" indoors ")
    client.publish("house/east/door", {"open": False, "time": at(3)})
    sent = [("east-door", "outdoors"), ("west-cart", "outdoors"), ("west-cart", "indoors"), ("east-door", "indoors")]
    wait_for(lambda: len(places(daemon)) >= len(sent), "the words in the journal")
    assert places(daemon) == sent
    heartbeats = client.subscribe(daemon.topic)
    wait_for(lambda: heartbeats and heartbeats[-1].json().get("refused", {}).get("unknown-word") == 2, "two unknown words", patience=90)
    daemon.stop()

    text = export(daemon)[0]
    assert text.splitlines()[:3] == [HEAD + ",place", f"{at(0)},east-air,20.500,60.000,", f"{at(1)},east-door,,,outdoors"]
    rehearse(daemon.settings, text, tmp_path, "--strict")


def test_a_house_without_contacts_exports_no_column_for_them(daemon, client):
    client.publish("house/east/air", {"t": 20.5, "rh": 60, "time": at(0)})
    wait_for(lambda: len(export(daemon)[0].splitlines()) == 2, "the reading in the journal")
    assert export(daemon)[0] == f"{HEAD}\n{at(0)},east-air,20.500,60.000\n"


def test_contact_readings_older_than_the_air_around_them_are_not_exported(make_daemon, client):
    daemon = make_daemon(WITH_CONTACTS)
    daemon.start()
    for minute, is_open in enumerate((True, False)):
        client.publish("house/east/door", {"open": is_open, "time": at(minute)})
    wait_for(lambda: len(places(daemon)) == 2, "the words in the journal")
    daemon.stop()
    with sqlite3.connect(daemon.store) as store:
        store.execute("UPDATE meta SET value = (SELECT MIN(seq) FROM journal WHERE quantity = 2) WHERE key = 'thinned_seq'")
    store.close()
    assert places(daemon) == [("east-door", "indoors")]
    assert run("plainwater", "check", daemon.settings).returncode == 0
