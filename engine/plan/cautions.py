"""What to mind although a number is given; each caution is a reason with its figures."""

from datetime import timedelta
from typing import Final

from engine.demand.alkalinity_tests import ALKALINITY
from engine.demand.answer import Demand, NoDemand
from engine.demand.facts import Facts
from engine.demand.inputs import Inputs
from engine.limits import Action, DosePlan, Refusal
from engine.plan.alarms import waiting_to_be_repeated
from engine.reasons import Code, Reason, reason
from engine.records import Delivery, Setup
from engine.units import to_float
from engine.vocabulary import MEQ_PER_DKH

# Common practice, no source: a rise that shows in a week.
RISING_MEQ_PER_L_PER_DAY: Final = 0.1 * MEQ_PER_DKH
RISE_TOLD: Final = timedelta(days=7)


def cautions(
    facts: Facts,
    setup: Setup,
    inputs: Inputs,
    *,
    demand: Demand | NoDemand,
    plan: DosePlan | Refusal,
) -> tuple[Reason, ...]:
    """Return everything to mind, most urgent first."""
    found = (
        _high(facts, setup, demand, plan),
        _rising(facts, inputs, demand),
        _vessel_flow(setup, plan),
        _two_part_water(inputs),
    )
    return tuple(caution for caution in found if caution is not None)


def _high(
    facts: Facts, setup: Setup, demand: Demand | NoDemand, plan: DosePlan | Refusal
) -> Reason | None:
    """Return that a doubted test above the band stops limewater unless it is repeated."""
    doubted = waiting_to_be_repeated(facts, demand.suspects)
    stopped = isinstance(plan, Refusal) and plan.action is Action.STOP
    if doubted is None or stopped:
        return None
    last, high = to_float(doubted.value, "meq/L"), setup.band_high_total_alkalinity_meq_per_L
    if last <= high:
        return None
    return reason(Code.HIGH_UNTIL_REPEATED, last_meq_per_L=last, band_high_meq_per_L=high)


def _rising(facts: Facts, inputs: Inputs, demand: Demand | NoDemand) -> Reason | None:
    """Return the warning that alkalinity climbs on an unchanged dose: look at the animals."""
    if isinstance(demand, NoDemand) or demand.source != "tests":
        return None
    low, best, high = demand.balance.net_change_meq_per_L_per_day
    first = facts.samples(ALKALINITY)[-demand.test_count].at
    newest = (line.points[-1][0] for line in (inputs.settings, inputs.second) if line.points)
    changed = any(at > first for at in newest)
    if low <= RISING_MEQ_PER_L_PER_DAY or changed:
        return None
    numbers = {"net_low_meq_per_L_per_day": low, "net_high_meq_per_L_per_day": high}
    newest_test = facts.last_sample(ALKALINITY)
    week = facts.samples(ALKALINITY, facts.now - RISE_TOLD)
    if newest_test is None or not week:
        return reason(Code.ALKALINITY_RISING, **numbers)
    lowest = min(reversed(week), key=lambda sample: sample.value)
    given = best + demand.per_litre_meq.best
    if newest_test.value <= lowest.value or given <= 0.0:
        return reason(Code.ALKALINITY_RISING, **numbers)
    return reason(
        Code.ALKALINITY_ROSE,
        **numbers,
        from_meq_per_L=lowest.value,
        to_meq_per_L=newest_test.value,
        rise_days=facts.age_days(lowest.at) - facts.age_days(newest_test.at),
        less_share=best / given,
    )


def _vessel_flow(setup: Setup, plan: DosePlan | Refusal) -> Reason | None:
    """Return the warning that more than one vessel volume a day may come out weak."""
    if not isinstance(plan, DosePlan) or setup.delivery is not Delivery.PUMP_VESSEL:
        return None
    if setup.vessel_L is None or plan.L_per_day <= setup.vessel_L:
        return None
    return reason(Code.VESSEL_FLOW_HIGH, plan_L_per_day=plan.L_per_day, vessel_L=setup.vessel_L)


def _two_part_water(inputs: Inputs) -> Reason | None:
    """Return the water that the two-part brings now and that counts against evaporation."""
    water = inputs.two_part_water_L(inputs.second_meq_per_day(inputs.facts.now))
    return reason(Code.TWO_PART_WATER, water_L_per_day=water) if water > 0.0 else None
