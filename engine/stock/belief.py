"""How sure the powder balance is: a fixed grid over what was charged and what was dosed.

No chance enters. A check of the output says whether any powder was left at that moment; points
of the grid that it contradicts lose their weight, so that the interval narrows.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from typing import Final

from engine.units import Span

_NODES: Final = 25
# A check misleads in about one case of so many: a stuck bar, a milky sample (estimate, no source).
MISLED_SHARE: Final = 0.04
_LOW, _HIGH = 0.05, 0.95


@dataclass(frozen=True, slots=True)
class Check:
    """A strength check since the recharge: what was dosed by then, and whether it was weak."""

    dosed_g: float
    weak: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """Weighed points: usable powder of the charge (g), true dose as a share of the reckoned."""

    points: tuple[tuple[float, float, float], ...]  # weight, usable g, share
    checked: bool

    def span(self, value: Callable[[float, float], float]) -> Span:
        """Return the 90 % interval and the median of a value of (usable g, share)."""
        weighed = sorted((value(usable, share), weight) for weight, usable, share in self.points)
        return Span(*(_quantile(weighed, part) for part in (_LOW, 0.5, _HIGH)))


def belief(
    usable_g: Span, usable_sd_g: tuple[float, float], dose_sd_share: float, checks: Sequence[Check]
) -> Belief:
    """Return the belief about a charge.

    Parameters
    ----------
    usable_g : Span
        Only `best` is used: the middle.
    usable_sd_g : tuple of float
        Standard deviation below and above the middle.
    dose_sd_share : float
        Standard deviation of the true dose as a share of the reckoned one.
    checks : sequence of Check
        Strength checks since the recharge.
    """
    below, above = usable_sd_g
    points: list[tuple[float, float, float]] = []
    for z in _nodes():
        usable = max(0.0, usable_g.best + z * (below if z < 0.0 else above))
        for y in _nodes():
            share = max(0.05, 1.0 + y * dose_sd_share)
            points.append((_likelihood(usable, share, checks), usable, share))
    return Belief(points=tuple(points), checked=bool(checks))


def _likelihood(usable_g: float, share: float, checks: Sequence[Check]) -> float:
    weight = 1.0
    for check in checks:
        is_spent = usable_g <= check.dosed_g * share
        weight *= 1.0 - MISLED_SHARE if is_spent == check.weak else MISLED_SHARE
    return weight


@cache
def _nodes() -> tuple[float, ...]:
    normal = NormalDist()
    return tuple(normal.inv_cdf((place + 0.5) / _NODES) for place in range(_NODES))


def _quantile(weighed: Sequence[tuple[float, float]], part: float) -> float:
    wanted = part * sum(weight for _, weight in weighed)
    reached = 0.0
    for value, weight in weighed:
        reached += weight
        if reached >= wanted:
            return value
    return weighed[-1][0]
