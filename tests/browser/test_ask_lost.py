"""Requests by the pages whose answer is lost: kept, sent again only by a tap, and never counted twice."""
import pytest

from browser.house import Check
from browser.test_ask import SIZES
from faults import Disk

TAKES_S = 120


def placed(house):
    return [d for d in house.ledger() if d["bench"] == "long" and d["decision"] == "hold-placed"]


@pytest.mark.parametrize("size", SIZES)
def test_a_lost_answer_is_had_again(lived, shots, size):
    house = lived()
    with Check("asks-and-the-answer-is-lost", house.url, shots, bench="long", size=size) as check:
        lost = check.heard("lost")
        assert [r["id"] for r in house.asked()] == [lost] and len(placed(house)) == 1
        check.say("counted")
    # However often it came, it was done once.
    assert {r["id"] for r in house.asked()} == {lost} and len(placed(house)) == 1


@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_sent_by_itself_after_a_restart(lived, shots, size):
    house = lived()
    with Check("asks-while-the-service-restarts", house.url, shots, bench="long", size=size) as check:
        check.heard("open")
        house.daemon.stop()
        check.say("stopped")
        check.heard("noticed")
        house.restart()
        check.say("started")
        wish = check.heard("back")
        assert house.barrier() == []
        check.say("counted")
    assert [r["id"] for r in house.asked()].count(wish) == 1 and len(placed(house)) == 1


def test_a_restart_while_the_dialog_is_open(lived, shots):
    house = lived()
    with Check("asks-after-the-service-restarted", house.url, shots, bench="long", size="phone") as check:
        check.heard("open")
        house.daemon.stop()
        check.say("stopped")
        check.heard("noticed")
        house.restart()
        check.say("started")
        check.heard("back")
        assert house.barrier() == []
        check.say("counted")
    assert len(placed(house)) == 1


def test_a_full_disk(lived, tmp_path, shots):
    house = lived()
    house.daemon.stop()
    disk = Disk(tmp_path, house.store)
    house.restart(disk.env)
    with Check("asks-on-a-full-disk", house.url, shots, bench="long", size="phone") as check:
        check.heard("open")
        disk.is_now("full")
        check.say("full")
        wish = check.heard("refused")
        assert house.asked() == [] and not placed(house)
        disk.is_now("fine")
        # The service tries its store again by itself.
        house.barrier()
        check.say("room")
    assert [r["id"] for r in house.asked()].count(wish) == 1 and len(placed(house)) == 1


def test_a_forgotten_wish_is_gone(lived, shots):
    house = lived()
    with Check("asks-and-forgets-it", house.url, shots, bench="long", size="phone"):
        pass
    assert house.barrier() == []
