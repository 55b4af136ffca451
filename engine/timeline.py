"""Values that change at known moments: steps that hold, or points with lines between."""

from collections.abc import Callable, Iterable, Sequence
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
        held = None
        for start, value in self.points:
            if start > moment:
                break
            held = value
        return held


@dataclass(frozen=True, slots=True)
class Line:
    """Points joined by straight lines, level outside; two points at one moment are a jump."""

    points: tuple[tuple[datetime, float], ...]

    def at(self, moment: datetime) -> float:
        """Return the value at a moment; at a jump, the value after it."""
        before = [point for point in self.points if point[0] <= moment]
        if not before:
            return self.points[0][1]
        start, low = before[-1]
        if len(before) == len(self.points):
            return low
        end, high = self.points[len(before)]
        return low + (high - low) * days_between(start, moment) / days_between(start, end)


def integrate(
    rate_per_day: Callable[[datetime], float],
    start: datetime,
    end: datetime,
    breaks: Iterable[datetime],
) -> float:
    """Return the integral over days of a rate that is smooth between the breaks.

    Two Gauss points in each piece: exact for the products of straight lines that occur here, and
    never evaluated at a break, where the rate may jump.
    """
    corners = sorted({start, *(moment for moment in breaks if start < moment < end), end})
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
