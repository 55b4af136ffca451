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
    second = inputs.second_meq_per_day(inputs.facts.now) / setup.net_volume_L
    given = _lime_meq_per_L_per_day(setup, inputs) + second
    share = _error_share(setup, inputs)
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
    fall = _fall_without_lime(setup, inputs, demand)
    if fall is None or level is None:
        return reason(Code.STOP_SAFE_UNKNOWN)
    return stop_safe(
        setup,
        level_meq_per_L=level.span,
        fall_meq_per_L_per_day=fall,
        second_source_runs=inputs.second_meq_per_day(inputs.facts.now) > 0.0,
    )


def _fall_without_lime(setup: Setup, inputs: Inputs, demand: Demand | NoDemand) -> Span | None:
    """Return how fast alkalinity falls when only the limewater stops, meq/L/day."""
    now = inputs.facts.now
    if isinstance(demand, Demand) and demand.source == "tests":
        # The measured course, less what the limewater gives: nothing else changes.
        net = demand.balance.net_change_meq_per_L_per_day
        lime = _lime_meq_per_L_per_day(setup, inputs)
        share = _error_share(setup, inputs)
        error = ((net.high - net.best) ** 2 + (lime * share) ** 2) ** 0.5
        fall = lime - net.best
        return Span(fall - error, fall, fall + error)
    per_litre = demand.per_litre_meq if isinstance(demand, Demand) else demand.per_litre
    if per_litre is None:
        return None
    other = inputs.second_meq_per_day(now) / setup.net_volume_L
    return Span(*(value - other for value in per_litre))


def _lime_meq_per_L_per_day(setup: Setup, inputs: Inputs) -> float:
    now = inputs.facts.now
    strength = inputs.strength.at(now) * inputs.saturated_meq_per_L
    return inputs.lime_L_per_day(now) * strength / setup.net_volume_L


def _error_share(setup: Setup, inputs: Inputs) -> float:
    return (inputs.lime_error_share**2 + setup.net_volume_error_share**2) ** 0.5
