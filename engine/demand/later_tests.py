"""What later tests say of a state, going backwards; joined with what earlier ones say.

As information: a matrix Y and a vector y such that the later tests, alone, would put the state at
the x of Y x = y. Nothing is known at the end of the log: Y is zero there, and needs no vast first
variance. Joined with earlier tests' spread S S' it is found from I + S' Y S, whose pivots cannot
be below 1: that is the floor which keeps every variance between nothing and the earlier one.
"""

from collections.abc import Sequence

from engine.demand.spread import Matrix, Spread, Steps, Vector, dot


class LaterTests:
    """Y and y; changed in place, one test and one stretch of time after the other."""

    __slots__ = ("matrix", "vector")

    def __init__(self, size: int) -> None:
        self.matrix: Matrix = [[0.0] * size for _ in range(size)]
        self.vector: Vector = [0.0] * size

    def tell(self, seen: Sequence[int], value: float, variance: float) -> None:
        """Take in a reading of the sum of some states."""
        for place in seen:
            self.vector[place] += value / variance
            for other in seen:
                self.matrix[place][other] += 1.0 / variance

    def back(self, keep: float, span: float, given: float, steps: Steps) -> None:
        """Carry it over the time before a test, to the test before it."""
        if given:
            self.vector = [y - given * row[0] for y, row in zip(self.vector, self.matrix, strict=True)]
        self._doubt(0.0, 1.0, steps.level_variance)
        self._doubt(1.0, steps.slope, steps.rate_variance)
        self.vector = _before(keep, span, self.vector)
        half = [_before(keep, span, row) for row in self.matrix]
        # symmetric: the columns of the half are rows of the whole
        columns = [_before(keep, span, list(column)) for column in zip(*half, strict=True)]
        self.matrix = columns

    def _doubt(self, rate: float, level: float, variance: float) -> None:
        """Allow for one independent random step: `rate` of it of the rate, `level` of the level."""
        if variance <= 0.0:
            return
        along = [level * a + rate * b for a, b in zip(self.matrix[0], self.matrix[1], strict=True)]
        told = level * along[0] + rate * along[1]
        loss = variance / (1.0 + variance * told)
        drift = loss * (level * self.vector[0] + rate * self.vector[1])
        self.vector = [y - a * drift for y, a in zip(self.vector, along, strict=True)]
        self.matrix = [
            [y - a * b for y, b in zip(row, along, strict=True)]
            for row, a in zip(self.matrix, [loss * each for each in along], strict=True)
        ]

    def join(self, mean: Vector, spread: Spread) -> "Joined":
        """Return the state that earlier tests put at `mean` in the light of the later ones, too."""
        return Joined(self, mean, spread)


class Joined:
    """A state in the light of earlier and later tests."""

    def __init__(self, later: LaterTests, mean: Vector, spread: Spread) -> None:
        self._earlier, self._spread, self._later = mean, spread, later
        self._root = spread.root()
        columns = [list(column) for column in zip(*self._root, strict=True)]
        self._columns = columns
        told = [[dot(row, column) for row in later.matrix] for column in columns]  # rows of S'Y
        self._lower = _lower_root(
            [[dot(row, column) for column in columns] for row in told]
        )
        off = [y - dot(row, mean) for y, row in zip(later.vector, later.matrix, strict=True)]
        self._told = told
        # M^-1 S' (y - Y x)
        self._moved = self._solved([dot(column, off) for column in columns])

    @property
    def mean(self) -> Vector:
        """The state."""
        return [m + dot(row, self._moved) for m, row in zip(self._earlier, self._root, strict=True)]

    def variance_of(self, seen: Sequence[int]) -> float:
        """Return the variance of the sum of some states."""
        along = [sum(column) for column in zip(*(self._root[each] for each in seen), strict=True)]
        halves = _forward(self._lower, along)
        return dot(halves, halves)

    @property
    def variance(self) -> Matrix:
        """Variances and covariances."""
        halves = [_forward(self._lower, row) for row in self._root]
        return [[dot(a, b) for b in halves] for a in halves]

    def rate_step(self) -> float:
        """Return how clearly later tests want the rate higher than earlier ones, in deviations.

        r / sqrt(N) with r = (P + Y^-1)^-1 (x_later - x_earlier), found without that difference.
        """
        spreads, rows = self._spread.spreads, self._spread.rows
        if min(spreads[0], spreads[1]) <= 0.0:
            return 0.0
        # S^-1 of the rate's column: U^-1 has only its two first rows there
        first, second = -rows[0][1] / spreads[0] ** 0.5, 1.0 / spreads[1] ** 0.5
        told = self._solved([row[1] for row in self._told])
        known = first * told[0] + second * told[1]
        wanted = first * self._moved[0] + second * self._moved[1]
        return wanted / known**0.5 if known > 0.0 else 0.0

    def _solved(self, vector: Vector) -> Vector:
        return _backward(self._lower, _forward(self._lower, vector))


def _before(keep: float, span: float, vector: Vector) -> Vector:
    level = vector[0]
    return [keep * level, vector[1] - span * level, *vector[2:]]


def _lower_root(matrix: Matrix) -> Matrix:
    """Return the lower triangular root of I + a matrix that is not negative [Cholesky]."""
    root: Matrix = []
    for place, row in enumerate(matrix):
        line: Vector = []
        for column in range(place):
            rest = (row[column] - dot(line, root[column][:column])) / root[column][column]
            line.append(rest)
        line.append(max(1.0, 1.0 + row[place] - dot(line, line)) ** 0.5)
        root.append(line)
    return root


def _forward(lower: Matrix, vector: Sequence[float]) -> Vector:
    found: Vector = []
    for row, value in zip(lower, vector, strict=True):
        found.append((value - dot(row[:-1], found)) / row[-1])
    return found


def _backward(lower: Matrix, vector: Vector) -> Vector:
    found = list(vector)
    for place in range(len(lower) - 1, -1, -1):
        found[place] /= lower[place][place]
        for before in range(place):
            found[before] -= lower[place][before] * found[place]
    return found
