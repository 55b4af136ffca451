"""The filter of engine/demand/kalman.py, only its last state: many guesses are weighed by it.

Same model, same factors. Where all tests are of one source it is written out without matrices: ten
times faster, since nothing of the way there is kept. A property test holds the two together.
"""

from collections.abc import Sequence
from math import log
from typing import NamedTuple

from engine.demand.kalman import (
    CLIPPED_SQUARE,
    DIFFUSE_VARIANCE,
    FIRST_OFFSET,
    LEVEL,
    RATE,
    Observation,
)
from engine.demand.spread import Spread, steps_of
from engine.errors import check_finite, check_variance


class Last(NamedTuple):
    """Level and rate after all tests, and how well each test was foretold."""

    mean: tuple[float, float]  # level, rate
    variance: tuple[float, float]
    log_likelihood: float  # as engine.demand.kalman.log_likelihood


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

    Raises
    ------
    InvalidQuantity
        A variance that must be positive is not, or a number is not finite.
    """
    check_variance("variance", error_variance + min(test.variance for test in tests))
    last = (
        _of_sources(tests, error_variance, offset_variances)
        if offset_variances
        else _of_one_source(tests, error_variance)
    )
    check_finite("level", last.mean[LEVEL])
    check_finite("rate", last.mean[RATE])
    check_variance("level_variance", last.variance[LEVEL])
    check_variance("rate_variance", last.variance[RATE])
    return last


def _of_one_source(tests: Sequence[Observation], error_variance: float) -> Last:
    """As `engine.demand.spread` has it: level = e + share * rate, e and rate independent."""
    level, rate = tests[0].value, 0.0
    levels, share, rates = DIFFUSE_VARIANCE, 0.0, DIFFUSE_VARIANCE
    likelihood, seen = 0.0, 0
    for number, test in enumerate(tests):
        value, variance, _, used, keep, span, given, level_step, both_step, rate_step = test
        if number:
            level = keep * level - span * rate + given
            share = keep * share - span
            levels *= keep * keep
            if rate_step > 0.0:
                slope = both_step / rate_step
                total, apart = rates + rate_step, share - slope
                levels += apart * apart * rates * rate_step / total
                share = (share * rates + both_step) / total
                level_step -= slope * both_step
                rates = total
            if level_step > 0.0:
                levels += level_step
        if not used:
            continue
        noise = variance + error_variance
        with_level = noise + levels
        rate_gain = share * rates
        spread = with_level + share * rate_gain
        innovation = value - level
        told = innovation / spread
        level += (levels + share * rate_gain) * told
        rate += rate_gain * told
        rates *= with_level / spread
        remaining = noise / with_level
        levels, share = levels * remaining, share * remaining
        seen += 1
        if seen > FIRST_OFFSET:
            likelihood -= 0.5 * (log(spread) + min(innovation * told, CLIPPED_SQUARE))
    return Last((level, rate), (levels + share * share * rates, rates), likelihood)


def _of_sources(
    tests: Sequence[Observation], error_variance: float, offset_variances: Sequence[float]
) -> Last:
    mean = [tests[0].value, 0.0, *[0.0] * len(offset_variances)]
    spread = Spread.independent([DIFFUSE_VARIANCE, DIFFUSE_VARIANCE, *offset_variances])
    likelihood, count = 0.0, 0
    for number, test in enumerate(tests):
        if number:
            mean[LEVEL] = test.keep * mean[LEVEL] - test.span * mean[RATE] + test.given
            steps = steps_of(test.level_variance, test.covariance, test.rate_variance)
            spread.pass_time(test.keep, test.span, steps)
        if not test.used:
            continue
        place = FIRST_OFFSET + test.source - 1
        seen = (LEVEL, place) if test.source else (LEVEL,)
        gain, total = spread.tell(seen, test.variance + error_variance)
        innovation = test.value - sum(mean[each] for each in seen)
        told = innovation / total
        mean = [m + g * told for m, g in zip(mean, gain, strict=True)]
        count += 1
        if count > FIRST_OFFSET:
            likelihood -= 0.5 * (log(total) + min(innovation * told, CLIPPED_SQUARE))
    variances = (spread.variance_of(spread.rows[LEVEL]), spread.variance_of(spread.rows[RATE]))
    return Last((mean[LEVEL], mean[RATE]), variances, likelihood)
