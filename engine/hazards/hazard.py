"""The worst that this set-up can do: every accident, how far, how fast, how sure.

`assess` is the whole path: facts, equipment, the tank at its three ends, every accident closed
to the air. It reads no clock; the same facts give the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from engine.demand.facts import THROUGH_TOP_OFF
from engine.demand.inputs import recorded_inputs
from engine.demand.strength import strength_now
from engine.errors import OutsideValidity, check_positive
from engine.hazards.bands import BAND_LIMITS, rank
from engine.hazards.case import BandTime, HazardCase, Times, outcome_reasons, overflow_reasons
from engine.hazards.codes import HazardCode, Kind, hazard_reason
from engine.hazards.course import DAYLIGHT_MMOL_PER_L, Lime, reaches_pH_h, reaches_rise_h, worst_of
from engine.hazards.equipment import Equipment, Guards, equipment_of, guards_of
from engine.hazards.rise import Rise, rises
from engine.hazards.sources import Accident, UnknownCase, accidents
from engine.hazards.start import Start, start_of
from engine.plan.evaporation import evaporation_now, evaporation_span

if TYPE_CHECKING:
    from engine.chemistry.dose_physics import TankWater
    from engine.demand.facts import Facts
    from engine.demand.inputs import Inputs
    from engine.hazards.bands import BandLimit
    from engine.reasons import Reason
    from engine.records import Setup

# What a smaller container, a cut-off or a break can settle; Today warns of these.
WARNED_KINDS: Final = (
    Kind.PUMP_STUCK,
    Kind.TOP_OFF_STUCK,
    Kind.CONTAINER_EMPTIED,
    Kind.DRIP_RUNS_ON,
    Kind.RESTART_SLUG,
    Kind.VESSEL_SURGE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazards:
    """All accidents of a system, worst first; without a start nothing but reasons."""

    start: Start | None
    equipment: Equipment | None
    cases: tuple[HazardCase, ...]
    unknown: tuple[UnknownCase, ...]
    reasons: tuple[Reason, ...]  # why there is nothing, or what all figures rest on
    rises: tuple[Rise, ...] = ()  # without a start: what the volumes alone tell

    @property
    def warnable(self) -> tuple[HazardCase, ...]:
        """Cases that equipment can settle, worst first."""
        return tuple(case for case in self.cases if case.kind in WARNED_KINDS)


def assess(
    facts: Facts, *, guards: Guards | None = None, unattended_h: float | None = None
) -> Hazards:
    """Return every accident of a system at the moment of the facts.

    Parameters
    ----------
    facts : Facts
        As `engine.demand.facts.gather` gives them.
    guards : Guards, optional
        Cut-off and siphon break that are built in; by default those of the set-up.
    unattended_h : float, optional
        Hours until somebody finds a pump that never stops, above 0; by default the set-up's.

    Returns
    -------
    Hazards
        Without set-up or alkalinity, or outside the model: no case, and the reason; with a
        set-up what the volumes alone tell, in `rises`.
    """
    setup = facts.setup
    if setup is None:
        return _nothing(hazard_reason(HazardCode.SETUP_MISSING))
    found_h = setup.unattended_hours if unattended_h is None else unattended_h
    check_positive("unattended_h", found_h, "h")
    equipment = equipment_of(
        facts,
        setup,
        _inputs(facts, setup),
        guards=guards or guards_of(setup),
        unattended_h=found_h,
    )
    try:
        start = start_of(facts, setup)
    except OutsideValidity as error:
        start = hazard_reason(HazardCode.OUTSIDE_MODEL, variable=error.variable)
    if not isinstance(start, Start):
        return _only_rises(start, equipment)
    found = accidents(equipment)
    cases = [case_of(a, start, equipment) for a in found if isinstance(a, Accident)]
    return Hazards(
        start=start,
        equipment=equipment,
        cases=tuple(sorted(cases, key=_worst_first)),
        unknown=tuple(a for a in found if isinstance(a, UnknownCase)),
        reasons=(hazard_reason(HazardCode.CLOSED_BOUND), *start.reasons),
    )


def case_of(accident: Accident, start: Start, equipment: Equipment) -> HazardCase:
    """Return what an accident does, from its three ends."""
    low_air = accident.from_low_air
    middle = _lime(accident, start.low_air_middle if low_air else start.middle, equipment, "best")
    good = _lime(accident, start.low_air_middle if low_air else start.good, equipment, "low")
    waters = start.low_air_bad if low_air else start.bad
    bad = tuple(
        replace(_lime(accident, water, equipment, "high"), daylight_mmol_per_L=DAYLIGHT_MMOL_PER_L)
        for water in waters
    )
    times = tuple(_band_time(good, middle, bad, limit) for limit in BAND_LIMITS)
    case = HazardCase(
        kind=accident.kind,
        middle=middle,
        good=good,
        bad=bad,
        worst_good=worst_of((good,)),
        worst_middle=worst_of((middle,)),
        worst_bad=worst_of(bad),
        times=times,
        reasons=accident.reasons,
    )
    overflow = overflow_reasons(case, equipment.setup.sump_room_L)
    return replace(case, reasons=(*outcome_reasons(case), *overflow, *accident.reasons))


def _lime(accident: Accident, water: TankWater, equipment: Equipment, end: str) -> Lime:
    rate = accident.rate_L_per_h
    return Lime(
        water=water,
        strength_meq_per_L=getattr(equipment.strength_meq_per_L, end),
        litres=getattr(accident.litres, end),
        rate_L_per_h=None if rate is None else getattr(rate, end),
        suspended_g=getattr(accident.suspended_g, end),
        washed_L=accident.washed_L,
        removed_L=accident.removed_L,
    )


def _band_time(good: Lime, middle: Lime, bad: tuple[Lime, ...], limit: BandLimit) -> BandTime:
    ends = (bad, (middle,), (good,))
    by_pH = Times(*(reaches_pH_h(end, limit.pH_nbs) for end in ends))
    by_any = by_pH
    if limit.rise_meq_per_L is not None:
        by_rise = (reaches_rise_h(end, limit.rise_meq_per_L) for end in ends)
        by_any = Times(*(_sooner(one, other) for one, other in zip(by_pH, by_rise, strict=True)))
    return BandTime(band=limit.band, pH_nbs=limit.pH_nbs, by_pH=by_pH, by_any=by_any)


def _sooner(one_h: float | None, other_h: float | None) -> float | None:
    return min((hours for hours in (one_h, other_h) if hours is not None), default=None)


def _worst_first(case: HazardCase) -> tuple[float, ...]:
    """Order by the middle's band, then the bad end's, then how soon, then how much comes."""
    soonest = [time.by_any.earliest_h for time in case.times if time.band is case.band_bad]
    return (
        -rank(case.band_middle),
        -rank(case.band_bad),
        (soonest[0] if soonest else None) or 0.0,
        -case.worst_middle.brought_meq_per_L,
    )


def _inputs(facts: Facts, setup: Setup) -> Inputs:
    """Return the recorded inputs; where the top-off draws on lime evaporation is the dose."""
    strength = strength_now(facts, setup)
    inputs = recorded_inputs(facts, setup, strength, None)
    if setup.delivery not in THROUGH_TOP_OFF:
        return inputs
    evaporated = evaporation_span(evaporation_now(facts, setup, inputs))
    return recorded_inputs(facts, setup, strength, evaporated)


def _nothing(*why: Reason) -> Hazards:
    return Hazards(start=None, equipment=None, cases=(), unknown=(), reasons=why)


def _only_rises(why: Reason, equipment: Equipment) -> Hazards:
    found = rises(equipment)
    more = (hazard_reason(HazardCode.ONLY_RISE),) if found else ()
    return replace(_nothing(why, *more), rises=found)
