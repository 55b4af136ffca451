"""The facts that the caps need, taken from the log, each uncertain one at its unsafe end."""

from datetime import timedelta
from typing import Final

from engine.caps import LimitContext
from engine.demand.alkalinity_tests import ALKALINITY
from engine.demand.answer import Demand, NoDemand
from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF, Facts
from engine.demand.inputs import Inputs
from engine.demand.strength import Strength, strength_is_known
from engine.hazards.incident import incident_reason, restart_share
from engine.limits import ASSUMED_PH, STALE_DAYS
from engine.log.ledger import IMPOSSIBLE
from engine.log.timeline import Steps
from engine.plan.alarms import alkalinity_alarms, pH_in_force, pump_fault
from engine.plan.ph_guard import pH_guard
from engine.plan.slug import slug_reason
from engine.reasons import Code
from engine.records import Delivery, Setup
from engine.units import Span

# A drip runs a night through; an hour of it counts as one dose (common practice, no source).
DRIP_HOURS: Final = 10
_WEEK: Final = timedelta(days=7)
_DAY: Final = timedelta(days=1)
_HOURS_PER_DAY: Final = 24.0
_LEAST_STRENGTH_MEQ_PER_L: Final = 0.1


def limit_context(
    facts: Facts,
    setup: Setup,
    inputs: Inputs,
    *,
    strength: Strength,
    evaporation_L_per_day: Span | None,
    demand: Demand | NoDemand,
) -> LimitContext:
    """Return the context for the limits at the moment of the facts."""
    error = setup.net_volume_error_share
    alkalinity = facts.last_sample(ALKALINITY)
    share = inputs.pump.at(facts.now)
    top_off = setup.delivery in THROUGH_TOP_OFF
    by_pump = setup.delivery in BY_PUMP and setup.pump_L_per_h is not None
    pH = pH_in_force(facts)
    fault = pump_fault(facts, setup)
    slug = slug_reason(facts, setup, inputs, strength, evaporation_L_per_day)
    fault_stops = fault is not None and fault.code == Code.PUMP_FAULT_HIGH
    guard = None
    if alkalinity is not None:
        guard = pH_guard(
            inputs,
            alkalinity_meq_per_L=demand.level.low
            if isinstance(demand, Demand)
            else alkalinity.value,
            pH_nbs=ASSUMED_PH if pH is None else pH.value,
            net_volume_low_L=setup.net_volume_L * (1.0 - error),
            unsafe_meq_per_L=strength.unsafe_meq_per_L,
        )
    return LimitContext(
        net_volume_low_L=setup.net_volume_L * (1.0 - error),
        net_volume_high_L=setup.net_volume_L * (1.0 + error),
        unsafe_meq_per_L=strength.unsafe_meq_per_L,
        low_meq_per_L=max(_LEAST_STRENGTH_MEQ_PER_L, strength.meq_per_L.low),
        planning_meq_per_L=strength.planning_meq_per_L,
        doses_per_day=DRIP_HOURS if setup.delivery is Delivery.DRIP else setup.doses_per_day,
        pump_step_mL=setup.pump_step_mL,
        current_L_per_day=inputs.lime_L_per_day(facts.now),
        can_be_set=not top_off,
        evaporation_low_L_per_day=evaporation_L_per_day and evaporation_L_per_day.low,
        two_part_water_L_per_meq=inputs.most_two_part_water_L(1.0),
        pump_largest_L_per_day=(setup.pump_L_per_h or 0.0) * _HOURS_PER_DAY * share
        if by_pump
        else None,
        vessel_L=setup.vessel_L if setup.delivery is Delivery.PUMP_VESSEL else None,
        week_ago_L_per_day=None if top_off else _week_ago(inputs.settings, facts, share),
        balance=demand.balance if isinstance(demand, Demand) else None,
        alkalinity_age_days=None if alkalinity is None else facts.age_days(alkalinity.at),
        pH_nbs=None if pH is None else pH.value,
        pH_stops=pH is not None and pH.stops,
        restart_L_per_day=_restart_L_per_day(facts, setup, inputs),
        incident=incident_reason(facts),
        alarms=(
            *((slug,) if slug else ()),
            *alkalinity_alarms(facts, setup, demand.suspects),
            *((fault,) if fault and fault_stops else ()),
        ),
        entered_later_count=facts.entered_later_count,
        impossible_count=len(facts.samples(IMPOSSIBLE, facts.now - timedelta(days=STALE_DAYS))),
        pump_fault=None if fault_stops else fault,
        lime_strength_is_known=strength_is_known(facts, setup),
        largest_dose_meq_per_L=guard and guard.dose_meq_per_L,
        day_pH_L_per_day=guard and guard.day_L_per_day,
        pH_model_is_valid=guard is None or guard.dose_meq_per_L is not None,
        newest_is_suspect=any(
            alkalinity is not None and suspect.at == alkalinity.at for suspect in demand.suspects
        ),
    )


def _week_ago(settings: Steps, facts: Facts, share: float) -> float | None:
    """Return what was given a week ago; a pause or a later start counts as the last real one."""
    running = [(at, value) for at, value in settings.points if value > 0.0 and at <= facts.now]
    if not running:
        return None
    before = [value for at, value in running if at <= facts.now - _WEEK]
    return (before[-1] if before else running[0][1]) * share


def _restart_L_per_day(facts: Facts, setup: Setup, inputs: Inputs) -> float | None:
    """Return what an overdose that ended lately leaves of the dose before it, L/day.

    The dose before is the larger of its beginning and a day earlier: the first act is to stop it.
    """
    found = restart_share(facts)
    if found is None:
        return None
    ended, share = found
    moments = [ended.started_at - ago for ago in (_DAY, _DAY * 0)]
    before = max(inputs.lime_L_per_day(moment) for moment in moments)
    if setup.delivery is Delivery.TOP_OFF_CONTAINER:  # how it was mixed is the dose
        before *= max(inputs.strength.at(moment) for moment in moments)
    return share * before if before > 0.0 else None
