"""Values that change at known moments: steps that hold, or points with lines between."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final

DAY_S: Final = 86_400.0
_GAUSS_POINT: Final = 3.0**-0.5


def days_between(start: datetime, end: datetime) -> float:
    """Return the days from one moment to another, negative when the second comes first."""
    return (end - start).total_seconds() / DAY_S


@dataclass(frozen=True, slots=True)
class Steps:
    """A value that holds from each moment until the next; nothing is known before the first."""

    points: tuple[tuple[datetime, float], ...]

    @property
    def known_from(self) -> datetime | None:
        """Return the first moment that has a value."""
        return self.points[0][0] if self.points else None

    def at(self, moment: datetime) -> float | None:
        """Return the value that holds at a moment, None before the first."""
        place = bisect_right(self.points, moment, key=_moment)
        return self.points[place - 1][1] if place else None


@dataclass(frozen=True, slots=True)
class Line:
    """Points joined by straight lines, level outside; two points at one moment are a jump."""

    points: tuple[tuple[datetime, float], ...]

    def at(self, moment: datetime) -> float:
        """Return the value at a moment; at a jump, the value after it."""
        place = bisect_right(self.points, moment, key=_moment)
        if not place:
            return self.points[0][1]
        start, low = self.points[place - 1]
        if place == len(self.points):
            return low
        end, high = self.points[place]
        return low + (high - low) * days_between(start, moment) / days_between(start, end)


def _moment(point: tuple[datetime, float]) -> datetime:
    return point[0]


def integrate(
    rate_per_day: Callable[[datetime], float],
    start: datetime,
    end: datetime,
    breaks: Sequence[datetime],
) -> float:
    """Return the integral over days of a rate that is smooth between the breaks, oldest first.

    Two Gauss points in each piece: exact for the products of straight lines that occur here, and
    never evaluated at a break, where the rate may jump.
    """
    if start >= end:
        return 0.0
    inside = breaks[bisect_right(breaks, start) : bisect_left(breaks, end)]
    corners = [start, *inside, end]
    total = 0.0
    for left, right in pairwise(corners):
        middle, half = left + (right - left) / 2, (right - left) / 2 * _GAUSS_POINT
        pair = rate_per_day(middle - half) + rate_per_day(middle + half)
        total += pair / 2.0 * days_between(left, right)
    return total


def percentile(values: Sequence[float], share: float) -> float:
    """Return a percentile of at least one value, linear between the ranks."""
    ranked = sorted(values)
    position = share * (len(ranked) - 1)
    below = int(position)
    above = min(below + 1, len(ranked) - 1)
    return ranked[below] + (ranked[above] - ranked[below]) * (position - below)
