"""The quick filter of the many guesses ends where the whole filter does, on any series."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.demand.kalman import LEVEL, RATE, Observation, log_likelihood, run_filter
from engine.demand.kalman_last import last_state

PRIOR_VARIANCE = 4.0


def between(low: float, high: float):
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def observations(draw, sources: int) -> Observation:
    """Draw one test: gaps of minutes to months, water changes, inputs, tests left out."""
    days = draw(st.one_of(between(0.01, 8.0), between(8.0, 90.0)))
    wander = draw(between(0.0, 1e-2))
    return Observation(
        value=draw(between(0.3, 12.0)),
        variance=draw(between(0.0, 0.2)),
        source=draw(st.integers(0, sources)),
        used=draw(st.integers(0, 9)) > 0,
        keep=draw(st.sampled_from((1.0, 1.0, 0.9, 0.4, 0.0))),
        span=days * draw(between(0.3, 1.0)),
        given=draw(between(-1.0, 20.0)),
        level_variance=wander * days**3 / 3.0 + draw(between(1e-6, 0.3)) * days,
        covariance=-wander * days**2 / 2.0,
        rate_variance=wander * days,
    )


@st.composite
def series(draw) -> tuple[list[Observation], float, tuple[float, ...]]:
    """Draw tests, the error of a reading beside their own, and the sources' variances."""
    sources = draw(st.integers(0, 3))
    tests = draw(st.lists(observations(sources), min_size=1, max_size=40))
    return tests, draw(between(1e-3, 0.3)), tuple(draw(between(1e-4, 0.1)) for _ in range(sources))


def agree(drawn, relative: float) -> None:
    tests, error_variance, offsets = drawn
    quick = last_state(tests, error_variance, offsets)
    noisy = [test._replace(variance=test.variance + error_variance) for test in tests]
    states = run_filter(noisy, offsets)
    whole = states[-1]
    for place in (LEVEL, RATE):
        variance = whole.variance[place][place]
        assert quick.variance[place] == pytest.approx(variance, rel=relative)
        scale = max(abs(whole.mean[place]), variance**0.5)
        assert quick.mean[place] == pytest.approx(whole.mean[place], abs=relative * scale)
    likelihood = log_likelihood(noisy, states)
    assert quick.log_likelihood == pytest.approx(likelihood, rel=relative, abs=relative)


@given(series())
@settings(max_examples=300, deadline=None)
def test_last_state_is_that_of_the_whole_filter(drawn):
    """With a prior of the order of the readings: a vast one costs both the digits compared."""
    with pytest.MonkeyPatch.context() as patch:
        for module in ("kalman", "kalman_last"):
            patch.setattr(f"engine.demand.{module}.DIFFUSE_VARIANCE", PRIOR_VARIANCE)
        agree(drawn, 1e-9)


@given(series())
@settings(max_examples=300, deadline=None)
def test_last_state_is_that_of_the_whole_filter_when_nothing_is_known_at_first(drawn):
    # over months the first variance is some 1e7 of what is left: 16 digits leave so many
    agree(drawn, 1e-5)
