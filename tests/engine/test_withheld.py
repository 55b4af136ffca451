"""While entries may be missing nothing is raised, and what stopped or lowered limewater stands."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine.decision import Decision
from engine.demand.facts import gather
from engine.limits import Action, DosePlan, Refusal
from engine.plan.schedule import DaySchedule, day_schedule
from engine.plan.season import Season, year
from engine.plan.water_balance import WaterBalance, water_balance_by_plan
from engine.plan.withheld import Standing, is_withheld, standing_of, withheld
from engine.reasons import Code
from engine.records import Delivery, SecondSource
from engine.units import to_float
from tests.support.keeper_log import NOW, KeeperLog, all_reasons, dkh, kettle

MISSING = (Code.RECORDS_MISSING,)
STOP = Standing(action=Action.STOP)


def calm() -> KeeperLog:
    return kettle()


def raises() -> KeeperLog:
    """A tank that needs more than its pump gives."""
    log = KeeperLog().setup().pump(60.0, 4.0)
    for number, days_ago in enumerate((21.0, 18.0, 15.0, 12.0, 9.0, 6.0, 3.0, 0.5)):
        log.test(days_ago, 8.6 - 0.12 * number)
    return log


def lowers() -> KeeperLog:
    return kettle(evaporation_low_L_per_day=4.0)


def high_pH() -> KeeperLog:
    return kettle().read(0.1, pH_nbs=8.65)


def two_part() -> KeeperLog:
    setup = {"second_source": SecondSource.TWO_PART, "two_part_meq_per_mL": 2.0}
    return kettle(keeper_cap_L_per_day=3.0, **setup).second(60.0, 1.0)


def weak() -> KeeperLog:
    return kettle().strength(0.2, 0.5)


def first_setting() -> KeeperLog:
    setup = {"entered_demand_meq_per_L_per_day": dkh(1.0)}
    return KeeperLog().setup(**setup).test(5.0, 8.3).test(1.0, 8.3)


LOGS = (calm, raises, lowers, high_pH, two_part, weak, first_setting)
DELIVERIES = tuple(
    lambda each=each: kettle(delivery=each, lime_container_L=20.0) for each in Delivery
)


def setting(decision: Decision) -> float | None:
    found = decision.change.setting
    return None if found is None else to_float(found, "L/day")


def test_the_logs_do_ask_for_what_must_be_kept_back():
    codes = {log.__name__: log().decide().change.code for log in LOGS}
    assert codes["calm"] is Code.NOTHING_TO_DO
    assert codes["raises"] is Code.RAISE_PUMP
    assert codes["lowers"] is Code.LOWER_PUMP
    assert codes["high_pH"] is Code.STOP
    assert codes["weak"] in (Code.RECHARGE_FIRST, Code.LOWER_PUMP)
    assert codes["first_setting"] is Code.SET_PUMP_FIRST
    assert two_part().decide().change.second_source is not None


@pytest.mark.parametrize("log", [*LOGS, *DELIVERIES])
@pytest.mark.parametrize("standing", [None, STOP, Standing(action=Action.HOLD)])
def test_nothing_is_raised_and_no_dose_cap_or_powder_is_left(log, standing):
    sound = log().decide()
    found = withheld(sound, MISSING, standing)
    assert isinstance(found.plan, Refusal)
    assert found.change.code in (Code.HOLD, Code.LOWER_PUMP, Code.STOP)
    assert found.change.second_source is None
    assert found.change.mix_share is None
    assert found.change.mix_powder is None
    assert (found.need, found.remainder, found.powder, found.stop_safe) == (None,) * 4
    was = found.change.was
    if setting(found) is not None:
        assert was is not None or setting(found) == 0.0 or found.change.code is Code.LOWER_PUMP
        assert was is None or setting(found) <= to_float(was, "L/day")
    codes = {each.code for each in all_reasons(found)}
    assert Code.RECORDS_MISSING in codes
    assert Code.NOTHING_TO_DO not in codes
    assert not any(code.startswith("cap_") for code in codes)
    assert is_withheld(found)
    assert not is_withheld(sound)


@pytest.mark.parametrize("log", [calm, raises, two_part, first_setting])
def test_what_follows_from_a_withheld_decision_gives_no_dose_either(log):
    kept = log()
    found = withheld(kept.decide(), MISSING)
    facts = gather(kept.records, system=kept.system, now=NOW)
    assert not isinstance(day_schedule(found, facts), DaySchedule)
    assert not isinstance(year(found, facts), Season)
    assert not isinstance(water_balance_by_plan(found, facts), WaterBalance)


@pytest.mark.parametrize("log", LOGS)
def test_a_stop_that_stood_stands_whatever_the_log_says_now(log):
    found = withheld(log().decide(), MISSING, STOP)
    assert found.change.code is Code.STOP
    assert setting(found) == 0.0
    assert found.plan.action is Action.STOP


def test_its_own_stop_keeps_its_own_reasons():
    found = withheld(high_pH().decide(), MISSING)
    assert found.change.code is Code.STOP
    assert [each.code for each in found.plan.reasons][:1] == [Code.PH_TOO_HIGH]
    assert found.plan.reasons[-1].code == Code.RECORDS_MISSING


def test_a_lowering_stands_at_the_lower_of_both():
    own = standing_of(lowers().decide())
    assert own.action is Action.LOWER
    assert own.lower_to_L_per_day is not None
    for stood, expected in ((1.5, 1.5), (5.0, own.lower_to_L_per_day)):
        standing = Standing(action=Action.LOWER, lower_to_L_per_day=stood)
        assert setting(withheld(lowers().decide(), MISSING, standing)) == expected
    standing = Standing(action=Action.LOWER, lower_to_L_per_day=2.0)
    found = withheld(calm().decide(), MISSING, standing)
    assert found.change.code is Code.LOWER_PUMP
    assert setting(found) == 2.0
    assert Code.LOWER_STANDS in {each.code for each in found.plan.reasons}


def test_a_lowering_that_was_set_already_raises_nothing_back():
    standing = Standing(action=Action.LOWER, lower_to_L_per_day=5.4)
    found = withheld(calm().decide(), MISSING, standing)
    assert found.change.code is Code.HOLD
    assert setting(found) == 5.3


def test_without_a_reason_the_decision_is_as_it_was():
    sound = raises().decide()
    assert withheld(sound, ()) is sound
    assert isinstance(sound.plan, DosePlan)


def test_where_alkalinity_stands_is_not_said_of_a_log_with_gaps():
    found = withheld(calm().decide(), MISSING)
    assert found.alkalinity is not None
    assert found.alkalinity.expected is None
    assert found.alkalinity.tested_at == NOW - timedelta(days=0.5)


def test_what_stood_is_told_of_every_kind_of_decision():
    assert standing_of(high_pH().decide()) == STOP
    assert standing_of(calm().decide()).action is Action.HOLD
    assert standing_of(raises().decide()).action is Action.HOLD
    none = replace(calm().decide().change, code=Code.NO_LIME_NEEDED, setting=None)
    found = standing_of(replace(calm().decide(), change=none))
    assert found == Standing(action=Action.LOWER, lower_to_L_per_day=0.0)
