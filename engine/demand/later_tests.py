"""What later tests say of a state, going backwards; joined with what earlier ones say.

As information: a matrix Y and a vector y such that the later tests, alone, would put the state at
the x of Y x = y. Nothing is known at the end of the log: Y is zero there, and needs no vast first
variance. Joined with earlier tests' spread S S' it is found from I + S' Y S, whose pivots cannot
be below 1: that is the floor which keeps every variance between nothing and the earlier one.
"""

from collections.abc import Sequence
from operator import add
from typing import NamedTuple

from engine.demand.spread import Matrix, Spread, Steps, Vector, dot


class LaterTests(NamedTuple):
    """Y and y at one test."""

    matrix: Matrix
    vector: Vector

    @classmethod
    def none(cls, size: int) -> "LaterTests":
        """Return what nothing says."""
        return cls([[0.0] * size for _ in range(size)], [0.0] * size)

    def told(self, seen: Sequence[int], value: float, variance: float) -> "LaterTests":
        """Return it with a reading of the sum of some states."""
        matrix, vector = [list(row) for row in self.matrix], list(self.vector)
        for place in seen:
            vector[place] += value / variance
            for other in seen:
                matrix[place][other] += 1.0 / variance
        return LaterTests(matrix, vector)

    def before(self, keep: float, span: float, given: float, steps: Steps) -> "LaterTests":
        """Return it carried over the time before a test, to the test before it."""
        later = LaterTests(self.matrix, _less(self.vector, self.matrix[0], given))
        later = _doubted(later, (1.0, 0.0), steps.level_variance)
        matrix, vector = _doubted(later, (steps.slope, 1.0), steps.rate_variance)
        half = [_before(keep, span, row) for row in matrix]
        columns = zip(*half, strict=True)  # symmetric: columns of the half are rows of the whole
        return LaterTests(
            [_before(keep, span, column) for column in columns], _before(keep, span, vector)
        )


class Joined:
    """A state that earlier tests put at `mean`, unsure by `spread`, with what later ones say."""

    __slots__ = ("_earlier", "_lower", "_moved", "_root", "_spread", "_told")

    def __init__(self, mean: Vector, spread: Spread, later: LaterTests) -> None:
        self._earlier, self._spread = mean, spread
        self._root = spread.root()
        columns = list(zip(*self._root, strict=True))
        self._told = [[dot(row, column) for row in later.matrix] for column in columns]  # S' Y
        self._lower = _lower_root(
            [
                [dot(row, column) for column in columns[: place + 1]]
                for place, row in enumerate(self._told)
            ]
        )
        off = [y - dot(row, mean) for y, row in zip(later.vector, later.matrix, strict=True)]
        self._moved = self._solved([dot(column, off) for column in columns])

    @property
    def mean(self) -> Vector:
        """The state."""
        return [m + dot(row, self._moved) for m, row in zip(self._earlier, self._root, strict=True)]

    def reading(self, seen: Sequence[int]) -> tuple[float, float]:
        """Return the sum of some states and its variance."""
        along, known = self._root[seen[0]], self._earlier[seen[0]]
        for each in seen[1:]:
            along, known = list(map(add, along, self._root[each])), known + self._earlier[each]
        halves = _forward(self._lower, along)
        return known + dot(along, self._moved), dot(halves, halves)

    @property
    def variance(self) -> Matrix:
        """Variances and covariances."""
        halves = [_forward(self._lower, row) for row in self._root]
        return [[dot(a, b) for b in halves] for a in halves]

    def rate_step(self) -> float:
        """Return how clearly later tests want the rate higher than earlier ones, in deviations.

        r / sqrt(N) with N = (P + Y^-1)^-1 and r = N (x_later - x_earlier), found without that
        difference: S^-T M^-1 S' (y - Y x).
        """
        spreads, rows = self._spread.spreads, self._spread.rows
        if min(spreads[0], spreads[1]) <= 0.0:
            return 0.0
        # the rate's column of S^-1: only its first two rows hold anything
        first, second = -rows[0][1] / spreads[0] ** 0.5, 1.0 / spreads[1] ** 0.5
        told = self._solved([row[1] for row in self._told])
        known = first * told[0] + second * told[1]
        wanted = first * self._moved[0] + second * self._moved[1]
        return wanted / known**0.5 if known > 0.0 else 0.0

    def _solved(self, vector: Vector) -> Vector:
        return _backward(self._lower, _forward(self._lower, vector))


def _doubted(later: LaterTests, step: tuple[float, float], variance: float) -> LaterTests:
    """Return it with one random step allowed for: so much of it of the level, of the rate."""
    if variance <= 0.0:
        return later
    level, rate = step
    matrix, vector = later
    along = [level * a + rate * b for a, b in zip(matrix[0], matrix[1], strict=True)]
    loss = variance / (1.0 + variance * (level * along[0] + rate * along[1]))
    drift = loss * (level * vector[0] + rate * vector[1])
    return LaterTests(
        [_less(row, along, loss * a) for row, a in zip(matrix, along, strict=True)],
        _less(vector, along, drift),
    )


def _less(vector: Vector, along: Vector, share: float) -> Vector:
    return [a - share * b for a, b in zip(vector, along, strict=True)]


def _before(keep: float, span: float, vector: Sequence[float]) -> Vector:
    level = vector[0]
    return [keep * level, vector[1] - span * level, *vector[2:]]


def _lower_root(matrix: Matrix) -> Matrix:
    """Return the lower triangular root of I + a matrix that is not negative [Cholesky]."""
    root: Matrix = []
    for place, row in enumerate(matrix):
        line: Vector = []
        for column in range(place):
            rest = (row[column] - dot(line, root[column])) / root[column][column]
            line.append(rest)
        line.append(max(1.0, 1.0 + row[place] - dot(line, line)) ** 0.5)
        root.append(line)
    return root


def _forward(lower: Matrix, vector: Sequence[float]) -> Vector:
    found: Vector = []
    for row, value in zip(lower, vector, strict=True):
        found.append((value - dot(row, found)) / row[-1])
    return found


def _backward(lower: Matrix, vector: Vector) -> Vector:
    found = list(vector)
    for place in range(len(lower) - 1, -1, -1):
        found[place] /= lower[place][place]
        for before in range(place):
            found[before] -= lower[place][before] * found[place]
    return found
