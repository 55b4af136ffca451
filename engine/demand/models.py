"""One filter for every guess at what is not known of a keeper's tests, weighed and mixed.

How much tests scatter and how fast demand wanders differ from keeper to keeper. A small table of
both is tried; each pair is weighed by how well it foretold the tests and by what is usual.
"""

from collections.abc import Sequence
from math import exp, log
from typing import Final, NamedTuple

from engine.demand.alkalinity_tests import (
    DEMAND_JUMP_SHARE,
    TEST_ERROR_MEQ_PER_L,
    Point,
    Series,
)
from engine.demand.kalman import Observation
from engine.demand.kalman_last import Last, last_state
from engine.vocabulary import MEQ_PER_DKH, Z90

# The table, about what is usual (common practice, no source): errors as shares of the usual one,
# wandering as a share of the demand for the root of a day. About 2 % is 11 % in a month.
_ERROR_SHARES: Final = (0.33, 0.5, 0.7, 1.0, 1.4, 2.0, 3.0)
_USUAL_SPREAD: Final = 0.5  # standard deviation of the logarithm of a keeper's error
_STATED_SPREAD: Final = 0.2  # the same where the keeper states it
_WANDER_SHARES: Final = (0.01, 0.02, 0.04, 0.08)
USUAL_WANDER_SHARE: Final = 0.02
_WANDER_WEIGHTS: Final = (0.3, 0.4, 0.2, 0.1)
# Random steps of alkalinity that no record explains, for the root of a day.
_LEVEL_WANDER_MEQ_PER_L: Final = 0.02 * MEQ_PER_DKH
# What two doubtful tests in a row allow for: a jump of alkalinity and of demand.
_BROKEN_LEVEL_MEQ_PER_L: Final = 1.0 * MEQ_PER_DKH
_BROKEN_DEMAND_SHARE: Final = 0.5


class Trial(NamedTuple):
    """One row of the table."""

    error: float  # of a test, meq/L
    wander: float  # of demand, meq/L/day for the root of a day
    scale: float  # rough demand, meq/L/day


Table = list[tuple[Trial, float]]


class Model(NamedTuple):
    """A trial with its answer; `weight` of all models adds up to 1."""

    trial: Trial
    last: Last
    weight: float


class Tried(NamedTuple):
    """Every trial's answer."""

    models: list[Model]
    evidence: float  # logarithm, of all trials together


class Marks(NamedTuple):
    """What was found out about single tests."""

    set_aside: frozenset[int] = frozenset()
    broken: frozenset[int] = frozenset()  # something happened before this test
    stepped: frozenset[int] = frozenset()  # demand stepped before this test


def weight_of(model: Model) -> float:
    """Return how much a model counts."""
    return model.weight


def table_of(scale: float, stated_error: float | None) -> Table:
    """Return the trials with the logarithm of how usual each is."""
    usual = stated_error or TEST_ERROR_MEQ_PER_L
    spread = _STATED_SPREAD if stated_error else _USUAL_SPREAD
    return [
        (
            Trial(usual * share, wander * scale, scale),
            log(weight) - 0.5 * (log(share) / spread) ** 2,
        )
        for share in _ERROR_SHARES
        for wander, weight in zip(_WANDER_SHARES, _WANDER_WEIGHTS, strict=True)
    ]


def observations(points: Sequence[Point], trial: Trial, marks: Marks) -> list[Observation]:
    """Return the series for the filter under one trial."""
    return [_test(number, point, trial, marks) for number, point in enumerate(points)]


def _test(number: int, point: Point, trial: Trial, marks: Marks) -> Observation:
    before = point.before
    span = before.days
    wandered = trial.wander**2 * span
    jump = 0.0
    level_variance = before.variance + point.level_variance + _LEVEL_WANDER_MEQ_PER_L**2 * span
    if point.demand_jump or number in marks.stepped:
        jump += (DEMAND_JUMP_SHARE * trial.scale) ** 2
    if number in marks.broken:
        jump += (_BROKEN_DEMAND_SHARE * trial.scale) ** 2
        level_variance += _BROKEN_LEVEL_MEQ_PER_L**2
    # A jump at an unknown moment between two tests moves alkalinity as wandering does.
    rate_variance = wandered + jump
    return Observation(
        value=point.sample.value,
        variance=trial.error**2 + point.extra_variance,
        source=point.source,
        used=number not in marks.set_aside,
        keep=before.keep,
        span=before.demand_days,
        given=before.given,
        level_variance=level_variance + rate_variance * span * span / 3.0,
        covariance=-rate_variance * span / 2.0,
        rate_variance=rate_variance,
    )


def models_of(found: Series, table: Table, marks: Marks) -> list[Model]:
    """Return every trial's answer, weighed by how well it foretold the tests."""
    return tried(found, table, marks).models


def tried(found: Series, table: Table, marks: Marks) -> Tried:
    """Return every trial's answer, and how well all of them together foretold the tests."""
    tests: dict[float, list[Observation]] = {}
    models: list[Model] = []
    for trial, usual in table:
        if trial.wander not in tests:
            exact = trial._replace(error=0.0)
            tests[trial.wander] = observations(found.points, exact, marks)
        last = last_state(tests[trial.wander], trial.error**2, found.offset_variances)
        models.append(Model(trial, last, usual + last.log_likelihood))
    top = max(model.weight for model in models)
    total = sum(exp(model.weight - top) for model in models)
    models = [model._replace(weight=exp(model.weight - top) / total) for model in models]
    return Tried(models, top + log(total))


def mixed(models: list[Model], place: int) -> tuple[float, float]:
    """Return mean and half-width of the 90 % interval at the last test."""
    mean = sum(m.weight * m.last.mean[place] for m in models)
    variance = sum(
        m.weight * (m.last.variance[place] + (m.last.mean[place] - mean) ** 2) for m in models
    )
    return mean, Z90 * variance**0.5
