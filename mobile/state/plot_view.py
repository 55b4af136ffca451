"""What a plot shows, as plain values: curves, bands, ticks and the sentence that says it all."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite, log10
from typing import Final, Literal

Look = Literal["line", "dashed", "step", "dots"]
Role = Literal["main", "other", "quiet", "good", "warn", "danger"]
Point = tuple[float, float]
Tick = tuple[float, str]

_NICE: Final = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One line or row of dots; its look tells it apart where colours cannot be told."""

    name: str
    points: tuple[Point, ...]  # in order of x
    look: Look = "line"
    role: Role = "main"


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A level band over the whole width, such as a target band."""

    name: str
    low: float
    high: float
    role: Role = "good"
    depth: int = 2  # 1 to 4: how strongly it is filled, so that neighbours differ without colour


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotView:
    """A plot in the order of reading: its sentence, its axes, what is drawn."""

    says: str  # what the plot shows, in words: it stands above, and screen readers get it
    y_label: str
    x_label: str
    y_ticks: tuple[Tick, ...]  # their ends are the ends of the plot
    x_ticks: tuple[Tick, ...]
    curves: tuple[Curve, ...]
    areas: tuple[Area, ...] = ()


def ticks(
    values: Sequence[float], said: Callable[[float], str], *, about: int = 5
) -> tuple[Tick, ...]:
    """Return round ticks that enclose the values.

    Parameters
    ----------
    values : sequence of float
        What is to be seen; those that are not finite are left out.
    said : callable
        Writes one tick as people read it.
    about : int
        How many ticks are wanted, 2 or more.

    Returns
    -------
    tuple of (float, str)
        At least two ticks, lowest first; values 0 and 1 where there is nothing to enclose.
    """
    finite = [value for value in values if isfinite(value)]
    low, high = (min(finite), max(finite)) if finite else (0.0, 1.0)
    step = _step((high - low) / max(about - 1, 1)) if high > low else _step(abs(low) / 10.0 or 1.0)
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    last = max(last, first + 1)
    return tuple((place * step, said(place * step)) for place in range(first, last + 1))


def _step(least: float) -> float:
    """Return the smallest round number that is not below `least`."""
    scale = 10.0 ** floor(log10(least))
    return next(nice * scale for nice in _NICE if nice * scale >= least * (1.0 - 1e-9))


def thinned(points: Sequence[Point], most: int = 240) -> tuple[Point, ...]:
    """Return at most about so many of the points, the first, the last and all turning extremes.

    A plot of 390 px shows no more. Of each stretch the lowest and the highest point are kept, so
    that no peak is lost.
    """
    if len(points) <= most:
        return tuple(points)
    size = ceil(2 * len(points) / most)
    kept = {0, len(points) - 1}
    for start in range(0, len(points), size):
        stretch = range(start, min(start + size, len(points)))
        kept.add(min(stretch, key=lambda place: points[place][1]))
        kept.add(max(stretch, key=lambda place: points[place][1]))
    return tuple(points[place] for place in sorted(kept))
