"""Demand and level from the tests that are believed: many filters, mixed by what they foretold."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from engine.demand.alkalinity_tests import Series
from engine.demand.doubts import FEWEST_TO_DOUBT, Suspect, weigh
from engine.demand.facts import Sample
from engine.demand.inputs import Inputs
from engine.demand.kalman import (
    FIRST_OFFSET,
    LEVEL,
    RATE,
    Filtered,
    Observation,
    change_of_rate,
    run_filter,
)
from engine.demand.kalman_last import last_state
from engine.demand.models import mixed, models_of, observations, weight_of
from engine.demand.step import Step, calm_course, innovations_of, step_of
from engine.log.timeline import days_between
from engine.records import Setup
from engine.units import Span
from engine.vocabulary import Z90

TREND_DAYS: Final = 21.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandFit:
    """The answer; errors are half-widths of 90 % intervals, alkalinity in meq/L, time in days.

    `mean_lime` and `mean_inputs` are what the answer is made of: by how much it would move if all
    limewater, or all inputs, had been once more as large.
    """

    found: Series  # of the tests that are believed
    demand: float
    demand_error: float
    level: float  # at the last test
    level_error: float
    mean_lime: float
    mean_inputs: float
    test_error: float  # one standard deviation, as the tests tell
    suspects: tuple[Suspect, ...]
    step: Step | None
    trend: float | None  # change of demand
    trend_error: float
    trend_days: float
    offsets: tuple[Span, ...]  # of the sources after the first
    innovations: tuple[float, ...]  # of a filter that expects little change, in deviations


def fit_demand(samples: Sequence[Sample], setup: Setup, inputs: Inputs) -> DemandFit:
    """Return demand and level from at least two tests of different times.

    Parameters
    ----------
    samples, setup, inputs
        The tests, oldest first, and the system with everything that went into it.
    """
    weighed = weigh(samples, setup, inputs)
    found, models = weighed.found, weighed.models
    marks, calm = weighed.marks, calm_course(weighed)
    step = step_of(weighed, calm)
    if step is not None:
        marks = marks._replace(stepped=frozenset({step.number}))
        models = models_of(found, weighed.table, marks)
    best = max(models, key=weight_of)
    tests = observations(found.points, best.trial, marks)
    course = run_filter(tests, found.offset_variances)
    demand, demand_error = mixed(models, RATE)
    level, level_error = mixed(models, LEVEL)
    trend, trend_error, trend_days = _trend(found, tests, course)
    return DemandFit(
        found=found,
        demand=demand,
        demand_error=demand_error,
        level=level,
        level_error=level_error,
        mean_lime=_made_of(tests, found, [point.before.lime for point in found.points]),
        mean_inputs=_made_of(tests, found, [point.before.inputs for point in found.points]),
        test_error=sum(model.weight * model.trial.error for model in models),
        suspects=weighed.suspects,
        step=step,
        trend=trend,
        trend_error=trend_error,
        trend_days=trend_days,
        offsets=_offsets(course[-1], found),
        innovations=innovations_of(calm),
    )


def _made_of(tests: list[Observation], found: Series, amounts: list[float]) -> float:
    """Return what demand the tests would tell if they had held steady on these amounts alone.

    The filter is linear in tests and inputs: this is how far the answer follows the inputs.
    """
    alone = [
        test._replace(value=0.0, given=amount) for test, amount in zip(tests, amounts, strict=True)
    ]
    return last_state(alone, 0.0, found.offset_variances).mean[RATE]


def _trend(
    found: Series, tests: list[Observation], course: list[Filtered]
) -> tuple[float | None, float, float]:
    """Return how demand moved over about three weeks, with its error, and the real time."""
    last = found.points[-1].sample.at
    ages = [days_between(point.sample.at, last) for point in found.points]
    old = [number for number, age in enumerate(ages) if age >= TREND_DAYS]
    if not old or len(found.points) - old[-1] < FEWEST_TO_DOUBT:
        return None, 0.0, 0.0
    change, variance = change_of_rate(tests, course, old[-1])
    return change, Z90 * variance**0.5, ages[old[-1]]


def _offsets(last: Filtered, found: Series) -> tuple[Span, ...]:
    spans: list[Span] = []
    for number in range(len(found.offset_variances)):
        place = FIRST_OFFSET + number
        half = Z90 * last.variance[place][place] ** 0.5
        spans.append(Span(last.mean[place] - half, last.mean[place], last.mean[place] + half))
    return tuple(spans)
