"""Evaporation through the year: an annual harmonic of the log, or the keeper's own months.

Which months are high is measured or asked, never presumed: heated winters and fan-cooled summers
both evaporate most. A change of cover, fans, heating or windows starts the measurement anew.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import cos, pi, sin
from typing import Final

from engine.chemistry.linear import solve_symmetric
from engine.demand.facts import Facts
from engine.demand.inputs import Inputs
from engine.log.timeline import days_between, percentile
from engine.plan.evaporation import (
    HIGH_CLIP,
    LOW_CLIP,
    WINDOW_DAYS,
    Spell,
    last_evaporation_change,
    spells_since,
)
from engine.records import Setup
from engine.units import Span

# Design: the harmonic is drawn once six months exist.
MEASURED_FROM_DAYS: Final = 180.0
YEAR_DAYS: Final = 365.25
_LONGEST_DAYS: Final = 3.0 * YEAR_DAYS
_WEEK_DAYS: Final = 7.0
# How well a keeper knows his months, beside the range that he states (common practice).
OWN_MONTH_ERROR_SHARE: Final = 0.10
# Half a year says little of the other half: the harmonic is drawn towards the mean by as much
# as so many weeks of a swing of this share would weigh (estimate, no source).
_PRIOR_WEEKS: Final = 4.0
_LEAST_L_PER_DAY: Final = 0.001
# Refills further from the named months than this do not scale them further (our choice).
_MOST_SHARE: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonalEvaporation:
    """Evaporation as a curve of the year."""

    source: str  # "measured", "own_months", or "own_months_scaled" to this month's refills
    span_days: float  # of refills behind a measured one
    mean_L_per_day: float
    cosine_L_per_day: float
    sine_L_per_day: float
    below_L_per_day: float  # 10th percentile of the weeks beneath the curve, 0 or less
    above_L_per_day: float

    def at(self, moment: datetime) -> Span:
        """Return the low end, the curve and the high end at a moment, L/day."""
        angle = _angle(moment)
        wave = self.cosine_L_per_day * cos(angle) + self.sine_L_per_day * sin(angle)
        best = max(_LEAST_L_PER_DAY, self.mean_L_per_day + wave)
        low = max(_LEAST_L_PER_DAY, best + self.below_L_per_day)
        return Span(min(low, best), best, best + max(0.0, self.above_L_per_day))


def seasonal_evaporation(
    facts: Facts, setup: Setup, inputs: Inputs, measured: Span | None = None
) -> SeasonalEvaporation | None:
    """Return the year's evaporation, None when neither log nor keeper tells it.

    Parameters
    ----------
    facts, setup, inputs
        The system.
    measured : Span, optional
        What the refills of the last weeks show, L/day: they tell how much the keeper's months are
        worth, the months only when it is more and when less.
    """
    changed = last_evaporation_change(facts)
    since = facts.now - timedelta(days=_LONGEST_DAYS)
    spells = spells_since(facts, setup, inputs, since if changed is None else max(since, changed))
    weeks = _weeks(spells)
    if len(weeks) * _WEEK_DAYS >= MEASURED_FROM_DAYS:
        return _harmonic(weeks)
    own = _own_months(setup)
    if own is None or measured is None:
        return own
    weeks_ago = facts.now - timedelta(days=WINDOW_DAYS / 2.0)
    return _scaled(own, measured.best / own.at(weeks_ago).best)


def _scaled(own: SeasonalEvaporation, share: float) -> SeasonalEvaporation:
    """Return the keeper's months in the size that refills show, within a plausible share."""
    share = min(_MOST_SHARE, max(1.0 / _MOST_SHARE, share))
    return SeasonalEvaporation(
        source="own_months_scaled",
        span_days=own.span_days,
        mean_L_per_day=share * own.mean_L_per_day,
        cosine_L_per_day=share * own.cosine_L_per_day,
        sine_L_per_day=share * own.sine_L_per_day,
        below_L_per_day=share * own.below_L_per_day,
        above_L_per_day=share * own.above_L_per_day,
    )


def _weeks(spells: Sequence[Spell]) -> list[tuple[datetime, float]]:
    """Return the middle and the mean of each whole week of refills, slips of the point cut."""
    if not spells:
        return []
    usual = percentile([spell.rate_L_per_day for spell in spells], 0.5)
    most = HIGH_CLIP * usual
    week = timedelta(days=_WEEK_DAYS)
    weeks: list[tuple[datetime, float]] = []
    start, place = spells[0].start, 0
    while start + week <= spells[-1].end:
        end, used, covered = start + week, 0.0, 0.0
        while place < len(spells) and spells[place].end <= start:
            place += 1
        for spell in spells[place:]:
            if spell.start >= end:
                break
            days = days_between(max(start, spell.start), min(end, spell.end))
            used, covered = used + days * min(spell.rate_L_per_day, most), covered + days
        if covered > _WEEK_DAYS / 2.0:
            weeks.append((start + week / 2, used / covered))
        start = end
    return weeks


def _harmonic(weeks: Sequence[tuple[datetime, float]]) -> SeasonalEvaporation:
    rows = [(1.0, cos(_angle(at)), sin(_angle(at))) for at, _ in weeks]
    values = [value for _, value in weeks]
    matrix = [[sum(row[i] * row[j] for row in rows) for j in range(3)] for i in range(3)]
    matrix[1][1] += _PRIOR_WEEKS
    matrix[2][2] += _PRIOR_WEEKS
    right = [sum(row[i] * v for row, v in zip(rows, values, strict=True)) for i in range(3)]
    a, b, c = solve_symmetric(matrix, right)
    off = [v - (a + b * row[1] + c * row[2]) for row, v in zip(rows, values, strict=True)]
    usual = percentile(values, 0.5)
    careful = [min(o, (LOW_CLIP - 1.0) * usual) for o in off]
    return SeasonalEvaporation(
        source="measured",
        span_days=days_between(weeks[0][0], weeks[-1][0]) + _WEEK_DAYS,
        mean_L_per_day=a,
        cosine_L_per_day=b,
        sine_L_per_day=c,
        below_L_per_day=min(0.0, percentile(careful, 0.1)),
        above_L_per_day=max(0.0, percentile(off, 0.9)),
    )


def _own_months(setup: Setup) -> SeasonalEvaporation | None:
    """Return a wave through the keeper's own months, between the range that he states."""
    low, high = setup.evaporation_low_L_per_day, setup.evaporation_high_L_per_day
    high_month, low_month = setup.evaporation_high_month, setup.evaporation_low_month
    if low is None or (high_month is None and low_month is None):
        return None
    high = max(low, high if high is not None else low)
    mean = (low + high) / 2.0
    error = OWN_MONTH_ERROR_SHARE * mean
    swing = max(0.0, (high - low) / 2.0 - error)  # with its error inside the stated range
    cosine = sine = 0.0
    for month, sign in ((high_month, 1.0), (low_month, -1.0)):
        if month is not None:
            angle = 2.0 * pi * (month - 0.5) / 12.0
            cosine, sine = cosine + sign * cos(angle), sine + sign * sin(angle)
    # Both months stated rarely lie just half a year apart: the wave through their middle.
    size = (cosine**2 + sine**2) ** 0.5 or 1.0
    return SeasonalEvaporation(
        source="own_months",
        span_days=0.0,
        mean_L_per_day=mean,
        cosine_L_per_day=swing * cosine / size,
        sine_L_per_day=swing * sine / size,
        below_L_per_day=-error,
        above_L_per_day=error,
    )


def _angle(moment: datetime) -> float:
    """Return the place in the year as an angle, 0 at New Year."""
    start = moment.replace(month=1, day=1, hour=0, minute=0, second=0, microsecond=0)
    return 2.0 * pi * days_between(start, moment) / YEAR_DAYS
