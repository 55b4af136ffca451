"""Whether demand stepped lately, and how far each test was from what was foretold.

A step is looked for with a filter that expects demand to hardly wander: how clearly do the tests
since then speak for one? Demand that always wanders looks like that, too: so it also counts how
much better a step foretells the tests than wandering does.
"""

from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from engine.demand.doubts import Weighed
from engine.demand.kalman import FIRST_OFFSET, Filtered, Observation, run_filter, smooth
from engine.demand.models import Marks, observations, tried

# A step of demand is said when this many deviations, as who expects none counts them, and what it
# gains over demand that wanders add up to so much (our choice, on invented keepers: it finds a
# step of 30 % within three tests in more than eight of ten, see tests).
STEP_CLEAR: Final = 4.5
_GAIN_WEIGHT: Final = 1.5
_LEAST_DEVIATIONS: Final = 1.8
_STEP_TESTS: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Demand moved, and stayed there."""

    number: int  # of the first test after it
    up: bool
    surely_demand: bool = True  # False: an input that is not on record would explain it as well


class Calm(NamedTuple):
    """The series as it looks to who expects demand to hardly wander."""

    tests: list[Observation]
    states: list[Filtered]


def calm_course(weighed: Weighed) -> Calm:
    """Return the series as it looks to who expects no change, jumps included."""
    return _calm(weighed, weighed.marks._replace(broken=frozenset()))


def _calm(weighed: Weighed, marks: Marks) -> Calm:
    found, models = weighed.found, weighed.models
    error = sum(model.weight * model.trial.error for model in models)
    tests = observations(found.points, models[0].trial._replace(error=error), marks)
    return Calm(tests, run_filter(tests, found.offset_variances))


def innovations_of(calm: Calm) -> tuple[float, ...]:
    """Return what each test was off, in standard deviations; 0 where nothing was foretold."""
    offs = [state.innovation / state.innovation_variance**0.5 for state in calm.states]
    return (*[0.0] * min(FIRST_OFFSET, len(offs)), *offs[FIRST_OFFSET:])


def step_of(weighed: Weighed, calm: Calm) -> Step | None:
    """Return the clearest step of demand among the last tests, None where there is none.

    It is doubted where a jump of alkalinity explains the tests without it.
    """
    step = _clear_step(weighed, calm, frozenset())
    if step is None or not weighed.marks.broken:
        return step
    allowing = _calm(weighed, weighed.marks)
    surely = _clear_step(weighed, allowing, weighed.marks.broken) is not None
    return replace(step, surely_demand=surely)


def _clear_step(weighed: Weighed, calm: Calm, jumps: frozenset[int]) -> Step | None:
    """Return the clearest step, None where it is not clear enough."""
    smoothed = smooth(*calm)
    last = len(smoothed) - 1
    numbers = range(max(FIRST_OFFSET, last - _STEP_TESTS), last - 1)
    steps = {number: smoothed[number].rate_step for number in numbers}
    number = max(steps, key=lambda each: abs(steps[each]), default=0)
    deviations = abs(steps.get(number, 0.0))
    if deviations <= _LEAST_DEVIATIONS:
        return None
    step = Step(number=number + 1, up=steps[number] > 0.0)
    clear = deviations + _GAIN_WEIGHT * _gain(weighed, step, jumps)
    return step if clear > STEP_CLEAR else None


def _gain(weighed: Weighed, step: Step, jumps: frozenset[int]) -> float:
    """Return how much better the tests are foretold with the step than by wandering alone."""
    found, table = weighed.found, weighed.table
    without = weighed.marks._replace(broken=jumps)
    stepped = without._replace(stepped=frozenset({step.number}))
    return tried(found, table, stepped).evidence - tried(found, table, without).evidence
