"""The filter in factors against the textbook's own formulas in 120 digits, on any series.

Sixteen digits are not enough for P - K H P after a first variance of 1e3; 120 are.
"""

from decimal import Decimal, localcontext
from random import Random

import pytest

from engine.demand.kalman import (
    DIFFUSE_VARIANCE,
    LEVEL,
    RATE,
    Observation,
    change_of_rate,
    run_filter,
    smooth,
)
from engine.demand.kalman_last import last_state
from tests.engine.test_wild_tests import wild_tests

OFFSETS = (0.005, 0.01)
DIGITS = 120
Exact = list[list[Decimal]]


def course(tests: list[Observation], offsets: tuple[float, ...]):
    """Return mean and covariance of all states at once, level and rate of every test.

    One long state that remembers each test: smoothed values fall out of the last one.
    """
    with localcontext() as context:
        context.prec = DIGITS
        count, size = len(tests), 2 + len(offsets)
        mean = [Decimal(tests[0].value), Decimal(0), *[Decimal(0)] * len(offsets)]
        spread = [[Decimal(0)] * size for _ in range(size)]
        for place, value in enumerate((DIFFUSE_VARIANCE, DIFFUSE_VARIANCE, *offsets)):
            spread[place][place] = Decimal(value)
        kept: list[int] = []  # places of the remembered level and rate
        for number, test in enumerate(tests):
            if number:
                remember(mean, spread)
                kept += [len(mean) - 2, len(mean) - 1]
                move(mean, spread, test)
            if test.used:
                read(mean, spread, test)
        places = [*kept, LEVEL, RATE]
        assert len(places) == 2 * count
        return mean, spread, places


def remember(mean: list[Decimal], spread: Exact) -> None:
    for place in (LEVEL, RATE):
        mean.append(mean[place])
        for row in spread:
            row.append(row[place])
        spread.append(list(spread[place]))


def move(mean: list[Decimal], spread: Exact, test: Observation) -> None:
    keep, span = Decimal(test.keep), Decimal(test.span)
    mean[LEVEL] = keep * mean[LEVEL] - span * mean[RATE] + Decimal(test.given)
    spread[LEVEL] = [keep * a - span * b for a, b in zip(spread[LEVEL], spread[RATE], strict=True)]
    for row in spread:
        row[LEVEL] = keep * row[LEVEL] - span * row[RATE]
    rate = Decimal(test.rate_variance)
    spread[LEVEL][LEVEL] += Decimal(test.level_variance)
    spread[LEVEL][RATE] += Decimal(test.covariance)
    spread[RATE][LEVEL] += Decimal(test.covariance)
    spread[RATE][RATE] += rate


def read(mean: list[Decimal], spread: Exact, test: Observation) -> None:
    seen = [LEVEL, 1 + test.source] if test.source else [LEVEL]
    gain = [sum((row[place] for place in seen), Decimal(0)) for row in spread]
    total = sum((gain[place] for place in seen), Decimal(test.variance))
    share = (Decimal(test.value) - sum((mean[place] for place in seen), Decimal(0))) / total
    for place, each in enumerate(gain):
        mean[place] += each * share
    for row, each in zip(spread, gain, strict=True):
        for column, other in enumerate(gain):
            row[column] -= each * other / total


def close(found: float, exact: Decimal, scale: Decimal) -> bool:
    return abs(Decimal(found) - exact) <= Decimal("1e-6") * scale


@pytest.mark.parametrize("offsets", [(), OFFSETS])
@pytest.mark.parametrize("seed", range(60))
def test_filter_and_smoother_are_those_of_exact_arithmetic(seed, offsets):
    tests = wild_tests(seed)
    if not offsets:
        tests = [test._replace(source=0) for test in tests]
    states = run_filter(tests, offsets)
    mean, spread, places = course(tests, offsets)
    last = last_state(tests, 0.0, offsets)
    with localcontext() as context:
        context.prec = DIGITS
        for number, smoothed in enumerate(smooth(tests, states)):
            for place in (LEVEL, RATE):
                at = places[2 * number + place]
                variance = spread[at][at]
                assert close(smoothed.variance[place][place], variance, variance)
                assert close(smoothed.mean[place], mean[at], variance.sqrt() + abs(mean[at]))
        for place in (LEVEL, RATE):
            variance = spread[place][place]
            for found in (states[-1].variance[place][place], last.variance[place]):
                assert close(found, variance, variance)
            for value in (states[-1].mean[place], last.mean[place]):
                assert close(value, mean[place], variance.sqrt() + abs(mean[place]))
        check_change(tests, states, (mean, spread, places))


def check_change(tests, states, exact) -> None:
    mean, spread, places = exact
    since = Random(len(tests)).randrange(len(tests))
    then, now = places[2 * since + RATE], RATE
    variance = spread[now][now] + spread[then][then] - 2 * spread[now][then]
    change, found = change_of_rate(tests, states, since)
    scale = spread[now][now] + spread[then][then]
    assert found >= 0.0
    assert close(found, variance, variance + Decimal("1e-9") * scale)
    assert close(change, mean[now] - mean[then], scale.sqrt() + abs(mean[then]))


@pytest.mark.parametrize("offsets", [(), OFFSETS])
@pytest.mark.parametrize("seed", range(60))
def test_a_test_is_seen_in_the_light_of_the_others(seed, offsets):
    tests = wild_tests(seed)
    if not offsets:
        tests = [test._replace(source=0) for test in tests]
    number = Random(seed).randrange(len(tests))
    found = smooth(tests, run_filter(tests, offsets))[number]
    without = list(tests)
    without[number] = tests[number]._replace(used=False)
    # the level at a test is the reading without its own offset
    test = tests[number]
    if test.source:
        without = [t._replace(source=0) for t in without]
        found = smooth(without, run_filter(without, offsets))[number]
    mean, spread, places = course(without, offsets)
    at = places[2 * number + LEVEL]
    with localcontext() as context:
        context.prec = DIGITS
        variance = spread[at][at] + Decimal(test.variance)
        assert close(found.expected_variance, variance, variance)
        assert close(found.expected, mean[at], variance.sqrt() + abs(mean[at]))
        off = (Decimal(test.value) - mean[at]) / variance.sqrt()
        assert close(found.deviation, off, 1 + abs(off))
