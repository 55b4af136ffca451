"""The filter and smoother against statsmodels, the same model on random series.

With a prior of the order of the readings: a diffuse one costs statsmodels the digits compared here.
"""

from random import Random

import numpy as np
import pytest

from engine.demand.kalman import Observation, change_of_rate, run_filter, smooth
from tests.published.reference_programs import load

KalmanSmoother = load("statsmodels.tsa.statespace.kalman_smoother").KalmanSmoother
PRIOR_VARIANCE = 4.0
OFFSETS = (0.01, 0.02)
STATES = 2 + len(OFFSETS)


@pytest.fixture(autouse=True)
def prior(monkeypatch):
    monkeypatch.setattr("engine.demand.kalman.DIFFUSE_VARIANCE", PRIOR_VARIANCE)


def series(seed: int) -> list[Observation]:
    rng = Random(seed)
    tests = []
    for _ in range(rng.randint(3, 40)):
        days, wander = rng.uniform(0.1, 6.0), rng.uniform(1e-6, 1e-3)
        tests.append(
            Observation(
                value=3.0 + rng.gauss(0.0, 0.2),
                variance=rng.uniform(0.002, 0.04),
                source=rng.choice((0, 0, 1, 2)),
                used=rng.random() > 0.1,
                keep=rng.choice((1.0, 1.0, 0.75)),
                span=days,
                given=rng.uniform(0.0, 1.0),
                level_variance=wander * days**3 / 3.0 + 1e-4 * days,
                covariance=-wander * days**2 / 2.0,
                rate_variance=wander * days,
            )
        )
    return tests


def reference(tests: list[Observation]):
    count = len(tests)
    model = KalmanSmoother(1, STATES, STATES)
    model.bind(np.array([[t.value if t.used else np.nan for t in tests]]))
    transition = np.repeat(np.eye(STATES)[:, :, None], count, axis=2)
    noise = np.zeros((STATES, STATES, count))
    design, error = np.zeros((1, STATES, count)), np.zeros((1, 1, count))
    given = np.zeros((STATES, count))
    for number, test in enumerate(tests):
        design[0, 0, number] = 1.0
        if test.source:
            design[0, 1 + test.source, number] = 1.0
        error[0, 0, number] = test.variance
        if number + 1 < count:
            after = tests[number + 1]
            transition[0, 0, number], transition[0, 1, number] = after.keep, -after.span
            given[0, number] = after.given
            noise[0, 0, number], noise[1, 1, number] = after.level_variance, after.rate_variance
            noise[0, 1, number] = noise[1, 0, number] = after.covariance
    model["transition"], model["state_cov"], model["design"] = transition, noise, design
    model["obs_cov"], model["state_intercept"], model["selection"] = error, given, np.eye(STATES)
    start = np.zeros(STATES)
    start[0] = tests[0].value
    model.initialize_known(start, np.diag([PRIOR_VARIANCE, PRIOR_VARIANCE, *OFFSETS]))
    return model.smooth()


@pytest.mark.parametrize("seed", range(40))
def test_filter_and_smoother_agree_with_statsmodels(seed):
    tests = series(seed)
    states = run_filter(tests, OFFSETS)
    smoothed = smooth(tests, states)
    expected = reference(tests)
    for number, (state, after) in enumerate(zip(states, smoothed, strict=True)):
        assert state.mean == pytest.approx(expected.filtered_state[:, number], abs=1e-6)
        assert after.mean == pytest.approx(expected.smoothed_state[:, number], abs=1e-6)
        for row in range(STATES):
            assert state.variance[row] == pytest.approx(
                expected.filtered_state_cov[row, :, number], abs=1e-6
            )
            assert after.variance[row] == pytest.approx(
                expected.smoothed_state_cov[row, :, number], abs=1e-6
            )


@pytest.mark.parametrize("seed", range(10))
def test_change_of_the_rate_is_that_of_the_joint_distribution(seed):
    """The covariance of two moments, from statsmodels' smoother on a state that remembers."""
    tests = [t._replace(source=0, used=True) for t in series(seed)]
    since, count = len(tests) // 2, len(tests)
    change, variance = change_of_rate(tests, run_filter(tests), since)
    # brute force: the posterior of all rates at once
    first = np.zeros(2)
    first[0] = tests[0].value
    means, blocks = [first], [np.diag([PRIOR_VARIANCE] * 2)]
    moves = []
    for test in tests[1:]:
        move = np.array([[test.keep, -test.span], [0.0, 1.0]])
        noise = np.array(
            [[test.level_variance, test.covariance], [test.covariance, test.rate_variance]]
        )
        moves.append(move)
        means.append(move @ means[-1] + np.array([test.given, 0.0]))
        blocks.append(move @ blocks[-1] @ move.T + noise)
    joint = np.zeros((2 * count, 2 * count))
    for row in range(count):
        block = blocks[row]
        for column in range(row, count):
            if column > row:
                block = moves[column - 1] @ block
            joint[2 * column : 2 * column + 2, 2 * row : 2 * row + 2] = block
            joint[2 * row : 2 * row + 2, 2 * column : 2 * column + 2] = block.T
    seen = np.zeros((count, 2 * count))
    seen[range(count), range(0, 2 * count, 2)] = 1.0
    total = seen @ joint @ seen.T + np.diag([t.variance for t in tests])
    gain = np.linalg.solve(total, seen @ joint).T
    after = joint - gain @ seen @ joint
    mean = np.concatenate(means) + gain @ (
        np.array([t.value for t in tests]) - seen @ np.concatenate(means)
    )
    old, new = 2 * since + 1, 2 * count - 1
    assert change == pytest.approx(mean[new] - mean[old], abs=1e-6)
    spread = after[new, new] + after[old, old] - 2.0 * after[new, old]
    assert variance == pytest.approx(spread, abs=1e-6)
