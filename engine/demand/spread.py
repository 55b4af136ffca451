"""How unsure a state is: a covariance in factors that cannot turn negative.

P = U D U' with U upper triangular, ones on its diagonal, and D diagonal [B77]. Time and readings
change D by products and sums of what is not negative, so that every variance is a sum of squares
whatever the numbers are; nothing that nearly cancels is ever subtracted. The level is the first
state and the rate of use the second one.
"""

from collections.abc import Sequence
from operator import add, mul
from typing import NamedTuple

Vector = list[float]
Matrix = list[Vector]


class Told(NamedTuple):
    """What one reading does: `gain` times the innovation over `variance` moves the mean."""

    gain: Vector
    variance: float  # of the innovation


class Steps(NamedTuple):
    """Random steps of level and rate between two tests, taken apart into independent ones.

    The rate steps by r and the level by `slope` * r and a step of its own.
    """

    slope: float
    level_variance: float
    rate_variance: float


def steps_of(level_variance: float, covariance: float, rate_variance: float) -> Steps:
    """Return random steps taken apart; what rounding leaves below zero is none."""
    slope = covariance / rate_variance if rate_variance > 0.0 else 0.0
    return Steps(slope, max(0.0, level_variance - slope * covariance), rate_variance)


def merged(
    a: float, spread: float, slope: float, rate_variance: float
) -> tuple[float, float, float]:
    """Return how level goes with rate after a step of the rate.

    Level is a * e + slope * r, the rate e + r, of variances `spread` and `rate_variance`: the new
    rate's variance, the level's share in it and the variance of what is left of the level.
    """
    total = spread + rate_variance
    if total <= 0.0:
        return 0.0, a, 0.0
    share = (a * spread + slope * rate_variance) / total
    return total, share, (a - slope) ** 2 * spread * rate_variance / total


class Spread:
    """The factors; changed in place, see `copy`."""

    __slots__ = ("rows", "spreads")

    def __init__(self, rows: Matrix, spreads: Vector) -> None:
        self.rows = rows  # U
        self.spreads = spreads  # D

    @classmethod
    def independent(cls, variances: Sequence[float]) -> "Spread":
        """Return that of states that know nothing of each other."""
        size = range(len(variances))
        return cls([[float(row == column) for column in size] for row in size], list(variances))

    def copy(self) -> "Spread":
        """Return one that does not change with this one."""
        return Spread([list(row) for row in self.rows], list(self.spreads))

    def pass_time(self, keep: float, span: float, steps: Steps) -> None:
        """Carry it over the time between two tests: level' = keep * level - span * rate."""
        rows, spreads = self.rows, self.spreads
        top = [keep * a - span * b for a, b in zip(rows[0], rows[1], strict=True)]
        slope, level_variance, rate_variance = steps
        spreads[1], share, rest = merged(top[1], spreads[1], slope, rate_variance)
        spreads[0] = keep * keep * spreads[0] + level_variance + rest
        top[0], top[1] = 1.0, share
        rows[0] = top

    def tell(self, seen: Sequence[int], variance: float) -> Told:
        """Take in a reading of the sum of some states with an error of `variance`, above 0."""
        rows, spreads = self.rows, self.spreads
        total = variance
        gain: Vector = []
        for place, told in enumerate(self.along(seen)):
            shared, before = told * spreads[place], total
            total += told * shared
            spreads[place] *= before / total
            share = told / before
            for row, each in enumerate(gain):
                old = rows[row][place]
                rows[row][place] = old - share * each
                gain[row] = each + shared * old
            gain.append(shared)
        return Told(gain, total)

    def along(self, seen: Sequence[int]) -> Vector:
        """Return how the sum of some states is made of the independent parts."""
        if len(seen) == 1:
            return self.rows[seen[0]]
        level, other = seen
        return list(map(add, self.rows[level], self.rows[other]))

    def foretold(self, seen: Sequence[int]) -> Vector:
        """Return how a reading's sum goes with each state."""
        scaled = list(map(mul, self.along(seen), self.spreads))
        return [dot(row, scaled) for row in self.rows]

    def variance_of(self, made_of: Sequence[float]) -> float:
        """Return the variance of something made of the independent parts."""
        return sum(a * a * d for a, d in zip(made_of, self.spreads, strict=True))

    def remembering_the_rate(self) -> "Spread":
        """Return it with the rate of now as one more state, after the rate."""
        level, rate = self.rows[0], self.rows[1]
        rows = [
            [level[0], 0.0, *level[1:]],
            [0.0, 1.0, *rate[1:]],
            *([row[0], 0.0, *row[1:]] for row in self.rows[1:]),
        ]
        return Spread(rows, [self.spreads[0], 0.0, *self.spreads[1:]])

    def matrix(self) -> Matrix:
        """Return the covariances."""
        return [self.foretold((place,)) for place in range(len(self.rows))]

    def root(self) -> Matrix:
        """Return a matrix whose product with its own transpose is the covariances."""
        roots = [value**0.5 for value in self.spreads]
        return [list(map(mul, row, roots)) for row in self.rows]


def dot(a: Sequence[float], b: Sequence[float]) -> float:
    """Return the sum of products."""
    return sum(map(mul, a, b))
