"""Where alkalinity stands now, where it goes, and how long it holds without lime."""

from dataclasses import dataclass
from datetime import datetime

from engine.alkalinity_fit import ALKALINITY, TEST_ERROR_MEQ_PER_L, Z90
from engine.demand import Demand, NoDemand
from engine.facts import Facts
from engine.inputs import Inputs
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.stop_safe import StopSafe, stop_safe
from engine.units import Estimate, Quantity, Span, estimate, quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class AlkalinityNow:
    """The newest test, and what is expected at this moment."""

    last: Quantity  # meq/L
    tested_at: datetime
    age: Quantity  # days
    expected: Estimate  # meq/L; without a demand, the test with its error

    @property
    def span(self) -> Span:
        """What is expected, meq/L."""
        return self.expected.floats("meq/L")


def net_change_now(demand: Demand | NoDemand, setup: Setup, inputs: Inputs) -> Span | None:
    """Return the change of alkalinity with the inputs of now, meq/L/day; None when unknown."""
    if isinstance(demand, NoDemand):
        return None
    if demand.source == "tests":
        return demand.balance.net_change_meq_per_L_per_day
    if inputs.known_from is None:
        return None
    now = inputs.facts.now
    lime = inputs.lime_L_per_day(now) * inputs.strength.at(now) * inputs.saturated_meq_per_L
    given = (lime + inputs.second_meq_per_day(now)) / setup.net_volume_L
    share = (inputs.lime_error_share**2 + setup.net_volume_error_share**2) ** 0.5
    low, best, high = demand.per_litre_meq
    return Span(given * (1.0 - share) - high, given - best, given * (1.0 + share) - low)


def alkalinity_now(
    facts: Facts, demand: Demand | NoDemand, net_change: Span | None
) -> AlkalinityNow | None:
    """Return where alkalinity stands, None when it was never tested."""
    last = facts.last_sample(ALKALINITY)
    if last is None:
        return None
    age = facts.age_days(last.at)
    error = TEST_ERROR_MEQ_PER_L * Z90
    start = Span(last.value - error, last.value, last.value + error)
    if isinstance(demand, Demand):
        start = demand.level
    drift = (net_change or Span(0.0, 0.0, 0.0)).scaled(age)
    now = Span(*(max(0.0, a + b) for a, b in zip(start, drift, strict=True)))
    return AlkalinityNow(
        last=quantity(last.value, "meq/L"),
        tested_at=last.at,
        age=quantity(age, "day"),
        expected=estimate(now, "meq/L"),
    )


def stopping(
    setup: Setup, inputs: Inputs, demand: Demand | NoDemand, level: AlkalinityNow | None
) -> StopSafe | Reason:
    """Return how long the tank can wait; a demand too unsure to dose by still serves here."""
    per_litre = demand.per_litre_meq if isinstance(demand, Demand) else demand.per_litre
    if per_litre is None or level is None:
        return reason(Code.STOP_SAFE_UNKNOWN)
    return stop_safe(
        setup,
        level_meq_per_L=level.span,
        demand_meq_per_L_per_day=per_litre,
        second_meq_per_day=inputs.second_meq_per_day(inputs.facts.now),
    )
