from random import Random

import pytest

from engine.demand.kalman import DIFFUSE_VARIANCE, Observation, change_of_rate, run_filter, smooth


def steady(count: int, rate: float, *, error: float = 0.1, days: float = 2.0) -> list[Observation]:
    return [
        Observation(value=3.0 - rate * days * number, variance=error**2, span=days)
        for number in range(count)
    ]


def random_tests(seed: int, count: int = 20) -> list[Observation]:
    rng = Random(seed)
    return [
        Observation(
            value=3.0 + rng.gauss(0.0, 0.2),
            variance=rng.uniform(0.003, 0.03),
            source=rng.choice((0, 0, 1)),
            used=rng.random() > 0.15,
            keep=rng.choice((1.0, 1.0, 0.8)),
            span=rng.uniform(0.3, 5.0),
            given=rng.uniform(0.0, 1.0),
            level_variance=rng.uniform(0.0, 0.01),
            rate_variance=rng.uniform(0.0, 0.001),
        )
        for _ in range(count)
    ]


def test_straight_line_is_found_exactly():
    last = run_filter(steady(6, 0.15))[-1]
    assert last.mean[1] == pytest.approx(0.15, rel=1e-6)
    assert last.mean[0] == pytest.approx(3.0 - 0.15 * 10.0, rel=1e-6)


def test_error_of_the_rate_is_that_of_least_squares():
    # without any wandering: error / root of the sum of squared distances in time
    last = run_filter(steady(6, 0.15))[-1]
    assert last.variance[1][1] ** 0.5 == pytest.approx(0.1 / 70.0**0.5, rel=1e-4)


def test_nothing_is_known_before_the_tests():
    assert DIFFUSE_VARIANCE**0.5 > 30.0  # of any alkalinity in meq/L and use in meq/L/day


def test_a_test_left_out_is_expected_as_if_it_were_not_there():
    for seed in range(5):
        tests = random_tests(seed)
        smoothed = smooth(tests, run_filter(tests, (0.02,)))
        for number in (4, 10, 19):
            without = list(tests)
            without[number] = tests[number]._replace(used=False)
            alone = smooth(without, run_filter(without, (0.02,)))[number]
            assert smoothed[number].deviation == pytest.approx(alone.deviation, abs=1e-6)
            assert smoothed[number].expected == pytest.approx(alone.expected, abs=1e-6)


def test_smoothed_last_state_is_the_filtered_one():
    tests = random_tests(3)
    states = run_filter(tests, (0.02,))
    assert smooth(tests, states)[-1].mean == pytest.approx(states[-1].mean)


def test_a_step_of_the_rate_shows_where_it_happened():
    tests = steady(8, 0.1)
    stepped = [
        test._replace(value=test.value - 0.2 * max(0, number - 5) * 2.0)
        for number, test in enumerate(tests)
    ]
    smoothed = smooth(stepped, run_filter(stepped))
    evidence = [state.rate_step for state in smoothed[2:-2]]
    assert max(evidence) == smoothed[5].rate_step > 3.0


def test_change_of_the_rate_between_two_tests():
    tests = [test._replace(rate_variance=1e-3) for test in steady(12, 0.1, error=0.01)]
    bent = [
        test._replace(value=test.value - 0.05 * max(0, number - 5) * 2.0)
        for number, test in enumerate(tests)
    ]
    change, variance = change_of_rate(bent, run_filter(bent), 3)
    assert change == pytest.approx(0.05, abs=0.005)
    assert 0.0 < variance < 0.05**2


def test_another_source_has_an_offset_of_its_own():
    # the second bottle reads 0.3 higher: a step of readings, not of use
    tests = [
        test._replace(source=int(number >= 6), value=test.value + (0.3 if number >= 6 else 0.0))
        for number, test in enumerate(steady(12, 0.15))
    ]
    last = run_filter(tests, (0.1,))[-1]
    assert last.mean[1] == pytest.approx(0.15, abs=0.01)
    assert last.mean[2] == pytest.approx(0.3, abs=0.1)
