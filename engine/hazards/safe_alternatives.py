"""Changes to a set-up and which accidents each takes below the band."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Final

from engine.demand.facts import BY_PUMP
from engine.hazards.bands import LIMIT_OF, Band, rank
from engine.hazards.codes import HazardCode, Kind, hazard_reason
from engine.hazards.lifted_bed import (
    SURGE_DOSE_SHARE,
    gentle_L_per_h,
    is_gentle,
    lifts_bed,
    usual_delivery_L,
)
from engine.hazards.safe_sizes import rounded_down

if TYPE_CHECKING:
    from engine.hazards.equipment import Equipment
    from engine.hazards.hazard import Hazards
    from engine.reasons import Reason

_HOURS_PER_DAY: Final = 24.0
_MOST_DOSES: Final = 288  # a day, what a set-up can state
_MOST_PARTS: Final = 10
_BY_SOURCE: Final = (
    Kind.PUMP_STUCK,
    Kind.TOP_OFF_STUCK,
    Kind.CONTAINER_EMPTIED,
    Kind.DRIP_RUNS_ON,
    Kind.RESTART_SLUG,
    Kind.VESSEL_SURGE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One change, with its figure; `enough` when it alone settles every warned accident."""

    reason: Reason
    settles: tuple[Kind, ...]  # accidents that reach the band now and would not with it
    leaves: tuple[Kind, ...]  # warned accidents that still reach it

    @property
    def enough(self) -> bool:
        """Whether nothing that Today warns of is left."""
        return not self.leaves


def alternatives(
    hazards: Hazards,
    band: Band,
    *,
    container_L: float,
    pumped_L: float,
    cut_off_h: float | None,
) -> tuple[Alternative, ...]:
    """Return every change that takes some accident below the band; none when none is needed.

    Parameters
    ----------
    hazards : Hazards
        As the system is.
    band : Band
        That must not be reached.
    container_L : float
        Of a container that the tank forgives at its bad end, L; where a siphon would lift the
        bed, with a siphon break. 0 leaves no size to offer.
    pumped_L : float
        What it forgives when the pump alone brings it, L.
    cut_off_h : float or None
        Longest run of the lime pump that brings no more than that.
    """
    equipment = hazards.equipment
    if equipment is None:
        return ()
    reaching = {case.kind for case in hazards.cases if rank(case.band_bad) >= rank(band)}
    warned = {case.kind for case in hazards.warnable} & reaching
    proposed = (
        _split(equipment, band, container_L),
        _cut_off(equipment, band, cut_off_h),
        _smaller_pump(equipment, band, pumped_L),
        _slower_flow(equipment),
        _siphon_break(),
        _more_doses(equipment, band, pumped_L),
        _lime_off_with_return(),
    )
    found: list[Alternative] = []
    for entry in proposed:
        if entry is None:
            continue
        why, kinds = entry
        settles = tuple(kind for kind in kinds if kind in reaching)
        if settles:
            leaves = tuple(kind for kind in Kind if kind in warned and kind not in settles)
            found.append(Alternative(reason=why, settles=settles, leaves=leaves))
    return tuple(found)


def _split(
    equipment: Equipment, band: Band, litres: float
) -> tuple[Reason, tuple[Kind, ...]] | None:
    """Return several small containers of which lime is drawn from one at a time.

    A siphon that lifts the bed is left over: what of it so small a part brings is not forgiven.
    """
    source = equipment.source_L
    if litres <= 0.0 or source is None or source <= litres:
        return None
    band_pH, parts = LIMIT_OF[band].pH_nbs, ceil(source / litres)
    if parts > _MOST_PARTS:
        why = hazard_reason(HazardCode.SMALL_CONTAINER, part_L=litres, band_pH=band_pH)
    else:
        why = hazard_reason(
            HazardCode.SPLIT_CONTAINER, part_L=litres, parts_count=float(parts), band_pH=band_pH
        )
    lifts_more = lifts_bed(equipment, siphoned=equipment.may_siphon) and not lifts_bed(equipment)
    kinds = (kind for kind in _BY_SOURCE if kind is not Kind.CONTAINER_EMPTIED or not lifts_more)
    return why, tuple(kinds)


def _cut_off(
    equipment: Equipment, band: Band, cut_off_h: float | None
) -> tuple[Reason, tuple[Kind, ...]] | None:
    rate, dose = equipment.rate_L_per_h, equipment.dose_L
    if not cut_off_h or rate is None:
        return None
    if dose is not None and cut_off_h * rate.low < dose:
        return None  # it would cut every dose short
    kinds = (Kind.PUMP_STUCK, Kind.TOP_OFF_STUCK, Kind.VESSEL_SURGE)
    return hazard_reason(
        HazardCode.CUT_OFF, cut_off_hours=cut_off_h, band_pH=LIMIT_OF[band].pH_nbs
    ), kinds


def _smaller_pump(
    equipment: Equipment, band: Band, litres: float
) -> tuple[Reason, tuple[Kind, ...]] | None:
    """Return a pump that is harmless unattended, if it can still give the day's lime."""
    rate, given = equipment.rate_L_per_h, equipment.lime_L_per_day
    if litres <= 0.0 or rate is None or equipment.setup.delivery not in BY_PUMP:
        return None
    smaller = litres / equipment.unattended_h * (rate.best / rate.high)
    if smaller >= rate.best:
        return None
    if given is not None and smaller * _HOURS_PER_DAY < given:
        return None
    why = hazard_reason(
        HazardCode.SMALLER_PUMP,
        pump_L_per_day=rounded_down(smaller * _HOURS_PER_DAY),
        band_pH=LIMIT_OF[band].pH_nbs,
    )
    return why, (Kind.PUMP_STUCK, Kind.TENFOLD_SETTING)


def _slower_flow(equipment: Equipment) -> tuple[Reason, tuple[Kind, ...]] | None:
    """Return the flow that lets the bed of the vessel lie; None where it is not the flow."""
    vessel, rate = equipment.setup.vessel_L, equipment.rate_L_per_h
    delivery = usual_delivery_L(equipment)
    if vessel is None or not equipment.through_vessel:
        return None
    if rate is not None and is_gentle(rate.high, vessel):
        return None
    if delivery is None or delivery > SURGE_DOSE_SHARE * vessel:
        return None
    why = hazard_reason(HazardCode.SLOWER_FLOW, flow_L_per_h=rounded_down(gentle_L_per_h(vessel)))
    return why, (Kind.VESSEL_SURGE,)


def _siphon_break() -> tuple[Reason, tuple[Kind, ...]]:
    return hazard_reason(HazardCode.SIPHON_BREAK), (Kind.CONTAINER_EMPTIED,)


def _more_doses(
    equipment: Equipment, band: Band, litres: float
) -> tuple[Reason, tuple[Kind, ...]] | None:
    """Return doses so small that one given twice is forgiven."""
    given, dose = equipment.lime_L_per_day, equipment.dose_L
    if not given or litres <= 0.0 or dose is None:
        return None
    if equipment.setup.delivery not in BY_PUMP:
        return None
    doses = ceil(2.0 * given / litres)
    if doses > _MOST_DOSES or 2.0 * dose <= litres:
        return None
    return hazard_reason(
        HazardCode.MORE_DOSES, doses_count=float(doses), band_pH=LIMIT_OF[band].pH_nbs
    ), (Kind.DOSE_REPEATED, Kind.VESSEL_SURGE)


def _lime_off_with_return() -> tuple[Reason, tuple[Kind, ...]]:
    return hazard_reason(HazardCode.LIME_OFF_WITH_RETURN), (Kind.RETURN_STOPPED,)
