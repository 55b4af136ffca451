"""How much lime this tank forgives: litres and grams that stay below a band.

`guaranteed` is below the band at the bad end of everything: smallest volume, strongest lime,
either end of alkalinity, the probe's error, a bright day closed to the air. `middle` is the even
chance. Both are by pH and by the rise of alkalinity.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10
from typing import TYPE_CHECKING, Final

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.hazards.bands import LIMIT_OF, Band
from engine.hazards.course import DAYLIGHT_MMOL_PER_L, Lime
from engine.hazards.lifted_bed import bed_is_unknown, lifted_g, lifts_bed
from engine.units import Span

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.hazards.bands import BandLimit
    from engine.hazards.equipment import Equipment
    from engine.hazards.start import Start

MINUTES_PER_H: Final = 60.0
_WHOLE_MINUTES: Final = 120.0  # hours are shown from here on
_HALVINGS: Final = 40
_TOLERANCE_SHARE: Final = 1e-4
# Nobody builds a vessel to forgive more than the tank itself holds.
_LARGEST_SHARE: Final = 1.0
_LEAST_SHARE: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeSize:
    """The largest amount that stays below a band; 0 where not even none would."""

    band: Band
    guaranteed: float
    middle: float


def rounded_down(value: float) -> float:
    """Return a recommended amount with two digits, never more than what was found."""
    if value <= 0.0:
        return 0.0
    step = 10.0 ** (floor(log10(value)) - 1)
    rounded = floor(value / step) * step
    return rounded if rounded <= value else rounded - step


def cut_off_h(equipment: Equipment, litres: float) -> float | None:
    """Return the longest run of the lime pump that brings no more, h: whole minutes, toward less.

    None without a pump's rate; 0 where not even a minute is forgiven.
    """
    rate = equipment.rate_L_per_h
    if rate is None:
        return None
    minutes = litres / rate.high * MINUTES_PER_H
    return (
        floor(minutes) / MINUTES_PER_H
        if minutes < _WHOLE_MINUTES
        else (rounded_down(minutes / MINUTES_PER_H))
    )


def clear_litres(start: Start, equipment: Equipment, band: Band) -> SafeSize:
    """Return the clear limewater that can come at once without reaching a band, L."""
    strength = equipment.strength_meq_per_L

    def bad(litres: float) -> list[Lime]:
        return _bad(start, litres=litres, strength_meq_per_L=strength.high)

    def middle(litres: float) -> list[Lime]:
        return _middle(start, litres=litres, strength_meq_per_L=strength.best)

    largest = start.middle.volume_L * _LARGEST_SHARE
    return SafeSize(
        band=band,
        guaranteed=rounded_down(_largest(bad, band, largest)),
        middle=_largest(middle, band, largest),
    )


def source_litres(
    start: Start, equipment: Equipment, band: Band, *, siphoned: bool
) -> SafeSize | None:
    """Return the limewater that can come through this set-up without reaching a band, L.

    Where the flow lifts the bed of a vessel, the powder that so much limewater carries out comes
    along. None where powder may come along and nobody knows how much.

    Parameters
    ----------
    start, equipment
        As `engine.hazards.hazard.assess` finds them.
    band : Band
        That must not be reached.
    siphoned : bool
        All of it may come by a siphon, whose flow nobody knows, and not by the pump alone.
    """
    if bed_is_unknown(equipment, siphoned=siphoned):
        return None
    if not lifts_bed(equipment, siphoned=siphoned):
        return clear_litres(start, equipment, band)
    strength = equipment.strength_meq_per_L

    def powder(litres: float) -> Span:
        return lifted_g(equipment, Span(litres, litres, litres), siphoned=siphoned)

    def bad(litres: float) -> list[Lime]:
        return _bad(
            start,
            litres=litres,
            strength_meq_per_L=strength.high,
            suspended_g=powder(litres).high,
        )

    def middle(litres: float) -> list[Lime]:
        return _middle(
            start,
            litres=litres,
            strength_meq_per_L=strength.best,
            suspended_g=powder(litres).best,
        )

    largest = start.middle.volume_L * _LARGEST_SHARE
    return SafeSize(
        band=band,
        guaranteed=rounded_down(_largest(bad, band, largest)),
        middle=_largest(middle, band, largest),
    )


def bed_grams(
    start: Start, equipment: Equipment, band: Band, litres: float, *, share: float = 1.0
) -> SafeSize:
    """Return the pure calcium hydroxide that may lie where so much limewater comes from, g.

    It is what a new charge may weigh: an old bed lies there already, and at the bad end all of it
    counts as lime.

    Parameters
    ----------
    start, equipment, band
        As for `source_litres`.
    litres : float
        Limewater that comes with it, L.
    share : float
        Of the powder that comes along, above 0: 1 in a tip-over.
    """
    strength = equipment.strength_meq_per_L

    def bad(grams: float) -> list[Lime]:
        carried = share * grams
        return _bad(start, litres=litres, strength_meq_per_L=strength.high, suspended_g=carried)

    def middle(grams: float) -> list[Lime]:
        carried = share * grams
        return _middle(start, litres=litres, strength_meq_per_L=strength.best, suspended_g=carried)

    largest = start.middle.volume_L * strength.high / MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    return SafeSize(
        band=band,
        guaranteed=rounded_down(_largest(bad, band, largest) - equipment.old_bed_g),
        middle=_largest(middle, band, largest),
    )


def stays_below(limes: Sequence[Lime], band: Band) -> bool:
    """Tell whether every end stays below a band until nothing gets worse any more."""
    limit = LIMIT_OF[band]
    return all(_below(lime, limit) for lime in limes)


def _below(lime: Lime, limit: BandLimit) -> bool:
    rise = lime.brought_meq_per_L(lime.ends_h)
    if limit.rise_meq_per_L is not None and rise >= limit.rise_meq_per_L:
        return False
    return lime.pH_nbs_at(lime.horizon_h) < limit.pH_nbs


def _bad(start: Start, **lime: float) -> list[Lime]:
    return [
        Lime(water=water, rate_L_per_h=None, daylight_mmol_per_L=DAYLIGHT_MMOL_PER_L, **lime)
        for water in start.bad
    ]


def _middle(start: Start, **lime: float) -> list[Lime]:
    return [Lime(water=start.middle, rate_L_per_h=None, **lime)]


def _largest(limes: Callable[[float], list[Lime]], band: Band, largest: float) -> float:
    """Return the largest amount that stays below, found from below: it is below itself."""
    if stays_below(limes(largest), band):
        return largest
    low, high = 0.0, largest
    if not stays_below(limes(low), band):
        return 0.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if stays_below(limes(middle), band):
            low = middle
        else:
            high = middle
        if high - low <= max(_TOLERANCE_SHARE * low, _LEAST_SHARE * largest):
            break
    return low
