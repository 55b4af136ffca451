"""What can run away in a set-up: how much limewater, how fast, how much powder with it.

Every amount is a `Span` whose `high` is the unsafe end. What the log does not say gives no
figure but a reason.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF, THROUGH_VESSEL
from engine.hazards.codes import HazardCode, Kind, hazard_reason
from engine.hazards.lifted_bed import (
    NO_POWDER,
    bed_is_unknown,
    lifted_g,
    lifts_bed,
    usual_delivery_L,
    washed_out,
)
from engine.records import Delivery
from engine.units import Span

if TYPE_CHECKING:
    from engine.hazards.equipment import Equipment
    from engine.reasons import Reason

# Common practice, no source, as every figure here.
DRIP_H: Final = 10.0
REST_H: Final = 4.0  # rest of a vessel after a recharge
SKIMMATE_SHARE: Final = 0.015  # of the net volume, when a skimmer boils over
OLD_BED_WORTH_SAYING_G: Final = 1.0
_HOURS_PER_DAY: Final = 24.0
# Water that runs through the vessel, and lifts the bed where the flow is too fast for it.
_THROUGH: Final = (
    Kind.PUMP_STUCK,
    Kind.TOP_OFF_STUCK,
    Kind.CONTAINER_EMPTIED,
    Kind.RETURN_STOPPED,
    Kind.RESTART_SLUG,
    Kind.SKIMMER_OVERFLOW,
    Kind.VESSEL_SURGE,
    Kind.DOSE_REPEATED,
    Kind.TENFOLD_SETTING,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Accident:
    """Lime on its way into the tank."""

    kind: Kind
    litres: Span  # all that comes
    rate_L_per_h: Span | None = None  # None: at once
    suspended_g: Span = NO_POWDER  # pure, spread over the litres
    washed_L: float | None = None  # vessel that it is washed out of: the first litres bring most
    removed_L: float = 0.0  # tank water lost first
    from_low_air: bool = False  # starts from the balance with outside air
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownCase:
    """An accident of which nothing can be said, and why."""

    kind: Kind
    reasons: tuple[Reason, ...]


def accidents(equipment: Equipment) -> tuple[Accident | UnknownCase, ...]:
    """Return everything that can go wrong with this way of delivery."""
    delivery = equipment.setup.delivery
    found: list[Accident | UnknownCase | None] = []
    if delivery in BY_PUMP:
        found += [_pump_stuck(equipment), _return_stopped(equipment)]
        found += [_repeated(equipment), _tenfold(equipment)]
    if delivery in THROUGH_TOP_OFF:
        found += [_top_off_stuck(equipment), _restart_slug(equipment), _skimmer(equipment)]
    if delivery is Delivery.DRIP:
        found.append(_drip(equipment))
    found += [_emptied(equipment), _bed_flushed(equipment)]
    if delivery in THROUGH_VESSEL:
        found += [_uncleared(equipment), _surge(equipment)]
    low_air = Accident(kind=Kind.ROOM_CO2_LOW, litres=_just(0.0), from_low_air=True)
    known = (case for case in (*found, low_air) if case is not None)
    return tuple(_with_bed(case, equipment) for case in known)


def _with_bed(case: Accident | UnknownCase, equipment: Equipment) -> Accident | UnknownCase:
    """Return an accident with the bed that its water lifts, or with why that is not known."""
    if not isinstance(case, Accident) or case.kind not in _THROUGH:
        return case
    siphoned = case.kind is Kind.CONTAINER_EMPTIED
    if bed_is_unknown(equipment, siphoned=siphoned):
        return replace(case, reasons=(*case.reasons, hazard_reason(HazardCode.BED_NOT_COUNTED)))
    charge = equipment.charge_g
    if charge is None or not lifts_bed(equipment, siphoned=siphoned):
        return case
    known = lifts_bed(equipment)
    code = HazardCode.BED_LIFTED if known else HazardCode.SIPHON_LIFTS_BED
    why = hazard_reason(code, charge_g=charge.best)
    return replace(
        case,
        suspended_g=lifted_g(equipment, case.litres, siphoned=siphoned),
        washed_L=equipment.setup.vessel_L,
        reasons=(*case.reasons, why, *_old_bed(equipment)),
    )


def _just(value: float) -> Span:
    return Span(value, value, value)


def _unknown(kind: Kind, code: HazardCode) -> UnknownCase:
    return UnknownCase(kind=kind, reasons=(hazard_reason(code),))


def _pump_stuck(equipment: Equipment) -> Accident | UnknownCase:
    if equipment.rate_L_per_h is None:
        return _unknown(Kind.PUMP_STUCK, HazardCode.RATE_UNKNOWN)
    return _stuck(Kind.PUMP_STUCK, equipment, equipment.rate_L_per_h)


def _top_off_stuck(equipment: Equipment) -> Accident | UnknownCase:
    """Return a top-off that never stops; at an unknown rate all of it counts at once."""
    if equipment.rate_L_per_h is not None:
        return _stuck(Kind.TOP_OFF_STUCK, equipment, equipment.rate_L_per_h)
    if equipment.source_L is None:
        return _unknown(Kind.TOP_OFF_STUCK, HazardCode.SOURCE_UNKNOWN)
    return Accident(kind=Kind.TOP_OFF_STUCK, litres=_just(equipment.source_L))


def _stuck(kind: Kind, equipment: Equipment, rate: Span) -> Accident:
    """Return a pump at its full rate until found, cut off or run dry."""
    cut_off = equipment.guards.cut_off_h
    hours = equipment.unattended_h if cut_off is None else min(cut_off, equipment.unattended_h)
    run = rate.scaled(hours)
    code = HazardCode.UNTIL_FOUND if cut_off is None else HazardCode.UNTIL_CUT_OFF
    reasons = [hazard_reason(code, found_hours=hours)]
    if equipment.source_L is None:
        reasons.append(hazard_reason(HazardCode.SOURCE_UNKNOWN))
    else:
        run = Span(*(min(equipment.source_L, litres) for litres in run))
    return Accident(kind=kind, litres=run, rate_L_per_h=rate, reasons=tuple(reasons))


def _emptied(equipment: Equipment) -> Accident | UnknownCase | None:
    if equipment.guards.siphon_break:
        return None
    if equipment.source_L is None:
        return _unknown(Kind.CONTAINER_EMPTIED, HazardCode.SOURCE_UNKNOWN)
    return Accident(kind=Kind.CONTAINER_EMPTIED, litres=_just(equipment.source_L))


def _drip(equipment: Equipment) -> Accident | UnknownCase:
    if equipment.source_L is None:
        return _unknown(Kind.DRIP_RUNS_ON, HazardCode.SOURCE_UNKNOWN)
    litres = equipment.source_L
    return Accident(
        kind=Kind.DRIP_RUNS_ON,
        litres=_just(litres),
        # As the head and the clamp go: from half to twice the intended rate.
        rate_L_per_h=Span(0.5, 1.0, 2.0).scaled(litres / DRIP_H),
        reasons=(hazard_reason(HazardCode.UNMIXED),),
    )


def _return_stopped(equipment: Equipment) -> Accident | UnknownCase:
    """Return the lime of the usual setting while the water stands still."""
    given = equipment.lime_L_per_day
    if given is None:
        return _unknown(Kind.RETURN_STOPPED, HazardCode.SETTING_UNKNOWN)
    per_hour = given / _HOURS_PER_DAY
    litres = per_hour * equipment.unattended_h
    if equipment.source_L is not None:
        litres = min(litres, equipment.source_L)
    return Accident(
        kind=Kind.RETURN_STOPPED,
        litres=_just(litres),
        rate_L_per_h=_just(per_hour) if per_hour > 0.0 else None,
        reasons=(hazard_reason(HazardCode.UNMIXED),),
    )


def _restart_slug(equipment: Equipment) -> Accident | UnknownCase:
    litres = equipment.setup.drain_back_L
    if litres is None:
        return _unknown(Kind.RESTART_SLUG, HazardCode.DRAIN_BACK_UNKNOWN)
    if equipment.source_L is not None:
        litres = min(litres, equipment.source_L)
    return Accident(kind=Kind.RESTART_SLUG, litres=_just(litres))


def _skimmer(equipment: Equipment) -> Accident:
    litres = SKIMMATE_SHARE * equipment.setup.net_volume_L
    if equipment.source_L is not None:
        litres = min(litres, equipment.source_L)
    return Accident(
        kind=Kind.SKIMMER_OVERFLOW,
        litres=_just(litres),
        removed_L=litres,
        reasons=(hazard_reason(HazardCode.SKIMMATE_ASSUMED, skimmate_L=litres),),
    )


def _repeated(equipment: Equipment) -> Accident | UnknownCase:
    if equipment.dose_L is None:
        return _unknown(Kind.DOSE_REPEATED, HazardCode.SETTING_UNKNOWN)
    return Accident(kind=Kind.DOSE_REPEATED, litres=_just(2.0 * equipment.dose_L))


def _tenfold(equipment: Equipment) -> Accident | UnknownCase | None:
    """Return a day of a setting that slipped by a decimal place."""
    given, rate = equipment.lime_L_per_day, equipment.rate_L_per_h
    if given is None:
        return _unknown(Kind.TENFOLD_SETTING, HazardCode.SETTING_UNKNOWN)
    if given <= 0.0:
        return None
    per_hour = _just(10.0 * given / _HOURS_PER_DAY)
    if rate is not None:
        per_hour = Span(*(min(a, b) for a, b in zip(per_hour, rate, strict=True)))
    litres = per_hour.scaled(_HOURS_PER_DAY)
    if equipment.source_L is not None:
        litres = Span(*(min(equipment.source_L, each) for each in litres))
    return Accident(kind=Kind.TENFOLD_SETTING, litres=litres, rate_L_per_h=per_hour)


def _bed_flushed(equipment: Equipment) -> Accident | UnknownCase:
    """Return a vessel or container tipped with everything that lies in it."""
    through, litres = equipment.through_vessel, equipment.bed_L
    if litres is None:
        code = HazardCode.VESSEL_UNKNOWN if through else HazardCode.SOURCE_UNKNOWN
        return _unknown(Kind.BED_FLUSHED, code)
    if equipment.charge_g is None:
        return _unknown(Kind.BED_FLUSHED, HazardCode.CHARGE_UNKNOWN)
    suspended = equipment.charge_g
    if not through:  # the container's own limewater was made from this powder
        dissolved = litres * equipment.strength_meq_per_L.low / MEQ_PER_GRAM_CALCIUM_HYDROXIDE
        suspended = Span(*(max(0.0, grams - dissolved) for grams in suspended))
    return Accident(
        kind=Kind.BED_FLUSHED,
        litres=_just(litres),
        suspended_g=suspended,
        reasons=(
            hazard_reason(HazardCode.WHOLE_CHARGE, charge_g=equipment.charge_g.best),
            *_old_bed(equipment),
        ),
    )


def _old_bed(equipment: Equipment) -> tuple[Reason, ...]:
    if equipment.old_bed_g < OLD_BED_WORTH_SAYING_G:
        return ()
    return (hazard_reason(HazardCode.OLD_BED, old_bed_g=equipment.old_bed_g),)


def _uncleared(equipment: Equipment) -> Accident | UnknownCase:
    """Return the doses of the hours in which a fresh charge should have rested."""
    vessel, charge = equipment.setup.vessel_L, equipment.charge_g
    if vessel is None:
        return _unknown(Kind.UNCLEARED_RECHARGE, HazardCode.VESSEL_UNKNOWN)
    if charge is None:
        return _unknown(Kind.UNCLEARED_RECHARGE, HazardCode.CHARGE_UNKNOWN)
    if equipment.lime_L_per_day is None:
        return _unknown(Kind.UNCLEARED_RECHARGE, HazardCode.SETTING_UNKNOWN)
    per_hour = equipment.lime_L_per_day / _HOURS_PER_DAY
    litres = per_hour * REST_H
    return Accident(
        kind=Kind.UNCLEARED_RECHARGE,
        litres=_just(litres),
        rate_L_per_h=_just(per_hour) if per_hour > 0.0 else None,
        suspended_g=charge.scaled(washed_out(litres, vessel)),
        washed_L=vessel,
        reasons=(hazard_reason(HazardCode.REST_SKIPPED, rest_hours=REST_H),),
    )


def _surge(equipment: Equipment) -> Accident | UnknownCase | None:
    """Return one delivery that lifts the bed; None where the flow is too gentle for that."""
    if equipment.setup.vessel_L is None:
        return _unknown(Kind.VESSEL_SURGE, HazardCode.VESSEL_UNKNOWN)
    litres = usual_delivery_L(equipment)
    if litres is None:
        by_top_off = equipment.setup.delivery in THROUGH_TOP_OFF
        code = HazardCode.DRAIN_BACK_UNKNOWN if by_top_off else HazardCode.SETTING_UNKNOWN
        return _unknown(Kind.VESSEL_SURGE, code)
    if not lifts_bed(equipment):
        return None
    if equipment.charge_g is None:
        return _unknown(Kind.VESSEL_SURGE, HazardCode.CHARGE_UNKNOWN)
    return Accident(kind=Kind.VESSEL_SURGE, litres=_just(_at_most(equipment, litres)))


def _at_most(equipment: Equipment, litres: float) -> float:
    """Return what of a delivery the container holds and the cut-off lets through, L."""
    limits = [litres]
    if equipment.source_L is not None:
        limits.append(equipment.source_L)
    if equipment.guards.cut_off_h is not None and equipment.rate_L_per_h is not None:
        limits.append(equipment.guards.cut_off_h * equipment.rate_L_per_h.high)
    return min(limits)
