"""The filter of engine/demand/kalman.py, only its last state: many guesses are weighed by it.

Same model, same arithmetic, written out without matrices: ten times faster, since nothing of the
way there is kept. A property test holds the two together.
"""

from collections.abc import Sequence
from math import log
from typing import NamedTuple

from engine.demand.kalman import (
    CLIPPED_SQUARE,
    DIFFUSE_VARIANCE,
    FIRST_OFFSET,
    Matrix,
    Observation,
    Vector,
)


class Last(NamedTuple):
    """Level and rate after all tests, and how well each test was foretold."""

    mean: tuple[float, float]  # level, rate
    variance: tuple[float, float]
    log_likelihood: float  # as engine.demand.kalman.log_likelihood


class _Offsets:
    """What is known of the sources' offsets, and how it goes with level and rate."""

    def __init__(self, variances: Sequence[float]) -> None:
        count = len(variances)
        self.mean: Vector = [0.0] * count
        self.with_level: Vector = [0.0] * count
        self.with_rate: Vector = [0.0] * count
        self.own: Matrix = [[0.0] * count for _ in range(count)]
        for number, variance in enumerate(variances):
            self.own[number][number] = variance

    def pass_time(self, keep: float, span: float) -> None:
        """Carry what goes with the level over the time between two tests."""
        pairs = zip(self.with_level, self.with_rate, strict=True)
        self.with_level = [keep * level - span * rate for level, rate in pairs]

    def learn(self, source: int, gain: tuple[float, float], spread: float, told: float) -> None:
        """Take in a test: `told` is its innovation over its variance `spread`."""
        own = self.own[source - 1] if source else [0.0] * len(self.mean)
        gains = [a + b for a, b in zip(self.with_level, own, strict=True)]
        shares = [each / spread for each in gains]
        level, rate = gain
        self.mean = [a + g * told for a, g in zip(self.mean, gains, strict=True)]
        self.with_level = [a - level * s for a, s in zip(self.with_level, shares, strict=True)]
        self.with_rate = [a - rate * s for a, s in zip(self.with_rate, shares, strict=True)]
        self.own = [
            [value - each * s for value, s in zip(row, shares, strict=True)]
            for row, each in zip(self.own, gains, strict=True)
        ]


def last_state(
    tests: Sequence[Observation], error_variance: float, offset_variances: Sequence[float] = ()
) -> Last:
    """Return level and rate at the last test, as `run_filter` finds them.

    Parameters
    ----------
    tests : sequence of Observation
        Oldest first, at least one.
    error_variance : float
        Added to the variance of each reading.
    offset_variances : sequence of float
        Prior variance of each source's offset.
    """
    level, rate = tests[0].value, 0.0
    levels, both, rates = DIFFUSE_VARIANCE, 0.0, DIFFUSE_VARIANCE
    offsets = _Offsets(offset_variances) if offset_variances else None
    likelihood, seen = 0.0, 0
    for number, test in enumerate(tests):
        value, variance, source, used, keep, span, given, level_step, both_step, rate_step = test
        if number:
            level = keep * level - span * rate + given
            top, side = keep * levels - span * both, keep * both - span * rates
            levels = keep * top - span * side + level_step
            both, rates = side + both_step, rates + rate_step
            if offsets is not None:
                offsets.pass_time(keep, span)
        if not used:
            continue
        level_gain, rate_gain, innovation = levels, both, value - level
        spread = levels + variance + error_variance
        if source and offsets is not None:
            place = source - 1
            level_gain += offsets.with_level[place]
            rate_gain += offsets.with_rate[place]
            spread += 2.0 * offsets.with_level[place] + offsets.own[place][place]
            innovation -= offsets.mean[place]
        told = innovation / spread
        level, rate = level + level_gain * told, rate + rate_gain * told
        levels -= level_gain * level_gain / spread
        both -= level_gain * rate_gain / spread
        rates -= rate_gain * rate_gain / spread
        if offsets is not None:
            offsets.learn(source, (level_gain, rate_gain), spread, told)
        seen += 1
        if seen > FIRST_OFFSET:
            likelihood -= 0.5 * (log(spread) + min(innovation * told, CLIPPED_SQUARE))
    return Last((level, rate), (levels, rates), likelihood)
