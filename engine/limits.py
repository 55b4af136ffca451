"""What may be given: the only maker of a `DosePlan`, under the caps of engine/caps.py.

An unset limit refuses. Need, clamp to the smallest cap, round toward less in the pump's steps,
check again. Lowering is never limited.
"""

from dataclasses import InitVar, dataclass
from enum import StrEnum
from math import floor, inf
from typing import Final

from engine.caps import CapValue, LimitContext, Limits, cap_reason, cap_values
from engine.errors import EngineError
from engine.plan.alarms import PH_CEILING, pH_reasons
from engine.plan.dosing import DoseNeed
from engine.reasons import Code, Reason, reason
from engine.units import Quantity, quantity, to_float

STALE_DAYS: Final = 14.0  # design section 3
# Common practice, no source.
ASSUMED_PH: Final = 8.4
_ML_PER_L: Final = 1000.0
_UNSET: Final = {
    "keeper_cap_L_per_day": Code.KEEPER_CAP_UNSET,
    "evaporation_share": Code.EVAPORATION_SHARE_UNSET,
    "net_rise_meq_per_L_per_day": Code.NET_RISE_UNSET,
    "stopped_rise_meq_per_L_per_day": Code.STOPPED_RISE_UNSET,
}
_MADE_HERE: Final = object()


class Action(StrEnum):
    """What a refusal asks of the keeper."""

    HOLD = "hold"
    LOWER = "lower"
    STOP = "stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class DosePlan:
    """Limewater that may be given a day. Only `admit` makes one."""

    limewater: Quantity  # L/day
    dose: Quantity  # mL
    doses_per_day: int
    asked: Quantity  # L/day that chemistry asked for
    caps: tuple[CapValue, ...]  # every cap that holds, smallest first
    binding: tuple[Code, ...]  # those below what was asked, the one that holds first
    reasons: tuple[Reason, ...]
    made_by: InitVar[object] = None

    def __post_init__(self, made_by: object) -> None:
        if made_by is not _MADE_HERE:
            raise EngineError("dose_plan_not_admitted")

    @property
    def L_per_day(self) -> float:
        """The dose in L/day."""
        return to_float(self.limewater, "L/day")


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """No dose, and what to do instead."""

    code: Code
    action: Action
    limit: Quantity | None  # L/day, the cap that refused
    asked: Quantity | None  # L/day
    lower_to: Quantity | None  # L/day, with the action LOWER
    reasons: tuple[Reason, ...]


def refuse(
    code: Code,
    action: Action,
    *reasons: Reason,
    limits: Limits,
    context: LimitContext,
    asked: Quantity | None = None,
) -> Refusal:
    """Return a refusal; instead of holding, what runs above a cap is to be lowered to it."""
    caps = cap_values(limits, context, 0.0)
    over = [cap for cap in caps if cap.L_per_day < context.current_L_per_day]
    if action is not Action.HOLD or not over or not context.can_be_set:
        return Refusal(
            code=code, action=action, limit=None, asked=asked, lower_to=None, reasons=reasons
        )
    dose_mL = _whole_steps_mL(over[0].L_per_day, context)
    return Refusal(
        code=code,
        action=Action.LOWER,
        limit=over[0].limewater,
        asked=asked,
        lower_to=quantity(dose_mL * context.doses_per_day / _ML_PER_L, "L/day"),
        reasons=(*reasons, cap_reason(over[0])),
    )


def admit(need: DoseNeed, limits: Limits, context: LimitContext) -> DosePlan | Refusal:
    """Return the dose that every limit allows, or why there is none.

    Parameters
    ----------
    need : DoseNeed
        What chemistry asks.
    limits : Limits
        What the keeper confirmed.
    context : LimitContext
        The system now.
    """
    refusal = precondition(limits, context, need.limewater)
    if refusal is not None:
        return refusal
    asked = to_float(need.limewater, "L/day")
    caps = cap_values(limits, context, to_float(need.demand, "meq/day"))
    smallest = caps[0].L_per_day
    dose_mL = _whole_steps_mL(min(asked, smallest), context)
    binding = tuple(cap for cap in caps if cap.L_per_day < asked)
    if dose_mL == 0.0 and asked > 0.0:
        return _nothing(asked, binding, need, limits, context)
    return DosePlan(
        limewater=quantity(dose_mL * context.doses_per_day / _ML_PER_L, "L/day"),
        dose=quantity(dose_mL, "mL"),
        doses_per_day=context.doses_per_day,
        asked=need.limewater,
        caps=caps,
        binding=tuple(cap.code for cap in binding),
        reasons=(
            *need.reasons[:1],
            *(cap_reason(cap) for cap in binding[:1]),
            *need.reasons[1:],
            _pH_reason(context),
            *(() if context.pH_model_is_valid else (reason(Code.PH_MODEL_OUTSIDE),)),
        ),
        made_by=_MADE_HERE,
    )


def _whole_steps_mL(allowed_L_per_day: float, context: LimitContext) -> float:
    """Return one dose in whole pump steps, mL, such that all doses together stay below."""
    step_L_per_day = context.pump_step_mL * context.doses_per_day / _ML_PER_L
    steps = floor(allowed_L_per_day / step_L_per_day)
    while steps > 0 and _daily_L(steps, context) > allowed_L_per_day:
        steps -= 1
    return steps * context.pump_step_mL


def _daily_L(steps: int, context: LimitContext) -> float:
    return steps * context.pump_step_mL * context.doses_per_day / _ML_PER_L


def precondition(
    limits: Limits, context: LimitContext, asked: Quantity | None = None
) -> Refusal | None:
    """Return the refusal that holds whatever the demand is, None when a dose may be asked for."""
    stops = _stops(context)
    reasons = (*stops, *_clock(context), *_impossible(context), *_unset(limits), *_unfit(context))
    if not reasons:
        return None
    action = Action.STOP if stops else Action.HOLD
    code = Code(reasons[0].code)
    return refuse(code, action, *reasons, limits=limits, context=context, asked=asked)


def _stops(context: LimitContext) -> tuple[Reason, ...]:
    """Return what stops limewater whatever else is known or unknown, the most urgent first."""
    pH = context.pH_nbs
    too_high = pH is not None and (context.pH_stops or pH >= PH_CEILING)
    incident = () if context.incident is None else (context.incident,)
    return (*incident, *(pH_reasons(pH) if pH is not None and too_high else ()), *context.alarms)


def _clock(context: LimitContext) -> tuple[Reason, ...]:
    if not context.entered_later_count:
        return ()
    return (reason(Code.CLOCK_BEHIND_LOG, entered_later_count=float(context.entered_later_count)),)


def _impossible(context: LimitContext) -> tuple[Reason, ...]:
    if not context.impossible_count:
        return ()
    return (reason(Code.READING_IMPOSSIBLE, impossible_count=float(context.impossible_count)),)


def _unset(limits: Limits) -> tuple[Reason, ...]:
    unset = limits.unset()
    if not unset:
        return ()
    return (reason(Code.LIMIT_UNSET), *(reason(_UNSET[name]) for name in unset))


def _unfit(context: LimitContext) -> tuple[Reason, ...]:
    """Return which facts are missing for any dose: the first that applies."""
    age = context.alkalinity_age_days
    if context.pump_fault is not None:
        return (context.pump_fault,)
    if not context.lime_strength_is_known:
        return (reason(Code.STRENGTH_UNKNOWN),)
    if context.evaporation_low_L_per_day is None:
        return (reason(Code.EVAPORATION_UNSET),)
    if age is None:
        return (reason(Code.ALKALINITY_MISSING),)
    if age > STALE_DAYS:
        return (reason(Code.ALKALINITY_STALE, age_days=age),)
    return ()


def _nothing(
    asked: float,
    binding: tuple[CapValue, ...],
    need: DoseNeed,
    limits: Limits,
    context: LimitContext,
) -> Refusal:
    step_L_per_day = _daily_L(1, context)
    smallest = binding[0].L_per_day if binding else inf
    if smallest >= step_L_per_day:
        why = reason(Code.BELOW_PUMP_STEP, asked_L_per_day=asked, step_L_per_day=step_L_per_day)
        return refuse(Code.BELOW_PUMP_STEP, Action.HOLD, why, limits=limits, context=context)
    why = reason(Code.NOTHING_ADMITTED, asked_L_per_day=asked, cap_L_per_day=smallest)
    # A test is missing or to be repeated: that is no reason to stop, only not to raise.
    waits_for_test = binding[0].code in (Code.CAP_UNTESTED, Code.CAP_SUSPECT)
    action = Action.HOLD if waits_for_test else Action.STOP
    return refuse(
        Code.NOTHING_ADMITTED,
        action,
        why,
        cap_reason(binding[0]),
        limits=limits,
        context=context,
        asked=need.limewater,
    )


def _pH_reason(context: LimitContext) -> Reason:
    if context.pH_nbs is None:
        return reason(Code.PH_ASSUMED, assumed_pH=ASSUMED_PH)
    return reason(Code.PH_RECORDED, last_pH=context.pH_nbs)
