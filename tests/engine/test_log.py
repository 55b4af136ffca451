"""Amendments of several devices, and the set-up that holds."""

from dataclasses import replace
from datetime import timedelta

from engine.decision import decide
from engine.limits import Refusal
from engine.log.reading import effective, setup_in_force
from engine.reasons import Code
from engine.records import Addition, Amendment, Record, Setup
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, kettle

ADDED = KeeperLog().addition(1.0, 300.0).records[0]
assert isinstance(ADDED, Addition)


def amended(name: str, supersedes: str, meq: float | None, minute: int) -> Amendment:
    at = NOW - timedelta(minutes=60 - minute)
    return Amendment(
        id=name,
        at=at,
        recorded_at=at,
        system=SYSTEM,
        supersedes=supersedes,
        replacement=None if meq is None else replace(ADDED, alkalinity_meq=meq),
    )


def amounts(*records: Record) -> list[float]:
    return [r.alkalinity_meq for r in effective(records) if isinstance(r, Addition)]


def test_amendments_of_two_devices_count_once():
    first, other = amended("a:10", ADDED.id, 100.0, 1), amended("b:5", ADDED.id, 200.0, 2)
    again = amended("a:11", "a:10", 150.0, 3)
    assert amounts(ADDED, first, other, again) == [150.0]
    assert amounts(again, other, ADDED, first) == [150.0]


def test_withdrawal_on_one_device_is_not_undone_by_an_earlier_change_on_another():
    first, other = amended("a:10", ADDED.id, 100.0, 1), amended("b:5", ADDED.id, 200.0, 2)
    assert amounts(ADDED, first, other, amended("a:12", "a:10", None, 3)) == []
    assert amounts(ADDED, first, amended("a:12", "a:10", None, 2), replace(other, at=NOW)) == [
        200.0
    ]


def test_an_amendment_of_an_amendment_holds_although_its_clock_was_behind():
    first, again = amended("a:10", ADDED.id, 100.0, 30), amended("a:11", "a:10", 150.0, 5)
    assert amounts(ADDED, first, again) == [150.0]


def test_amendments_in_a_circle_end():
    assert amounts(amended("x:1", "x:2", 1.0, 1), amended("x:2", "x:1", 2.0, 2)) == []
    circle = (amended("x:1", "x:2", 1.0, 1), amended("x:2", "x:1", 2.0, 2))
    assert amounts(*circle, amended("x:3", "x:1", 3.0, 3)) == [3.0]


def setup_of(days_ahead: float, name: str, number: int, device: str = "phone") -> Setup:
    found = KeeperLog().setup(name=name).records[0]
    assert isinstance(found, Setup)
    at = NOW + timedelta(days=days_ahead)
    return replace(found, id=f"{device}:{number}", at=at, recorded_at=at)


def test_setup_dated_in_the_future_by_a_wrong_clock_stays_in_force():
    log = kettle()
    log.records[0] = setup_of(365.0, "Kettle House", 1)
    decision = log.decide()
    assert decision.setup is not None
    assert isinstance(decision.plan, Refusal)
    assert decision.plan.code is Code.CLOCK_BEHIND_LOG
    alone = decide(log.records[:1], system=SYSTEM, now=NOW)
    assert alone.setup is not None


def test_setup_in_force_is_the_last_entered_whatever_its_date():
    wrong_clock, corrected = setup_of(3.0, "wrong", 7), setup_of(0.0, "corrected", 8)
    for order in ((wrong_clock, corrected), (corrected, wrong_clock)):
        held = setup_in_force(order)
        assert held is not None
        assert held.name == "corrected"
    log = kettle()
    log.records += [wrong_clock, corrected]
    later = decide(log.records, system=SYSTEM, now=NOW + timedelta(days=3, hours=1))
    assert later.setup is not None
    assert later.setup.name == "corrected"


def test_between_two_devices_the_time_of_entry_tells_the_setup_in_force():
    one, other = setup_of(-2.0, "one", 900, "phone"), setup_of(-1.0, "other", 3, "tablet")
    held = setup_in_force((other, one))
    assert held is not None
    assert held.name == "other"


def test_a_corrected_time_of_an_old_setup_does_not_bring_it_back():
    old, new = setup_of(-20.0, "old", 1), setup_of(-5.0, "new", 2)
    moved = Amendment(
        id="phone:3",
        at=NOW,
        recorded_at=NOW,
        system=SYSTEM,
        supersedes=old.id,
        replacement=replace(old, at=NOW - timedelta(days=21), recorded_at=NOW),
    )
    held = setup_in_force((old, new, moved))
    assert held is not None
    assert held.name == "new"
