"""Wild tests, minutes to weeks apart, of a keeper who states a tiny error: numbers hold."""

from math import isfinite
from random import Random

import pytest

from engine.demand.answer import Demand
from engine.demand.kalman import Observation, run_filter, smooth
from engine.demand.kalman_last import last_state
from engine.errors import InvalidQuantity
from engine.records import Delivery
from tests.support.keeper_log import KeeperLog, dkh

LOGS = 250


def top_off_log(error_meq_per_L: float, pump_L_per_day: float) -> KeeperLog:
    log = KeeperLog().setup(
        delivery=Delivery.TOP_OFF_VESSEL, alkalinity_test_error_meq_per_L=error_meq_per_L
    )
    return log.pump(60.0, pump_L_per_day)


def test_a_typo_and_a_tiny_test_error_do_not_lock_the_app():
    """Hole 1 of the attack: the variance of demand fell below zero, its root was complex."""
    for pump in (0.5, 1.0, 2.0, 5.0):
        log = top_off_log(0.02, pump)
        for days_ago, meq_per_L in ((31.0, 7.0), (15.0, 3.25), (14.5, 3.39), (0.5, 3.58)):
            log.read(days_ago, total_alkalinity=meq_per_L)
        check(log)


def test_logs_of_that_shape_all_get_an_answer():
    for seed in range(LOGS):
        rng = Random(seed)
        log = top_off_log(dkh(0.1), 5.0)
        days_ago = rng.uniform(20.0, 80.0)
        while days_ago > 0.2:
            log.test(days_ago, rng.uniform(2.5, 12.0))
            gaps = (rng.uniform(0.003, 0.1), rng.uniform(0.1, 1.0), rng.uniform(1.0, 20.0))
            days_ago -= rng.choice(gaps)
        check(log)


def check(log: KeeperLog) -> None:
    decision = log.decide()
    for found in (decision.demand, decision.alkalinity):
        assert found is not None
    if isinstance(decision.demand, Demand):
        for span in (decision.demand.per_litre_meq, decision.demand.level):
            assert all(isinstance(value, float) and isfinite(value) for value in span)
            assert span.low < span.best < span.high
        assert all(isfinite(value) for value in decision.demand.innovations)


def wild_tests(seed: int) -> list[Observation]:
    rng = Random(seed)
    tests: list[Observation] = []
    for _ in range(rng.randint(2, 12)):
        days = 10.0 ** rng.uniform(-3.5, 2.0)
        wander = 10.0 ** rng.uniform(-9.0, -2.0)
        tests.append(
            Observation(
                value=rng.uniform(0.2, 14.0),
                variance=10.0 ** rng.uniform(-6.0, -1.0),
                source=rng.choice((0, 0, 1, 2)),
                used=rng.random() > 0.15,
                keep=rng.choice((1.0, 1.0, 0.7, 0.0)),
                span=days,
                given=rng.uniform(0.0, 3.0),
                level_variance=wander * days**3 / 3.0 + rng.choice((0.0, 1e-5)) * days,
                covariance=-wander * days**2 / 2.0,
                rate_variance=wander * days,
            )
        )
    return tests


@pytest.mark.parametrize("offsets", [(), (0.005, 0.01)])
def test_every_variance_is_positive_whatever_the_tests(offsets):
    for seed in range(400):
        tests = wild_tests(seed)
        if not offsets:
            tests = [test._replace(source=0) for test in tests]
        states = run_filter(tests, offsets)
        for state, smoothed in zip(states, smooth(tests, states), strict=True):
            assert state.innovation_variance > 0.0
            assert smoothed.expected_variance > 0.0
            for variance, before in ((state.variance, None), (smoothed.variance, state.variance)):
                for place in range(len(state.mean)):
                    assert 0.0 < variance[place][place] < 1e7
                    if before is not None:  # later tests never make it less sure
                        assert variance[place][place] <= before[place][place] * (1.0 + 1e-9)
        assert min(last_state(tests, 1e-6, offsets).variance) > 0.0


def test_what_is_no_variance_is_refused_with_a_code_never_a_complex_number():
    for broken in (float("nan"), float("inf"), -1.0):
        tests = wild_tests(1)
        tests[1] = tests[1]._replace(variance=broken, used=True)
        with pytest.raises(InvalidQuantity):
            run_filter(tests, (0.005, 0.01))
        with pytest.raises(InvalidQuantity):
            last_state([test._replace(source=0) for test in tests], 0.0)
