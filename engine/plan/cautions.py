"""What to mind although a number is given; each caution is a reason with its figures."""

from datetime import timedelta
from typing import Final

from engine.demand.alkalinity_tests import ALKALINITY
from engine.demand.answer import Demand, NoDemand
from engine.demand.facts import THROUGH_VESSEL, Facts
from engine.demand.inputs import Inputs
from engine.demand.strength import Strength
from engine.limits import DosePlan, Refusal
from engine.reasons import Code, Reason, reason
from engine.records import Delivery, Setup
from engine.vocabulary import MEQ_PER_DKH

# Common practice, no source: a rise that calls for action, and one that shows in a week.
DUMP_RISE_MEQ_PER_L: Final = 1.5 * MEQ_PER_DKH
RISING_MEQ_PER_L_PER_DAY: Final = 0.1 * MEQ_PER_DKH
RISE_TOLD: Final = timedelta(days=7)


def cautions(
    facts: Facts,
    setup: Setup,
    inputs: Inputs,
    *,
    strength: Strength,
    demand: Demand | NoDemand,
    plan: DosePlan | Refusal,
) -> tuple[Reason, ...]:
    """Return everything to mind, most urgent first."""
    found = (
        _rising(facts, inputs, demand),
        _container_dump(setup, strength),
        _vessel_flow(setup, plan),
        _two_part_water(inputs),
    )
    return tuple(caution for caution in found if caution is not None)


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


def _container_dump(setup: Setup, strength: Strength) -> Reason | None:
    """Return the rise if the container that lime is drawn from emptied into the tank at once."""
    through_vessel = setup.delivery in THROUGH_VESSEL
    container_L = setup.fresh_water_container_L if through_vessel else setup.lime_container_L
    if container_L is None:
        return None
    meq = container_L * strength.saturated_meq_per_L
    if meq / setup.net_volume_L < DUMP_RISE_MEQ_PER_L:
        return None
    error = setup.net_volume_error_share
    return reason(
        Code.CONTAINER_DUMP,
        container_L=container_L,
        rise_low_meq_per_L=meq / setup.net_volume_L / (1.0 + error),
        rise_high_meq_per_L=container_L
        * strength.unsafe_meq_per_L
        / setup.net_volume_L
        / (1.0 - error),
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
