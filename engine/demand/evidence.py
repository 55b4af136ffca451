"""What the causes of a drift are weighed on, and how evidence becomes a rank and a word."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log
from typing import Final

from engine.decision import Decision
from engine.demand.answer import Demand
from engine.demand.facts import BY_PUMP, Facts
from engine.demand.inputs import Inputs
from engine.demand.strength import Strength
from engine.diagnosis.codes import Cause, CauseCode, Likelihood, Measure
from engine.reasons import Reason
from engine.records import Happening, LimewaterStrength, PumpCheck, Setup

LIKELY_WEIGHT: Final = 2.0
POSSIBLE_WEIGHT: Final = 0.75
# Nobody looked for so long: then it may be (common practice, no source).
STRENGTH_DAYS: Final = 10.0
PUMP_DAYS: Final = 45.0
EVENT_DAYS: Final = 10.0
_RIGHT_SHARE: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """What the causes are weighed on."""

    facts: Facts
    setup: Setup
    demand: Demand
    strength: Strength
    inputs: Inputs
    decision: Decision
    drift_meq_per_day: float  # below 0: alkalinity falls

    @property
    def lime_L_per_day(self) -> float:
        """Limewater given now."""
        return self.inputs.lime_L_per_day(self.facts.now)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for one cause."""

    code: CauseCode
    weight: float
    measure: Measure
    numbers: dict[str, float | str]
    explains_share: float | None = None


def ranked(evidence: Sequence[Evidence | None]) -> tuple[Cause, ...]:
    """Return the causes that anything speaks for, the weightiest first."""
    found = sorted((e for e in evidence if e is not None), key=lambda e: -e.weight)
    return tuple(
        Cause(
            code=each.code,
            likelihood=_likelihood(each.weight),
            explains_share=each.explains_share,
            reason=Reason(each.code, each.numbers),
            measure=Reason(each.measure),
        )
        for each in found
    )


def _likelihood(weight: float) -> Likelihood:
    if weight >= LIKELY_WEIGHT:
        return Likelihood.LIKELY
    return Likelihood.POSSIBLE if weight >= POSSIBLE_WEIGHT else Likelihood.UNLIKELY


def explaining(s: Situation, amount_meq_per_day: float) -> tuple[float, float]:
    """Return the share of the drift that an amount explains, and what that weighs.

    The full 3 where it explains just the drift, less the further off it is either way.
    """
    drift = abs(s.drift_meq_per_day)
    if drift <= 0.0 or amount_meq_per_day <= 0.0:
        return 0.0, 0.0
    share = amount_meq_per_day / drift
    return share, max(0.0, 3.0 - 1.5 * abs(log(share)))


def age_days(s: Situation, record_class: type[LimewaterStrength | PumpCheck]) -> float | None:
    """Return how long ago something was last measured, None when never."""
    last = s.facts.last(record_class)
    return None if last is None else s.facts.age_days(last.at)


def equipment_is_right(s: Situation) -> bool:
    """Return whether strength and pump were measured lately and are as they should be."""
    strength, pump = age_days(s, LimewaterStrength), age_days(s, PumpCheck)
    fresh = strength is not None and strength <= STRENGTH_DAYS
    by_pump = s.setup.delivery in BY_PUMP
    checked = not by_pump or (pump is not None and pump <= PUMP_DAYS)
    given = s.inputs.pump.at(s.facts.now)
    return fresh and checked and not s.strength.is_weak and abs(given - 1.0) <= _RIGHT_SHARE


def recently(s: Situation, whats: Iterable[str]) -> bool:
    """Return whether one of these happenings was recorded in the last days."""
    return any(
        h.what in whats and s.facts.age_days(h.at) <= EVENT_DAYS for h in s.facts.of(Happening)
    )
