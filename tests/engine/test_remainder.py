"""A second source that a limit holds down is said, and where alkalinity then heads."""

import pytest

from engine.decision import Decision
from engine.demand.answer import Demand
from engine.limits import DosePlan
from engine.plan.remainder import Remainder
from engine.reasons import Code
from engine.records import SecondSource, SecondSourceSetting
from tests.support.keeper_log import KeeperLog, dkh


def heavy(second_meq: float, newest_dKH: float = 8.3, **setup) -> Decision:
    """Return a tank that is held steady by 5.3 L of limewater and a two-part."""
    fields = {"second_source": SecondSource.TWO_PART, "two_part_meq_per_mL": 2.0, **setup}
    log = KeeperLog().setup(**fields).pump(60.0, 5.3).second(60.0, second_meq)
    for days_ago in (21, 18, 15, 12, 9, 6, 3):
        log.test(days_ago, 8.3)
    return log.test(0.5, newest_dKH).decide()


def left(decision: Decision) -> Remainder:
    assert decision.remainder is not None
    return decision.remainder


def codes(decision: Decision) -> list[str]:
    return [reason.code for reason in left(decision).reasons]


def test_second_source_lowered_by_a_limit_is_said_with_the_limit_and_what_is_missing():
    decision = heavy(330.0)
    held = [r for r in left(decision).reasons if r.code == Code.SECOND_HELD_STOPPED_RISE]
    assert held
    assert held[0].numbers["ceiling_meq_per_day"] == pytest.approx(left(decision).meq_per_day)
    assert held[0].numbers["wanted_meq_per_day"] > held[0].numbers["ceiling_meq_per_day"]
    short = [r for r in left(decision).reasons if r.code == Code.HELD_SHORT]
    assert short
    assert short[0].numbers["fall_meq_per_L_per_day"] == pytest.approx(
        short[0].numbers["short_meq_per_day"] / 450.0
    )
    assert left(decision).days_to_band_low is not None


def test_second_source_within_the_limits_is_not_called_held():
    assert codes(heavy(100.0)) == [Code.SECOND_SOURCE_TWO_PART]


def test_both_sources_are_judged_with_limewater_at_its_strongest():
    decision = heavy(330.0)
    plan = decision.plan
    assert isinstance(plan, DosePlan)
    most = plan.L_per_day * 40.897 * 1.10 + left(decision).alkalinity.floats("meq/day").high
    assert most <= dkh(3.0) * 405.0 * (1.0 + 1e-9)


def test_a_two_part_of_unknown_strength_takes_room_from_limewater():
    def room(strength: float | None) -> float:
        plan = heavy(300.0, two_part_meq_per_mL=strength, keeper_cap_L_per_day=20.0).plan
        assert isinstance(plan, DosePlan)
        return next(c.L_per_day for c in plan.caps if c.code is Code.CAP_EVAPORATION)

    assert room(None) == pytest.approx(room(1.0))
    assert room(None) < room(2.0)


def reactor(*, recorded_flow_L_per_day: float | None) -> Decision:
    """Return a tank with a reactor whose flow in Setup is 40 mL a minute."""
    fields = {
        "second_source": SecondSource.REACTOR,
        "reactor_effluent_meq_per_L": dkh(35.0),
        "reactor_flow_L_per_day": 57.6,
        "evaporation_low_L_per_day": 4.0,
        "evaporation_high_L_per_day": 5.0,
    }
    log = KeeperLog().setup(**fields).pump(60.0, 3.6)
    setting = {"alkalinity_meq_per_day": 70.0, "flow_L_per_day": recorded_flow_L_per_day}
    log.add(SecondSourceSetting, 60.0, **setting)
    for days_ago in (21, 18, 15, 12, 9, 6, 3, 0.5):
        log.test(days_ago, 8.3)
    return log.decide()


@pytest.mark.parametrize(("recorded", "said"), [(None, 40.0), (72.0, 50.0)])
def test_the_present_flow_of_a_reactor_is_the_one_recorded_last(recorded, said):
    found = left(reactor(recorded_flow_L_per_day=recorded)).reasons
    flow = next(r for r in found if r.code == Code.REACTOR_ALKALINITY).numbers
    assert flow["flow_mL_per_min"] == pytest.approx(said)


def short(newest_dKH: float | None, *, second_meq: float = 60.0, days: float = 0.0) -> Decision:
    """Return a tank that loses 0.06 dKH a day; its two-part wants to be raised."""
    fields = {"second_source": SecondSource.TWO_PART, "two_part_meq_per_mL": 2.0}
    log = KeeperLog().setup(**fields, evaporation_low_L_per_day=5.0).pump(60.0, 4.5)
    log.second(60.0, second_meq)
    for number, days_ago in enumerate((22, 19, 16, 13, 10, 7, 4, 1)):
        log.test(days_ago + days, 9.0 - 0.18 * number)
    if newest_dKH is not None:
        log.test(0.1 + days, newest_dKH)
    return log.decide()


def held_by(decision: Decision) -> list[str]:
    return [code for code in codes(decision) if code.startswith("second_held")]


def test_a_second_source_may_be_raised_on_tests_that_fit():
    decision = short(7.7)
    assert left(decision).meq_per_day > 60.0
    assert held_by(decision) == []


def test_a_second_source_is_not_raised_on_a_doubted_test():
    decision = short(5.0)
    assert isinstance(decision.plan, DosePlan)
    assert Code.CAP_SUSPECT in decision.plan.binding
    assert left(decision).alkalinity.floats("meq/day").high <= 60.0
    assert decision.change.second_source is None
    assert held_by(decision) == [Code.SECOND_HELD_SUSPECT]


def test_a_second_source_is_cut_by_a_limit_whatever_the_doubted_test_says():
    decision = heavy(330.0, newest_dKH=5.0)
    assert isinstance(decision.demand, Demand)
    assert [suspect.value.magnitude for suspect in decision.demand.suspects] == [dkh(5.0)]
    assert left(decision).meq_per_day < 320.0
    assert held_by(decision) == [Code.SECOND_HELD_STOPPED_RISE]


def test_a_second_source_is_not_raised_without_a_fresh_test():
    fresh, old = short(None), short(None, days=7.5)
    assert left(fresh).meq_per_day > 60.0
    assert left(old).meq_per_day <= 60.0
    assert held_by(old) == [Code.SECOND_HELD_UNTESTED]
