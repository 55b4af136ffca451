"""Kalman filter and fixed-interval smoother for a level that something uses up.

The state is (level, rate of use, offset of source 1, offset of source 2, ...). Between two tests

    level' = keep * level - span * rate + given,     rate and offsets hold,

with random steps of known variance; a test reads the level plus the offset of its source. That
structure makes every step a handful of multiplications.

Nothing is known before the first test, and a good test leaves some 1e-9 of that: a variance that
is brought down by subtracting would go below zero. It is kept in factors (engine/demand/spread.py),
which only multiply and add. The smoother is that of two filters: what the tests up to now say, in
factors, joined with what the tests from now on say, as information [FP69]; so a test is also seen
in the light of all the *others*, which also gives the auxiliary residual of the rate [DK12].
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import log
from typing import Final, NamedTuple

from engine.demand.later_tests import Joined, LaterTests
from engine.demand.spread import Matrix, Spread, Steps, Vector, steps_of
from engine.errors import check_finite, check_variance

LEVEL: Final = 0
RATE: Final = 1
FIRST_OFFSET: Final = 2
# Nothing is known of level and rate before the first test: variances far beyond any tank's.
DIFFUSE_VARIANCE: Final = 1e3
# A test further out than this counts as if it stood here when models are weighed.
CLIPPED_SQUARE: Final = 9.0


class Observation(NamedTuple):
    """One test and what happened since the one before; floats of one consistent unit."""

    value: float
    variance: float  # of the reading
    source: int = 0  # 0, or the number of the offset that it carries
    used: bool = True  # False: it stands in the log, but tells nothing
    keep: float = 1.0
    span: float = 0.0
    given: float = 0.0
    level_variance: float = 0.0  # of the random steps since the test before
    covariance: float = 0.0
    rate_variance: float = 0.0


@dataclass(frozen=True, slots=True)
class Filtered:
    """The state at one test: predicted, then with the test itself."""

    predicted: Vector
    predicted_spread: Spread
    mean: Vector
    spread: Spread
    innovation: float
    innovation_variance: float

    @property
    def variance(self) -> Matrix:
        """Variances and covariances with the test."""
        return self.spread.matrix()


@dataclass(frozen=True, slots=True)
class Smoothed:
    """The state at one test in the light of all tests, and the test in the light of the others."""

    expected: float  # reading that the others say
    expected_variance: float  # of the difference
    deviation: float  # of the test from what all others say, in its standard deviations
    state: Filtered
    later: LaterTests

    @property
    def mean(self) -> Vector:
        """The state."""
        return self._everything().mean

    @property
    def variance(self) -> Matrix:
        """Its variances and covariances."""
        return self._everything().variance

    @property
    def rate_step(self) -> float:
        """Evidence that the rate stepped up right after the test, in deviations."""
        return self._everything().rate_step()

    def _everything(self) -> Joined:
        return Joined(self.state.mean, self.state.spread, self.later)


def run_filter(
    tests: Sequence[Observation], offset_variances: Sequence[float] = ()
) -> list[Filtered]:
    """Return the states at all tests, each knowing the tests up to it.

    Parameters
    ----------
    tests : sequence of Observation
        Oldest first; what the first one says of the time before it is ignored.
    offset_variances : sequence of float
        Prior variance of each source's offset.

    Raises
    ------
    InvalidQuantity
        A variance that must be positive is not, or a number is not finite.
    """
    mean = [0.0] * (FIRST_OFFSET + len(offset_variances))
    mean[LEVEL] = tests[0].value  # as good as any: what it says counts for nothing
    spread = Spread.independent([DIFFUSE_VARIANCE, DIFFUSE_VARIANCE, *offset_variances])
    return list(_course(tests, mean, spread, FIRST_OFFSET))


def _course(
    tests: Sequence[Observation], mean: Vector, spread: Spread, first_offset: int
) -> Iterator[Filtered]:
    """Yield the states at all tests, from the state just before the first one's reading."""
    for number, test in enumerate(tests):
        if number:
            mean, spread = _ahead(mean, test), spread.copy()
            spread.pass_time(test.keep, test.span, _steps(test))
        check_variance("variance", test.variance)
        predicted, before, seen = mean, spread, _seen(test, first_offset)
        spread = before.copy()
        told = spread.tell(seen, test.variance)
        innovation = test.value - sum(mean[place] for place in seen)
        check_finite("innovation", innovation)
        check_variance("innovation_variance", told.variance)
        if test.used:
            share = innovation / told.variance
            mean = [m + g * share for m, g in zip(mean, told.gain, strict=True)]
        else:
            spread = before
        yield Filtered(predicted, before, mean, spread, innovation, told.variance)


def log_likelihood(tests: Sequence[Observation], states: Sequence[Filtered]) -> float:
    """Return the log-likelihood of the used tests from the third on, far ones clipped.

    The first two only settle level and rate, which were unknown.
    """
    total, seen = 0.0, 0
    for test, state in zip(tests, states, strict=True):
        if not test.used:
            continue
        seen += 1
        if seen > FIRST_OFFSET:
            square = state.innovation**2 / state.innovation_variance
            total -= 0.5 * (log(state.innovation_variance) + min(square, CLIPPED_SQUARE))
    return total


def smooth(tests: Sequence[Observation], states: Sequence[Filtered]) -> list[Smoothed]:
    """Return the states at all tests, each knowing all tests."""
    later = LaterTests.none(len(states[0].mean))
    found: list[Smoothed] = []
    for number in range(len(tests) - 1, -1, -1):
        test, state = tests[number], states[number]
        if number + 1 < len(tests):
            after = tests[number + 1]
            if after.used:
                later = later.told(_seen(after, FIRST_OFFSET), after.value, after.variance)
            later = later.before(after.keep, after.span, after.given, _steps(after))
        seen = _seen(test, FIRST_OFFSET)
        expected, spread = Joined(state.predicted, state.predicted_spread, later).reading(seen)
        variance = spread + test.variance
        off = (test.value - expected) / variance**0.5
        found.append(Smoothed(expected, variance, off, state, later))
    return found[::-1]


def change_of_rate(
    tests: Sequence[Observation], states: Sequence[Filtered], since: int
) -> tuple[float, float]:
    """Return how much the rate of use moved from one test to the last one, and its variance.

    Parameters
    ----------
    tests, states
        As for `smooth`.
    since : int
        Number of the test from which the change counts.
    """
    # The filter from there on, with the rate of then as one more state.
    start = states[since]
    mean = [*start.predicted[: RATE + 1], *start.predicted[RATE:]]
    spread = start.predicted_spread.remembering_the_rate()
    *_, last = _course(tests[since:], mean, spread, FIRST_OFFSET + 1)
    rows = last.spread.rows
    moved = [a - b for a, b in zip(rows[RATE], rows[RATE + 1], strict=True)]
    return last.mean[RATE] - last.mean[RATE + 1], last.spread.variance_of(moved)


def _seen(test: Observation, first_offset: int) -> tuple[int, ...]:
    """Return the states whose sum a test reads."""
    return (LEVEL, first_offset + test.source - 1) if test.source else (LEVEL,)


def _steps(test: Observation) -> Steps:
    return steps_of(test.level_variance, test.covariance, test.rate_variance)


def _ahead(mean: Vector, test: Observation) -> Vector:
    return [test.keep * mean[LEVEL] - test.span * mean[RATE] + test.given, *mean[1:]]
