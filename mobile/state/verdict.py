"""The last verdict that could be worked out, as it is kept beside the records.

It stands where no decision can be had: stop and lower do, anything else ends with it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from math import inf, isfinite
from typing import Any, Final

from engine.decision import Decision
from engine.limits import Action
from engine.plan.withheld import Standing, standing_of

_ACTIONS: Final = {"stop": Action.STOP, "lower": Action.LOWER, "other": Action.HOLD}
_WORDS: Final = {action: word for word, action in _ACTIONS.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What a decision said of the limewater, and when."""

    standing: Standing
    at: datetime

    def says_the_same(self, decision: Decision) -> bool:
        """Whether a decision comes to this verdict."""
        return self.standing == standing_of(decision)


def is_stricter(standing: Standing, kept: Verdict | None) -> bool:
    """Whether something holds the limewater back more than the kept verdict does.

    Stop is stricter than lower, and lower the stricter the less; as low as is not known is taken
    for the least there is.
    """
    return _room(standing) < (inf if kept is None else _room(kept.standing))


def _room(standing: Standing) -> float:
    """Return how much limewater is left to give, L/day: only to be compared."""
    if standing.action is Action.LOWER:
        return standing.lower_to_L_per_day or 0.0
    return -1.0 if standing.action is Action.STOP else inf


def kept_form(decision: Decision, build: str) -> dict[str, Any]:
    """Return a decision's verdict as it is kept, ready for JSON."""
    standing = standing_of(decision)
    return {
        "action": _WORDS[standing.action],
        "at": decision.now.isoformat(),
        "lower_to_L_per_day": standing.lower_to_L_per_day,
        "build": build,
    }


def verdict_of(kept: Mapping[str, Any] | None) -> Verdict | None:
    """Return a kept verdict; None where there is none, or where it makes no sense."""
    if kept is None:
        return None
    action, at, lower_to = (kept.get(key) for key in ("action", "at", "lower_to_L_per_day"))
    if not isinstance(action, str) or action not in _ACTIONS or not isinstance(at, str):
        return None
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return None
    if moment.tzinfo is None:
        return None
    found = _ACTIONS[action]
    number = _litres(lower_to) if found is Action.LOWER else None
    return Verdict(standing=Standing(action=found, lower_to_L_per_day=number), at=moment)


def _litres(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if isfinite(value) and value >= 0.0 else None
