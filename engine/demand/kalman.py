"""Kalman filter and fixed-interval smoother for a level that something uses up.

The state is (level, rate of use, offset of source 1, offset of source 2, ...). Between two tests

    level' = keep * level - span * rate + given,     rate and offsets hold,

with random steps of known variance; a test reads the level plus the offset of its source. That
structure makes every step a handful of multiplications. The smoother is the backward recursion of
Durbin and Koopman [DK12]; it gives what Rauch, Tung and Striebel's does and, beside it, how far
each test stands from what all the *others* say.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from typing import Final, NamedTuple

LEVEL: Final = 0
RATE: Final = 1
FIRST_OFFSET: Final = 2
# Nothing is known of level and rate before the first test: variances far beyond any tank's.
DIFFUSE_VARIANCE: Final = 1e3
# A test further out than this counts as if it stood here when models are weighed.
CLIPPED_SQUARE: Final = 9.0

Vector = list[float]
Matrix = list[Vector]


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
    predicted_variance: Matrix
    mean: Vector
    variance: Matrix
    innovation: float
    innovation_variance: float


@dataclass(frozen=True, slots=True)
class Smoothed:
    """The state at one test in the light of all tests, and the test in the light of the others."""

    mean: Vector
    variance: Matrix
    deviation: float  # of the test from what all others say, in its standard deviations
    expected: float  # reading that the others say
    expected_variance: float  # of the difference
    rate_step: float  # evidence that the rate stepped up right after the test, in deviations


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
    """
    size = FIRST_OFFSET + len(offset_variances)
    mean = [0.0] * size
    mean[LEVEL] = tests[0].value  # as good as any: what it says counts for nothing
    variance = [[0.0] * size for _ in range(size)]
    variance[LEVEL][LEVEL] = variance[RATE][RATE] = DIFFUSE_VARIANCE
    for number, value in enumerate(offset_variances):
        variance[FIRST_OFFSET + number][FIRST_OFFSET + number] = value
    found: list[Filtered] = []
    for number, test in enumerate(tests):
        if number:
            mean, variance = _predict(mean, variance, test)
        predicted, predicted_variance = mean, variance
        reading, gain = _reading(test, mean, variance)
        innovation = test.value - reading
        total = gain[LEVEL] + (gain[_offset(test)] if test.source else 0.0) + test.variance
        if test.used:
            mean = [m + g * innovation / total for m, g in zip(mean, gain, strict=True)]
            variance = [
                [v - gain[row] * g / total for v, g in zip(values, gain, strict=True)]
                for row, values in enumerate(variance)
            ]
        found.append(Filtered(predicted, predicted_variance, mean, variance, innovation, total))
    return found


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
    size = len(states[0].mean)
    lead = [0.0] * size
    weight = [[0.0] * size for _ in range(size)]
    found: list[Smoothed] = []
    for number in range(len(tests) - 1, -1, -1):
        test, state = tests[number], states[number]
        if number + 1 < len(tests):
            lead, weight = _back(tests[number + 1], lead, weight)
        # lead and weight now speak of the state at this test, its own reading left out
        told = weight[RATE][RATE]
        rate_step = lead[RATE] / told**0.5 if told > 0.0 else 0.0
        mean, variance = _corrected(state, lead, weight)
        gain = _gain(test, state.predicted_variance)
        scaled = [g / state.innovation_variance for g in gain]
        weighted = _times(weight, scaled)
        residual = state.innovation / state.innovation_variance - _dot(scaled, lead)
        precision = 1.0 / state.innovation_variance + _dot(scaled, weighted)
        if test.used:
            lead, weight = _absorb(test, (lead, weight), weighted, (residual, precision))
        else:
            residual, precision = _left_out(test, mean, variance)
        found.append(
            Smoothed(
                mean,
                variance,
                residual / precision**0.5,
                test.value - residual / precision,
                1.0 / precision,
                rate_step,
            )
        )
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
    smoothed = smooth(tests, states)
    size = len(states[0].mean)
    # Errors of the last state that the state at `since` shares: one row, carried forward.
    shared = [list(row) for row in states[since].predicted_variance]
    for number in range(since, len(tests)):
        test, state = tests[number], states[number]
        if number > since:
            shared = [_forward(test, row) for row in shared]
        if test.used:
            gain = _gain(test, state.predicted_variance)
            for row in shared:
                seen = (row[LEVEL] + (row[_offset(test)] if test.source else 0.0)) / (
                    state.innovation_variance
                )
                for column in range(size):
                    row[column] -= gain[column] * seen
    first, last = smoothed[since], smoothed[-1]
    variance = first.variance[RATE][RATE] + last.variance[RATE][RATE] - 2.0 * shared[RATE][RATE]
    return last.mean[RATE] - first.mean[RATE], max(0.0, variance)


def _offset(test: Observation) -> int:
    return FIRST_OFFSET + test.source - 1


def _predict(mean: Vector, variance: Matrix, test: Observation) -> tuple[Vector, Matrix]:
    moved = _forward(test, mean)
    moved[LEVEL] += test.given
    top = [
        test.keep * level - test.span * rate
        for level, rate in zip(variance[LEVEL], variance[RATE], strict=True)
    ]
    corner = test.keep * top[LEVEL] - test.span * top[RATE]
    ahead = [[value, *row[1:]] for value, row in zip(top, variance, strict=True)]
    ahead[LEVEL] = top
    ahead[LEVEL][LEVEL] = corner + test.level_variance
    ahead[LEVEL][RATE] += test.covariance
    ahead[RATE][LEVEL] = ahead[LEVEL][RATE]
    ahead[RATE][RATE] += test.rate_variance
    return moved, ahead


def _forward(test: Observation, vector: Vector) -> Vector:
    return [test.keep * vector[LEVEL] - test.span * vector[RATE], *vector[1:]]


def _gain(test: Observation, variance: Matrix) -> Vector:
    if not test.source:
        return list(variance[LEVEL])
    own = variance[_offset(test)]
    return [a + b for a, b in zip(variance[LEVEL], own, strict=True)]


def _reading(test: Observation, mean: Vector, variance: Matrix) -> tuple[float, Vector]:
    offset = mean[_offset(test)] if test.source else 0.0
    return mean[LEVEL] + offset, _gain(test, variance)


def _back(test: Observation, lead: Vector, weight: Matrix) -> tuple[Vector, Matrix]:
    """Carry lead and weight over the time before a test, to the one before it."""
    half = [_backward(test, row) for row in weight]
    columns = [_backward(test, list(column)) for column in zip(*half, strict=True)]
    return _backward(test, lead), [list(row) for row in zip(*columns, strict=True)]


def _backward(test: Observation, vector: Vector) -> Vector:
    level = vector[LEVEL]
    return [test.keep * level, vector[RATE] - test.span * level, *vector[2:]]


def _absorb(
    test: Observation,
    beyond: tuple[Vector, Matrix],
    weighted: Vector,
    own: tuple[float, float],
) -> tuple[Vector, Matrix]:
    """Add a test's own reading: H'u + r, and N with D in H'H and -N M in its row and column."""
    residual, precision = own
    places = (LEVEL, _offset(test)) if test.source else (LEVEL,)
    lead = list(beyond[0])
    weight = [list(row) for row in beyond[1]]
    for place in places:
        lead[place] += residual
        for column, value in enumerate(weighted):
            weight[place][column] -= value
            weight[column][place] -= value
    for row in places:
        for column in places:
            weight[row][column] += precision
    return lead, weight


def _corrected(state: Filtered, lead: Vector, weight: Matrix) -> tuple[Vector, Matrix]:
    before = state.variance
    mean = [m + s for m, s in zip(state.mean, _times(before, lead), strict=True)]
    rows = [_times(weight, row) for row in before]  # before is symmetric: rows of P N
    variance = [
        [value - _dot(rows[i], before[j]) for j, value in enumerate(before[i])]
        for i in range(len(before))
    ]
    return mean, variance


def _left_out(test: Observation, mean: Vector, variance: Matrix) -> tuple[float, float]:
    """Return residual and precision of a test that was not used, as of one that was."""
    reading, gain = _reading(test, mean, variance)
    spread = gain[LEVEL] + (gain[_offset(test)] if test.source else 0.0) + test.variance
    return (test.value - reading) / spread, 1.0 / spread


def _times(matrix: Matrix, vector: Vector) -> Vector:
    return [_dot(row, vector) for row in matrix]


def _dot(a: Vector, b: Vector) -> float:
    return sum(x * y for x, y in zip(a, b, strict=True))
