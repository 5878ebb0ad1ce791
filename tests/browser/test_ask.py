"""Requests by the pages, against the real service and broker: each kind by hand, by whom, and what becomes of it."""
import pytest

from browser.house import Check
from browser.lived_house import KEEPER
from signing import SECRET

TAKES_S = 150
SIZES = ("phone", "desk")
# What a hand does on the page of bench long, one after the other. `fields`: values, or the words of what is offered.
ON_LONG = [
    {"request": "hold", "label": "Hold", "fields": {"until": "1 week", "note": "repotted"}, "decides": "hold-placed"},
    {"request": "extend", "label": "Extend", "fields": {"until": "2 weeks more"}, "decides": "hold-extended"},
    {"request": "release", "label": "Release", "decides": "hold-ended"},
    {"request": "hold", "label": "Hold", "fields": {"from": "tomorrow", "until": "4 weeks"}, "undo": "Undo"},
    {"request": "hold", "label": "Hold", "fields": {"from": "tomorrow", "until": "4 weeks"}},
    {"request": "hold", "label": "Change", "fields": {"until": "1 week"}, "part": ".announced"},
    {"request": "withdraw", "label": "Withdraw", "part": ".announced"},
    {"request": "exempt", "label": "Exempt", "fields": {"until": "4 weeks"}},
    {"request": "watered", "label": "Watered", "fields": {"litres": "12,5", "strength_percent": "20"}},
    {"request": "runoff", "label": "Runoff", "fields": {"ec": "1.4"}},
    {"request": "note", "label": "Note", "fields": {"note": "new shoots on the left"}},
]
ON_COURTYARD = [{"request": "move", "label": "Move", "fields": {"to": "outdoors"}}]
ON_PUMP = [{"request": "arm", "label": "Arm"}, {"request": "disarm", "label": "Disarm"}]


def in_turn(house, shots, bench, size, wishes):
    """Does these wishes one after the other; each must be in the store once, from the keeper, and only after its sentence."""
    with Check("asks-each-in-turn", house.url, shots, bench=bench, size=size, wishes=wishes) as check:
        for wish in wishes:
            before, lines = house.asked(), len(house.ledger())
            check.heard("would")
            assert house.asked() == before, "what would change is asked for without changing anything"
            check.say("go")
            done = check.heard("done")
            added = house.asked()[len(before):]
            assert len(done["sent"]) == 1
            if wish["request"] == "acknowledge":  # kept with the notice itself
                assert not added and KEEPER in [need["acknowledged_by"] for need in house.api("/api/now")["needs"]]
            else:
                assert [(r["request"], r["who"], r["id"]) for r in added] == [(wish["request"], KEEPER, done["sent"][0]["id"])]
                for name in ("note", "to"):
                    assert added[0].get(name) == wish.get("fields", {}).get(name)
            decided = house.ledger()[lines:]
            if "decides" in wish:
                assert wish["decides"] in [d["decision"] for d in decided]
            assert len(done["lines"]) == len(decided), "each line of the ledger is shown"
            check.say("next")
            if "undo" in wish:
                undone = check.heard("undone")
                assert len(undone["sent"]) == 1 and undone["sent"][0]["id"] != added[0]["id"]
                assert len(house.asked()) == len(before) + 2
                check.say("next")
        return house.asked()


@pytest.mark.parametrize("size", SIZES)
def test_each_request_of_a_bench_by_hand(lived, shots, size):
    house = lived()
    asked = in_turn(house, shots, "long", size, ON_LONG)
    watered = next(r for r in asked if r["request"] == "watered")
    assert (watered["litres"], watered["strength_percent"]) == (12.5, 20)
    announced, changed, withdrawn = [r for r in asked if "from" in r or "instead" in r or r["request"] == "withdraw"][-3:]
    assert (changed["instead"], withdrawn["hold"]) == (announced["id"], changed["id"])
    assert house.bench("long")["announced"] == []
    in_turn(house, shots, "courtyard", size, ON_COURTYARD)


@pytest.mark.parametrize("size", SIZES)
def test_a_pump_is_armed_by_two_steps_and_disarmed(lived, shots, size):
    house = lived()
    in_turn(house, shots, "mist", size, ON_PUMP)
    assert not house.api("/api/now")["pumps"][0]["armed"]


def test_a_pump_that_disobeyed(lived, shots):
    """What needs a person has its answers beside it: to acknowledge it, and to trust the pump again."""
    house = lived()
    house.pump_disobeys("long")
    in_turn(house, shots, "mist", "phone", [{"request": "acknowledge", "label": "Acknowledge", "part": ".needs"},
                                            {"request": "trust", "label": "Trust", "part": ".needs"}])
    assert house.api("/api/now")["pumps"][0]["trusted"]


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_every_state_of_the_dialog_is_accessible(check, lived, size, dark):
    """With a picture of each."""
    check("asks-in-every-state", lived(), bench="long", size=size, dark=dark)


def test_asking_by_keyboard(lived, shots):
    house = lived()
    with Check("asks-by-keyboard", house.url, shots, bench="mist") as check:
        check.heard("held")
    assert [r["request"] for r in house.asked()] == ["hold"]


def test_times_are_the_sites_and_figures_have_commas(check, shown_house):
    check("asks-by-the-sites-clock", shown_house, bench="long")


def test_paper_has_no_buttons(check, shown_house):
    check("asks-nothing-on-paper", shown_house, bench="long")


def test_a_reader_sees_no_buttons(check, lived):
    check("asks-nothing-as-a-reader", lived("  unit: celsius\n"), bench="long", says="You are reading only", link=False)


@pytest.mark.parametrize("size", SIZES)
def test_a_carer_signs_in_and_loses_the_session(lived, shots, size):
    house = lived("", ines="care", ola="keeper")
    with Check("asks-as-a-carer", house.url, shots, bench="long", size=size, secret=SECRET) as check:
        wish = check.heard("refused")
        assert house.barrier() == []
        check.say("counted")
    assert [(r["id"], r["who"]) for r in house.asked() if r["request"] == "hold"] == [(wish, "ines")]


def test_a_keeper_may_arm(check, lived):
    check("asks-as-a-keeper", lived("", ines="care", ola="keeper"), bench="long", size="phone", secret=SECRET)


def test_another_origin_may_ask_for_nothing(lived, shots):
    house = lived()
    with Check("asks-from-another-origin", house.url, shots, bench="long") as check:
        check.heard("tried")
        assert house.barrier() == []
        check.say("counted")
    assert [r["request"] for r in house.asked() if not r["id"].startswith("barrier-")] == ["hold"]


def test_two_phones_at_one_bench(lived, shots):
    house = lived()
    with Check("asks-by-two-at-once", house.url, shots, bench="long") as check:
        check.heard("both")
    assert [r["request"] for r in house.asked()] == ["hold", "hold"]
    assert [d["decision"] for d in house.ledger() if d["bench"] == "long"].count("hold-placed") == 1
