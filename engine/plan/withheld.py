"""A decision that raises nothing: what is left of one while the log may lack entries.

Stop and lower stand, those of the log as it is and those of the last decision that was sound.
Nothing else is asked for: no dose and no cap, no more of the second source, no powder, no way back
toward the target.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from engine.decision import Decision
from engine.demand.answer import NoDemand
from engine.limits import Action, DosePlan, Refusal
from engine.plan.change_made import Change, change_made
from engine.reasons import Code, Reason, reason
from engine.units import Quantity, quantity, to_float

# What keeps a decision from raising anything; each stands first among a withheld plan's reasons.
WITHHOLDS: Final = (Code.RECORDS_MISSING, Code.PARTS_FAILED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The last decision that was sound: whether it stopped or lowered the limewater."""

    action: Action
    lower_to_L_per_day: float | None = None  # with LOWER, what the pump was to show


def standing_of(decision: Decision) -> Standing:
    """Return what a decision leaves standing should the next one not be had.

    Lowering is told by the change, since a plan may lower, too; hold stands for everything else.
    """
    change = decision.change
    if change.code is Code.STOP:
        return Standing(action=Action.STOP)
    lowered = _lowered(change)
    if lowered is None:
        return Standing(action=Action.HOLD)
    return Standing(action=Action.LOWER, lower_to_L_per_day=lowered)


def is_withheld(decision: Decision) -> bool:
    """Tell whether the decision was kept from raising anything."""
    return any(found.code in WITHHOLDS for found in decision.plan.reasons)


def withheld(decision: Decision, why: Iterable[Code], standing: Standing | None = None) -> Decision:
    """Return the decision with nothing raised.

    Parameters
    ----------
    decision : Decision
        Of the log as it is.
    why : iterable of Code
        Of WITHHOLDS: what keeps it; without any the decision is returned as it is.
    standing : Standing or None
        The last decision that was sound, None when not known.
    """
    reasons = tuple(reason(code) for code in why)
    if not reasons:
        return decision
    own = standing_of(decision)
    actions = (own.action, standing.action if standing else Action.HOLD)
    lowest = min(
        (
            each.lower_to_L_per_day
            for each in (own, standing)
            if each is not None and each.lower_to_L_per_day is not None
        ),
        default=None,
    )
    action = next((a for a in (Action.STOP, Action.LOWER) if a in actions), Action.HOLD)
    kept = _kept(decision.plan) if own.action is action and action is not Action.HOLD else ()
    stands = () if own.action is action else _stands(action)
    refusal = Refusal(
        code=Code(reasons[0].code),
        action=action,
        limit=None,
        asked=None,
        lower_to=None if lowest is None else quantity(lowest, "L/day"),
        reasons=(*reasons, *stands, *kept) if stands else (*kept, *reasons),
    )
    demand, level, setting = decision.demand, decision.alkalinity, decision.setting
    return replace(
        decision,
        demand=NoDemand(reasons=reasons, suspects=demand.suspects if demand else ()),
        alkalinity=None if level is None else replace(level, expected=None),
        need=None,
        plan=refusal,
        remainder=None,
        setting=None if setting is None else replace(setting, over=(), reasons=()),
        stop_safe=None,
        powder=None,
        change=_change(decision, action, lowest),
    )


def _kept(plan: DosePlan | Refusal) -> tuple[Reason, ...]:
    """Return why the log as it is stops or lowers, without the figures of a limit."""
    if isinstance(plan, DosePlan):
        return ()
    return tuple(found for found in plan.reasons if not found.code.startswith("cap_"))


def _change(decision: Decision, action: Action, lowest: float | None) -> Change:
    was = _float(decision.change.was)
    code, setting = Code.HOLD, was
    if action is Action.STOP:
        code, setting = Code.STOP, 0.0
    elif action is Action.LOWER and lowest is not None and (was is None or lowest < was):
        code, setting = Code.LOWER_PUMP, lowest
    delivery = None if decision.setup is None else decision.setup.delivery
    return change_made(
        code, setting, was, delivery=delivery, second_was=_meq(decision.change.second_was)
    )


def _stands(action: Action) -> tuple[Reason, ...]:
    """Return that a verdict of before stands, which this log does not give."""
    if action is Action.STOP:
        return (reason(Code.STOP_STANDS),)
    return (reason(Code.LOWER_STANDS),) if action is Action.LOWER else ()


def _lowered(change: Change) -> float | None:
    """Return what the pump is to show where that is less than it shows, L/day."""
    setting, was = _float(change.setting), _float(change.was)
    if change.code is Code.NO_LIME_NEEDED:
        return 0.0
    if setting is None or change.code is Code.HOLD:
        return None
    return (
        setting if change.code is Code.LOWER_PUMP or (was is not None and setting < was) else None
    )


def _float(value: Quantity | None) -> float | None:
    return None if value is None else to_float(value, "L/day")


def _meq(value: Quantity | None) -> float | None:
    return None if value is None else to_float(value, "meq/day")
