"""How long until a falling value passes a threshold."""

from typing import Final

from engine.units import Span

# Nothing is said about a time further off.
HORIZON_DAYS: Final = 30.0


def days_until(level: Span, threshold: float, fall_per_day: Span) -> Span:
    """Return the days until a level passes a threshold, at most 30.

    Parameters
    ----------
    level : Span
        Where it stands, in the threshold's unit.
    threshold : float
        What it must not fall below.
    fall_per_day : Span
        Its fall a day; 0 or less never gets there.
    """
    return Span(
        _days(level.low - threshold, fall_per_day.high),
        _days(level.best - threshold, fall_per_day.best),
        _days(level.high - threshold, fall_per_day.low),
    )


def _days(gap: float, fall_per_day: float) -> float:
    if gap <= 0.0:
        return 0.0
    if gap >= HORIZON_DAYS * fall_per_day:
        return HORIZON_DAYS
    return gap / fall_per_day
