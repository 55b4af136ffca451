"""What stops limewater whatever else is known: pH, a sudden rise, alkalinity above its band."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine.limits import Action, DosePlan, Refusal
from engine.reasons import Code
from engine.records import Delivery, WaterTest
from tests.support.keeper_log import NOW, KeeperLog, kettle


def refused(log: KeeperLog) -> Refusal:
    plan = log.decide().plan
    assert isinstance(plan, Refusal), plan
    return plan


def codes(log: KeeperLog) -> list[str]:
    return [reason.code for reason in refused(log).reasons]


def one_entry_from_a_later_clock(log: KeeperLog) -> KeeperLog:
    log.records.append(
        replace(log.records[-1], id="tablet:1", recorded_at=NOW + timedelta(hours=1))
    )
    return log


def older(log: KeeperLog, days: float) -> KeeperLog:
    log.records = [
        replace(r, at=r.at - timedelta(days=days)) if isinstance(r, WaterTest) else r
        for r in log.records
    ]
    return log


def untested() -> KeeperLog:
    return KeeperLog().setup().pump(60.0, 5.3)


@pytest.mark.parametrize(
    ("log", "behind"),
    [
        (one_entry_from_a_later_clock(kettle()), Code.CLOCK_BEHIND_LOG),
        (kettle(keeper_cap_L_per_day=None), Code.LIMIT_UNSET),
        (kettle(evaporation_low_L_per_day=None), Code.EVAPORATION_UNSET),
        (untested(), Code.ALKALINITY_MISSING),
        (older(kettle(), 20.0), Code.ALKALINITY_STALE),
    ],
    ids=["clock", "limits", "evaporation", "untested", "stale"],
)
def test_high_pH_stops_before_anything_else_is_judged(log, behind):
    plan = refused(log.read(0.1, pH_nbs=8.7))
    assert (plan.code, plan.action) == (Code.PH_TOO_HIGH, Action.STOP)
    assert log.decide().change.code is Code.STOP
    assert behind in [reason.code for reason in plan.reasons]


def test_high_pH_stops_without_a_set_up():
    log = KeeperLog().read(0.1, pH_nbs=8.7)
    assert refused(log).action is Action.STOP
    assert codes(log)[0] == Code.PH_TOO_HIGH


@pytest.mark.parametrize(
    ("pH", "card"),
    [
        (8.79, None),
        (8.8, Code.OVERDOSE_ACT_NOW),
        (8.99, Code.OVERDOSE_ACT_NOW),
        (9.0, Code.OVERDOSE_EMERGENCY),
        (9.6, Code.OVERDOSE_EMERGENCY),
    ],
)
def test_very_high_pH_points_to_the_emergency_card(pH, card):
    found = codes(kettle().read(0.1, pH_nbs=pH))
    cards = {Code.OVERDOSE_ACT_NOW, Code.OVERDOSE_EMERGENCY} & set(found)
    assert cards == ({card} if card else set())


def test_highest_pH_of_the_day_counts_not_the_morning_after():
    log = kettle().read(0.6, pH_nbs=8.62).read(0.02, pH_nbs=8.1)
    assert codes(log)[0] == Code.PH_TOO_HIGH
    log = kettle().read(0.6, pH_nbs=8.45).read(0.02, pH_nbs=8.1)
    assert isinstance(log.decide().plan, DosePlan)


def test_once_too_high_limewater_waits_for_a_whole_day_below_the_lower_threshold():
    between = kettle().read(2.0, pH_nbs=8.6).read(0.3, pH_nbs=8.45)
    assert codes(between)[0] == Code.PH_TOO_HIGH
    low = kettle().read(2.0, pH_nbs=8.6).read(0.3, pH_nbs=8.39)
    assert isinstance(low.decide().plan, DosePlan)
    # a whole low day ago, and not at the ceiling since
    since = kettle().read(5.0, pH_nbs=8.6).read(3.0, pH_nbs=8.2).read(0.3, pH_nbs=8.45)
    assert isinstance(since.decide().plan, DosePlan)
    # low this morning, but the high evening is less than a day before it and before now
    morning = kettle().read(0.9, pH_nbs=8.6).read(0.3, pH_nbs=8.2)
    assert codes(morning)[0] == Code.PH_TOO_HIGH


@pytest.mark.parametrize("level_dKH", [9.6, 10.5, 13.0, 16.0])
def test_no_limewater_while_alkalinity_is_above_its_band(level_dKH):
    log = untested()
    for days_ago in (21, 18, 15, 12, 9, 6, 3, 0.5):
        log.test(days_ago, level_dKH)
    plan = refused(log)
    assert (plan.code, plan.action) == (Code.ALKALINITY_ABOVE_BAND, Action.STOP)


def test_a_test_above_the_band_by_no_more_than_its_error_stops_nothing():
    log = untested()
    for days_ago in (21, 18, 15, 12, 9, 6, 3, 0.5):
        log.test(days_ago, 9.4)  # the band ends at 9.0; 1.645 x 0.3 dKH is the error
    assert isinstance(log.decide().plan, DosePlan)


def test_once_above_the_band_limewater_waits_until_inside_it():
    log = untested()
    for days_ago, value in ((15, 8.6), (12, 8.6), (9, 8.6), (6, 9.7), (3, 9.4), (0.5, 9.2)):
        log.test(days_ago, value)
    assert codes(log)[0] == Code.ALKALINITY_ABOVE_BAND
    assert isinstance(log.test(0.1, 8.9).decide().plan, DosePlan)


@pytest.mark.parametrize(
    ("jump_dKH", "card"),
    [(1.6, Code.OVERDOSE_ACT_NOW), (2.0, Code.OVERDOSE_ACT_NOW), (4.2, Code.OVERDOSE_EMERGENCY)],
)
def test_a_sudden_rise_of_the_raw_tests_stops_and_points_to_the_card(jump_dKH, card):
    plan = refused(kettle().test(0.1, 8.3 + jump_dKH))
    assert (plan.code, plan.action) == (Code.ALKALINITY_JUMPED, Action.STOP)
    assert plan.reasons[1].code == card


def test_a_sudden_rise_inside_the_band_stops_too():
    log = untested()
    for days_ago in (12, 9, 6, 3, 0.9):
        log.test(days_ago, 7.0)
    assert codes(log.test(0.1, 8.7))[0] == Code.ALKALINITY_JUMPED


def test_a_rise_counts_for_each_day_between_the_tests():
    def after(days: float) -> KeeperLog:
        log = untested()
        for days_ago in (12.0, 9.0, 6.0):
            log.test(days_ago + days, 6.0)
        return log.test(days, 6.0).test(0.0, 8.6)

    assert codes(after(1.5))[0] == Code.ALKALINITY_JUMPED
    assert Code.ALKALINITY_JUMPED not in [r.code for r in after(3.0).decide().plan.reasons]


def test_a_retest_that_does_not_confirm_the_rise_ends_the_alarm():
    log = kettle().test(0.1, 10.3).test(0.05, 8.3)
    assert Code.ALKALINITY_JUMPED not in [r.code for r in log.decide().plan.reasons]


def at_level() -> KeeperLog:
    """Return a calm tank near the top of its band, which ends at 9.0 dKH."""
    log = KeeperLog().setup().pump(60.0, 5.3)
    for number in range(10, 0, -1):
        log.test(3.0 * number, 8.8 + (0.1 if number % 2 else -0.1))
    return log


def said(log: KeeperLog) -> list[str]:
    return [r.code for r in log.decide().cautions]


def test_a_doubted_test_above_the_band_is_repeated_before_it_stops_limewater():
    log = at_level().test(0.1, 9.9)
    plan = log.decide().plan
    assert isinstance(plan, DosePlan)
    assert plan.L_per_day <= 5.3  # nothing is raised meanwhile
    assert Code.HIGH_UNTIL_REPEATED in said(log)


def test_a_doubted_test_above_the_band_stops_limewater_when_not_repeated_within_a_day():
    log = at_level().test(1.1, 9.9)
    assert codes(log)[0] == Code.ALKALINITY_ABOVE_BAND
    assert Code.HIGH_UNTIL_REPEATED not in said(log)


def test_a_doubted_test_above_the_band_that_is_borne_out_stops_limewater():
    assert codes(at_level().test(0.2, 9.9).test(0.1, 9.9))[0] == Code.ALKALINITY_ABOVE_BAND


def test_a_repetition_that_reads_alike_stops_limewater_even_while_both_are_doubted():
    log = kettle().test(0.2, 9.6).test(0.1, 9.6)
    assert codes(log)[0] == Code.ALKALINITY_ABOVE_BAND


def test_a_reading_that_would_be_an_accident_stops_limewater_at_once():
    assert refused(at_level().test(0.1, 10.9)).action is Action.STOP


def test_a_high_pH_stops_whatever_waits_to_be_repeated():
    log = at_level().test(0.1, 9.9).read(0.05, pH_nbs=8.6)
    assert refused(log).action is Action.STOP
    assert Code.HIGH_UNTIL_REPEATED not in said(log)


def test_a_wild_test_before_a_good_one_stops_nothing_any_more():
    """Neither as a rise from a reading that was too low, nor as one that was above the band."""
    low = at_level().test(0.9, 6.3).test(0.1, 8.8)
    high = at_level().test(0.9, 12.0).test(0.1, 9.1)
    for log in (low, high):
        assert isinstance(log.decide().plan, DosePlan), codes(log)


def test_a_rise_on_top_of_a_doubted_low_test_still_stops():
    assert refused(at_level().test(0.9, 6.3).test(0.1, 10.6)).action is Action.STOP


def test_a_pump_that_gives_far_too_much_stops_before_unset_limits():
    log = kettle(keeper_cap_L_per_day=None).pump_check(0.1, 100.0, 260.0)
    assert codes(log)[:2] == [Code.PUMP_FAULT_HIGH, Code.LIMIT_UNSET]
    assert refused(log).action is Action.STOP


def test_a_dead_pump_is_a_fault_and_not_a_tank_that_takes_nothing():
    for share in (0.0, 20.0):
        decision = kettle().pump_check(0.1, 100.0, share).decide()
        assert isinstance(decision.plan, Refusal)
        assert decision.plan.code is Code.PUMP_FAULT_LOW
        # the log before the check is read as before
        assert decision.demand is not None
        per_day = decision.demand.per_day_meq  # type: ignore[union-attr]
        assert per_day.best == pytest.approx(5.3 * 40.897, rel=0.01)


def test_a_new_check_after_the_repair_ends_the_fault():
    log = kettle().pump_check(0.3, 100.0, 0.0).pump_check(0.1, 100.0, 99.0)
    assert isinstance(log.decide().plan, DosePlan)


def test_a_tank_that_takes_none_stops_limewater_although_a_limit_is_unset():
    log = KeeperLog().setup(keeper_cap_L_per_day=None).pump(60.0, 0.3)
    for days_ago in (18.5, 15.5, 12.5, 9.5, 6.5, 3.5, 0.5):
        log.test(days_ago, 7.2 + 0.09 * (18.5 - days_ago))
    plan = refused(log)
    assert plan.action is Action.STOP
    assert plan.code is Code.DEMAND_NOT_POSITIVE
    assert Code.LIMIT_UNSET in [reason.code for reason in plan.reasons]


@pytest.mark.parametrize(
    ("delivery", "said"),
    [
        (Delivery.PUMP_VESSEL, Code.STOP),
        (Delivery.DRIP, Code.STOP_DRIP),
        (Delivery.TOP_OFF_VESSEL, Code.STOP_TOP_OFF_VESSEL),
        (Delivery.TOP_OFF_CONTAINER, Code.STOP_TOP_OFF_CONTAINER),
    ],
)
def test_stop_is_said_for_what_the_keeper_has(delivery, said):
    change = kettle(delivery=delivery, lime_container_L=20.0).read(0.1, pH_nbs=8.6).decide().change
    assert change.code is Code.STOP
    assert change.reasons[0].code == said
