"""Where alkalinity stands now, where it goes, and how long it holds without lime."""

from dataclasses import dataclass
from datetime import datetime

from engine.demand.alkalinity_tests import ALKALINITY, TEST_ERROR_MEQ_PER_L
from engine.demand.answer import Demand, NoDemand
from engine.demand.facts import Facts
from engine.demand.inputs import Inputs
from engine.demand.stretch import Stretch, stretch
from engine.limits import STALE_DAYS
from engine.plan.stop_safe import StopSafe, stop_safe
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.units import Estimate, Quantity, Span, estimate, quantity, to_float
from engine.vocabulary import Z90


@dataclass(frozen=True, slots=True, kw_only=True)
class AlkalinityNow:
    """The newest test, and what is expected at this moment."""

    last: Quantity  # meq/L
    tested_at: datetime
    age: Quantity  # days
    expected: Estimate | None  # meq/L; without a demand the test with its error; None when stale

    @property
    def span(self) -> Span:
        """What is expected, meq/L; of a stale test the reading with its error."""
        if self.expected is None:
            return _with_error(to_float(self.last, "meq/L"))
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
    facts: Facts, setup: Setup, inputs: Inputs, demand: Demand | NoDemand
) -> AlkalinityNow | None:
    """Return where alkalinity stands, None when it was never tested.

    The level at the newest test, and from there what was really given since, hour by hour: a pump
    stopped minutes ago has changed nothing yet.
    """
    last = facts.last_sample(ALKALINITY)
    if last is None:
        return None
    age = facts.age_days(last.at)
    since = last.at
    now = _with_error(last.value)
    if isinstance(demand, Demand):  # a newest test that is doubted tells nothing
        since = demand.level_at
        now = _carried_on(facts, setup, inputs, demand)
    return AlkalinityNow(
        last=quantity(last.value, "meq/L"),
        tested_at=last.at,
        age=quantity(age, "day"),
        expected=None if facts.age_days(since) > STALE_DAYS else estimate(now, "meq/L"),
    )


def _with_error(tested_meq_per_L: float) -> Span:
    error = TEST_ERROR_MEQ_PER_L * Z90
    return Span(max(0.0, tested_meq_per_L - error), tested_meq_per_L, tested_meq_per_L + error)


def _carried_on(facts: Facts, setup: Setup, inputs: Inputs, demand: Demand) -> Span:
    """Return the level at the newest test that is believed carried on to now, meq/L."""
    start = demand.level_at
    since = stretch(inputs, setup, start, max(start, facts.now))
    used = demand.per_litre_meq.best * since.demand_days
    error = (_drift_error(setup, inputs, demand, since) ** 2 + Z90**2 * since.variance) ** 0.5
    low, best, high = (value * since.keep - used + since.given for value in demand.level)
    return Span(max(0.0, low - error), max(0.0, best), max(0.0, high + error))


def _drift_error(setup: Setup, inputs: Inputs, demand: Demand, since: Stretch) -> float:
    """Return the half-width of the 90 % interval of the change since the test, meq/L."""
    share = _error_share(setup, inputs)
    if demand.source != "tests":
        per_litre = demand.per_litre_meq
        return (per_litre.high - per_litre.best) * since.demand_days + share * since.inputs
    net = demand.balance.net_change_meq_per_L_per_day
    now = inputs.facts.now
    given = inputs.lime_meq_per_day(now) + inputs.second_meq_per_day(now)
    # The tests have felt the errors of what is given steadily; what differed since carries them.
    differed = since.inputs - given / setup.net_volume_L * since.days
    return (((net.high - net.best) * since.days) ** 2 + (differed * share) ** 2) ** 0.5


def stopping(
    setup: Setup, inputs: Inputs, demand: Demand | NoDemand, level: AlkalinityNow | None
) -> StopSafe | Reason:
    """Return how long the tank can wait; a demand too unsure to dose by still serves here."""
    fall = _fall_without_lime(setup, inputs, demand)
    if fall is None or level is None or level.expected is None:
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
    if per_litre is None or any(r.code == Code.TESTS_TOO_CLOSE for r in demand.reasons):
        return None
    other = inputs.second_meq_per_day(now) / setup.net_volume_L
    return Span(*(value - other for value in per_litre))


def _lime_meq_per_L_per_day(setup: Setup, inputs: Inputs) -> float:
    now = inputs.facts.now
    strength = inputs.strength.at(now) * inputs.saturated_meq_per_L
    return inputs.lime_L_per_day(now) * strength / setup.net_volume_L


def _error_share(setup: Setup, inputs: Inputs) -> float:
    return (inputs.lime_error_share**2 + setup.net_volume_error_share**2) ** 0.5
