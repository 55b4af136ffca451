"""The one change to make: what is set now against what is admitted."""

from dataclasses import dataclass
from math import floor
from typing import Final

from engine.demand.facts import THROUGH_TOP_OFF
from engine.demand.inputs import Inputs
from engine.demand.strength import Strength
from engine.limits import Action, DosePlan, Refusal
from engine.plan.change_made import Change, change_made
from engine.plan.dosing import DoseNeed
from engine.plan.remainder import Remainder
from engine.reasons import Code, Reason, reason
from engine.records import Delivery, SecondSource, Setup
from engine.stock.charge import lime_container_powder_g, saturated_recharge
from engine.units import Span, to_float

# A pump that gives less than this share wants a new tube, never a higher setting; one below the
# second not even for the days until the tube is there (common practice, no source).
WORN_SHARE: Final = 0.95
SPENT_SHARE: Final = 0.85
# Smaller changes than these are not worth making (common practice, no source).
SMALL_CHANGE_SHARE: Final = 0.05
SMALL_SECOND_SHARE: Final = 0.10
SECOND_WITH_PUMP_SHARE: Final = 0.03  # once the pump is changed both are set together
_ML_PER_L: Final = 1000.0
_HOURS_A_DAY: Final = 24.0
_SHORT_HOURS: Final = 2.0  # below that a timer is set by quarters of an hour
_ROUNDING: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class _Situation:
    setup: Setup
    plan: DosePlan
    need: DoseNeed
    strength: Strength
    shown: float | None  # L/day on the pump
    share: float  # delivered of shown
    delivered: float
    level: Span
    net: Span | None  # meq/L/day with what goes in now

    @property
    def target(self) -> float:
        """The setting that gives no more than the plan; never raised for a worn tube."""
        step = self.setup.pump_step_mL * self.plan.doses_per_day / _ML_PER_L
        if self.share <= 1.0:
            return self.plan.L_per_day
        return floor(self.plan.L_per_day / self.share / step) * step

    @property
    def is_off_target(self) -> bool:
        """Whether the need holds an approach: small differences then add up to a slow drift."""
        demand = to_float(self.need.demand, "meq/day")
        return abs(self.need.per_day.floats("meq/day").best - demand) > _ROUNDING * demand

    @property
    def lowest_cap(self) -> float:
        """The smallest cap, L/day."""
        return self.plan.caps[0].L_per_day


def change_for_plan(
    plan: DosePlan,
    need: DoseNeed,
    *,
    setup: Setup,
    inputs: Inputs,
    strength: Strength,
    remainder: Remainder,
    evaporation_L_per_day: Span,
    level_meq_per_L: Span,
    net_change_meq_per_L_per_day: Span | None,
) -> Change:
    """Return the one change that an admitted plan asks for.

    Parameters
    ----------
    plan, need, setup, inputs, strength, remainder
        The system, what it needs and what was admitted.
    evaporation_L_per_day, level_meq_per_L : Span
        Evaporation, and alkalinity expected now.
    net_change_meq_per_L_per_day : Span or None
        Where alkalinity goes with the inputs of now; None when not known.
    """
    now = inputs.facts.now
    situation = _Situation(
        setup=setup,
        plan=plan,
        need=need,
        strength=strength,
        shown=inputs.settings.at(now),
        share=inputs.pump.at(now),
        delivered=inputs.lime_L_per_day(now),
        level=level_meq_per_L,
        net=net_change_meq_per_L_per_day,
    )
    if setup.delivery in THROUGH_TOP_OFF:
        return _top_off_change(situation, evaporation_L_per_day)
    return _pump_change(situation, inputs.second.at(now), remainder)


def change_for_refusal(
    refusal: Refusal, *, shown: float | None, share: float, delivery: Delivery | None
) -> Change:
    """Return hold, lower or stop; `shown` is what the pump is set to, L/day, None if unknown."""
    setting = shown
    if refusal.action is Action.STOP:
        code, setting = Code.STOP, 0.0
    elif refusal.action is Action.LOWER and refusal.lower_to is not None:
        code, setting = Code.LOWER_PUMP, to_float(refusal.lower_to, "L/day") / max(1.0, share)
    else:
        code = Code.HOLD
    return change_made(code, setting, shown, delivery=delivery)


def _pump_change(s: _Situation, second: float | None, remainder: Remainder) -> Change:
    code, setting = _pump_code(s)
    wanted = remainder.meq_per_day
    has_second = s.setup.second_source is not SecondSource.NONE
    need = s.need.per_day.floats("meq/day").best
    pump_stays = code is Code.NOTHING_TO_DO
    calm = pump_stays and not s.is_off_target
    small = SMALL_SECOND_SHARE if calm else SECOND_WITH_PUMP_SHARE
    differs = second is None or abs(wanted - second) > small * need
    move_second = has_second and differs and code not in (Code.RECHARGE_FIRST, Code.NEW_TUBE_FIRST)
    if move_second and pump_stays:
        code = Code.SET_SECOND_SOURCE
    return change_made(
        code,
        setting,
        s.shown,
        delivery=s.setup.delivery,
        second=wanted if move_second else None,
        second_was=second,
        extra=_fault_reasons(s, code, setting),
    )


def _pump_code(s: _Situation) -> tuple[Code, float]:
    """Return what to do with the pump and what it should show, L/day."""
    target, shown = s.target, s.shown
    if s.plan.L_per_day == 0.0:
        return Code.NO_LIME_NEEDED, 0.0
    if shown is None:
        return Code.SET_PUMP_FIRST, target
    if s.delivered <= s.lowest_cap:
        fault = _equipment_code(s, target, shown)
        if fault is not None:
            return fault
        if abs(s.plan.L_per_day - s.delivered) <= _tolerance(s):
            target = shown
    if target == shown:
        return Code.NOTHING_TO_DO, shown
    return (Code.RAISE_PUMP if target > shown else Code.LOWER_PUMP), target


def _equipment_code(s: _Situation, target: float, shown: float) -> tuple[Code, float] | None:
    """Return the fault to mend first: the pump is never turned up to make up for it."""
    about_right = target >= shown * (1.0 - SMALL_CHANGE_SHARE)
    if s.strength.is_weak:
        return Code.RECHARGE_FIRST, shown if about_right else target
    short = s.plan.L_per_day > s.delivered * (1.0 + SMALL_CHANGE_SHARE)
    if s.share < WORN_SHARE and short and target <= shown * (1.0 + SMALL_CHANGE_SHARE):
        return Code.NEW_TUBE_FIRST, shown if about_right else target
    return None


def _tolerance(s: _Situation) -> float:
    """Return the difference that is left alone: more near the target, where demand is unsure."""
    small = SMALL_CHANGE_SHARE * s.delivered
    low = s.setup.band_low_total_alkalinity_meq_per_L
    high = s.setup.band_high_total_alkalinity_meq_per_L
    if s.is_off_target or not low <= s.level.best <= high:
        return small
    need = s.need.per_day.floats("meq/day")
    return max(small, (need.high - need.best) / 2.0 / s.strength.planning_meq_per_L)


def _fault_reasons(s: _Situation, code: Code, setting: float) -> tuple[Reason, ...]:
    if code is Code.RECHARGE_FIRST:
        return (_weak_reason(s, setting),)
    return _worn_reasons(s) if code is Code.NEW_TUBE_FIRST else ()


def _weak_reason(s: _Situation, setting: float) -> Reason:
    """Return what the tank misses, if alkalinity falls, and the charge for what the pump gives."""
    charge = saturated_recharge(s.setup, setting * s.share)
    numbers = {
        "strength_share": s.strength.share.best,
        "powder_g": to_float(charge.powder, "g"),
        "charge_days": to_float(charge.days, "day"),
    }
    if s.shown is not None and setting < s.shown:
        return reason(Code.WEAK_TOO_MUCH, was_L_per_day=s.shown, **numbers)
    weaker = s.strength.saturated_meq_per_L - s.strength.meq_per_L.best
    lost = s.delivered * weaker / s.setup.net_volume_L
    if s.net is None or s.net.high >= 0.0:
        return reason(Code.WEAK_RECHARGE, **numbers)
    missing = min(lost, -s.net.best)
    return reason(
        Code.WEAK_SHORT,
        missing_meq_per_day=missing * s.setup.net_volume_L,
        missing_meq_per_L_per_day=missing,
        **numbers,
    )


def _worn_reasons(s: _Situation) -> tuple[Reason, ...]:
    numbers = {"pump_share": s.share, "plan_L_per_day": s.plan.L_per_day}
    bridge = s.plan.L_per_day / s.share
    # Who forgets to lower it again gets all of it from a new tube: evaporation must allow that.
    most = next((c.L_per_day for c in s.plan.caps if c.code is Code.CAP_EVAPORATION), bridge)
    if s.share < SPENT_SHARE or bridge > most:
        return (reason(Code.PUMP_SPENT, **numbers),)
    return (reason(Code.WORN_PUMP, **numbers, temporary_L_per_day=bridge),)


def _top_off_change(s: _Situation, evaporation: Span) -> Change:
    """Return how to mix: the top-off cannot be set, all that evaporates is limewater."""
    if s.plan.L_per_day == 0.0:
        return change_made(Code.NO_LIME_NEEDED, None, None)
    # Evaporation is no limit here; on a day of the most of it the rest must still hold.
    asked = to_float(s.plan.asked, "L/day")
    others = (cap.L_per_day for cap in s.plan.caps if cap.code is not Code.CAP_EVAPORATION)
    admitted = min(asked, *others)
    share = min(1.0, admitted / evaporation.high)
    if s.setup.delivery is Delivery.TOP_OFF_VESSEL:
        return _vessel_change(s, admitted, share, evaporation)
    powder = None
    if s.setup.lime_container_L is not None:
        powder = lime_container_powder_g(
            s.setup.lime_container_L,
            temperature_degC=s.setup.lime_temperature_degC,
            assay=s.setup.powder_assay,
            share_of_saturation=share,
        )
    code = Code.MIX_SATURATED if share >= 1.0 else Code.MIX_WEAKER
    each_L = lime_container_powder_g(
        1.0,
        temperature_degC=s.setup.lime_temperature_degC,
        assay=s.setup.powder_assay,
        share_of_saturation=share,
    )
    own = reason(code, mix_share=share, powder_each_litre_g=each_L)
    return change_made(code, None, None, mix_share=share, mix_powder_g=powder, own=own)


def _vessel_change(s: _Situation, admitted: float, share: float, evaporation: Span) -> Change:
    """Return what to do with a vessel that the top-off runs through, for all or part of the day."""
    held = 1.0 if s.shown is None else min(1.0, s.shown / evaporation.best)
    wanted = 1.0 if share >= 1.0 - SMALL_CHANGE_SHARE else share
    if abs(wanted - held) <= SMALL_CHANGE_SHARE * max(wanted, held):
        return change_made(Code.TOP_OFF_RIGHT, None, None)
    code = Code.ALL_THROUGH_VESSEL if wanted == 1.0 else Code.PAST_THE_VESSEL
    own = reason(
        code,
        admitted_L_per_day=admitted,
        evaporation_high_L_per_day=evaporation.high,
        through_hours=_timer_hours(wanted),
    )
    return change_made(code, None, None, own=own)


def _timer_hours(share: float) -> float:
    """Return the hours of the day of a timer that lets no more than this share through."""
    hours = share * _HOURS_A_DAY
    return float(floor(hours)) if hours >= _SHORT_HOURS else floor(4.0 * hours) / 4.0
