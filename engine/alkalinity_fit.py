"""A weighted straight line through alkalinity tests, every recorded input taken out."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from engine.facts import Sample
from engine.inputs import Inputs
from engine.records import Setup
from engine.timeline import days_between
from engine.vocabulary import PARAMETERS

ALKALINITY: Final = "total_alkalinity"
TEST_ERROR_MEQ_PER_L: Final = PARAMETERS[ALKALINITY].test_error
Z90: Final = 1.645  # two-sided 90 % quantile of the normal distribution
# An older test counts half for each of these: demand drifts (common practice, no source).
HALF_LIFE_DAYS: Final = 10.0
LEVEL_HALF_LIFE_DAYS: Final = 2.0  # the level follows faster than the demand
# The scatter of so many tests says something about their error.
_ENOUGH_FOR_SCATTER: Final = 5
# Two-sided 90 % quantile of Student's t by degrees of freedom; between two, the smaller's.
_T90: Final = ((3, 2.353), (4, 2.132), (5, 2.015), (6, 1.943), (8, 1.860), (12, 1.782), (20, 1.725))


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """The line; errors are half-widths of 90 % intervals, alkalinity in meq/L, time in days."""

    slope: float
    slope_error: float
    level: float  # at the last test
    level_error: float
    mean_lime_meq_per_day: float
    mean_input_meq_per_day: float
    count: int
    span_days: float


def fit_line(samples: Sequence[Sample], setup: Setup, inputs: Inputs) -> Fit:
    """Return the line through at least two tests of different times, oldest first.

    The error of the slope is the larger of what tests are known to scatter and, with five or
    more, what these did scatter.
    """
    start = samples[0].at
    lime = [inputs.lime_meq(start, s.at) for s in samples]
    other = [inputs.second_meq(start, s.at) + inputs.added_meq(start, s.at) for s in samples]
    changed = _water_change_steps(samples, setup, inputs)
    days = [days_between(start, s.at) for s in samples]
    given = [(a + b) / setup.net_volume_L + c for a, b, c in zip(lime, other, changed, strict=True)]
    values = [s.value - g for s, g in zip(samples, given, strict=True)]
    weights = [0.5 ** ((days[-1] - day) / HALF_LIFE_DAYS) / TEST_ERROR_MEQ_PER_L**2 for day in days]
    slope, centre_day, centre, spread = _weighted_line(days, values, weights)
    scale = _error_scale(days, values, weights, (slope, centre_day, centre))
    slope_error = scale * spread**-0.5
    level, level_error = _level(days, values, slope, slope_error)
    return Fit(
        slope=slope,
        slope_error=slope_error,
        level=level + given[-1],
        level_error=level_error,
        mean_lime_meq_per_day=lime[-1] / days[-1],
        mean_input_meq_per_day=(lime[-1] + other[-1]) / days[-1],
        count=len(samples),
        span_days=days[-1],
    )


def _level(
    days: Sequence[float], values: Sequence[float], slope: float, slope_error: float
) -> tuple[float, float]:
    """Return the value at the last test and its error, mostly from the newest tests."""
    lags = [days[-1] - day for day in days]
    weights = [0.5 ** (lag / LEVEL_HALF_LIFE_DAYS) for lag in lags]
    total = sum(weights)
    rows = list(zip(weights, values, lags, strict=True))
    level = sum(w * (value + slope * lag) for w, value, lag in rows) / total
    mean_lag = sum(w * lag for w, _, lag in rows) / total
    squares = sum(w * (value + slope * lag - level) ** 2 for w, value, lag in rows)
    deviation = max(TEST_ERROR_MEQ_PER_L, (squares / total) ** 0.5)
    test_error = Z90 * deviation * sum(w * w for w in weights) ** 0.5 / total
    return level, (test_error**2 + (slope_error * mean_lag) ** 2) ** 0.5


def _weighted_line(
    days: Sequence[float], values: Sequence[float], weights: Sequence[float]
) -> tuple[float, float, float, float]:
    """Return slope, mean day, mean value and the weighted spread of the days."""
    total = sum(weights)
    day = sum(w * x for w, x in zip(weights, days, strict=True)) / total
    value = sum(w * y for w, y in zip(weights, values, strict=True)) / total
    rows = list(zip(weights, days, values, strict=True))
    spread = sum(w * (x - day) ** 2 for w, x, _ in rows)
    slope = sum(w * (x - day) * (y - value) for w, x, y in rows) / spread
    return slope, day, value, spread


def _error_scale(
    days: Sequence[float],
    values: Sequence[float],
    weights: Sequence[float],
    line: tuple[float, float, float],
) -> float:
    """Return the quantile, times the scatter of the tests where that is more than expected."""
    freedom = len(days) - 2
    if len(days) < _ENOUGH_FOR_SCATTER:
        return Z90
    slope, day, value = line
    rows = zip(weights, days, values, strict=True)
    squares = sum(w * (y - value - slope * (x - day)) ** 2 for w, x, y in rows)
    student = next(t for dof, t in reversed(_T90) if dof <= freedom)
    return max(Z90, student * (squares / freedom) ** 0.5)


def _water_change_steps(samples: Sequence[Sample], setup: Setup, inputs: Inputs) -> list[float]:
    """Return for each test how much the water changes since the first moved alkalinity, meq/L."""
    steps = [
        (change.at, _step_meq_per_L(change.volume_L, change.new_total_alkalinity_meq_per_L, before))
        for change in inputs.water_changes(samples[0].at, samples[-1].at)
        for before in [_before(samples, change.at)]
    ]
    share = 1.0 / setup.net_volume_L
    return [sum(step * share for at, step in steps if at <= sample.at) for sample in samples]


def _step_meq_per_L(volume_L: float, new_meq_per_L: float | None, before_meq_per_L: float) -> float:
    # Unknown new water is taken as like the tank's; the reason says so.
    return 0.0 if new_meq_per_L is None else volume_L * (new_meq_per_L - before_meq_per_L)


def _before(samples: Sequence[Sample], moment: datetime) -> float:
    return [sample.value for sample in samples if sample.at < moment][-1]
