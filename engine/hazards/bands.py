"""How bad it is: severity bands for animals, and what precipitation the water is near.

Animals come first. Their bands are common practice, no source [TRADE]; every limit is taken as
reached at the figure itself. What precipitates is anchored on [MOR22], [RIN24] and [COMP26].
An aragonite saturation of 5 to 7 is a well-fed tank and alarms nobody.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from engine.carbonate import PRECIPITATION_PH_NBS
from engine.errors import check_finite, check_not_negative
from engine.vocabulary import MEQ_PER_DKH


class Band(StrEnum):
    """What the animals face, mildest first."""

    BELOW = "below"
    STOP_LIME = "stop_lime"
    ACT_NOW = "act_now"
    EMERGENCY = "emergency"
    EXPECT_LOSSES = "expect_losses"


class Precipitation(StrEnum):
    """What the water is near, mildest first."""

    NORMAL = "normal"
    WATCH = "watch"
    WITHIN_HOURS = "within_hours"
    CLOUDING = "clouding"
    BRUCITE = "brucite"
    BULK = "bulk"


@dataclass(frozen=True, slots=True, kw_only=True)
class BandLimit:
    """Where a band begins; it is reached by pH or by the rise of alkalinity within a day."""

    band: Band
    pH_nbs: float
    rise_meq_per_L: float | None
    source: str


BAND_LIMITS: Final = (
    BandLimit(band=Band.STOP_LIME, pH_nbs=8.6, rise_meq_per_L=None, source="TRADE"),
    BandLimit(band=Band.ACT_NOW, pH_nbs=8.8, rise_meq_per_L=1.5 * MEQ_PER_DKH, source="TRADE"),
    BandLimit(band=Band.EMERGENCY, pH_nbs=9.0, rise_meq_per_L=3.0 * MEQ_PER_DKH, source="TRADE"),
    BandLimit(
        band=Band.EXPECT_LOSSES, pH_nbs=PRECIPITATION_PH_NBS, rise_meq_per_L=None, source="TRADE"
    ),
)
LIMIT_OF: Final = {limit.band: limit for limit in BAND_LIMITS}
# The band that livestock feels; Today warns while one fault can reach it.
LIVESTOCK_BAND: Final = Band.ACT_NOW

# Aragonite saturation: no precipitation at about 5, runaway above 7 on added particles [MOR22];
# pseudo-homogeneous limit about 12.3 (from memory, as cited there); our proposal between.
WATCH_OMEGA: Final = 7.0
WITHIN_HOURS_OMEGA: Final = 10.0
CLOUDING_OMEGA: Final = 12.3
CLOUDING_PH_NBS: Final = 9.0
# Bulk precipitation is documented above pH 10.0 with a saturation above 30 [RIN24].
BULK_PH_NBS: Final = 10.0
BULK_OMEGA: Final = 30.0

_BANDS: Final = tuple(Band)


def rank(band: Band) -> int:
    """Return how severe a band is, 0 (nothing) to 4."""
    return _BANDS.index(band)


def band_of(pH_nbs: float, rise_meq_per_L: float) -> Band:
    """Return the band of a water.

    Parameters
    ----------
    pH_nbs : float
        pH on the NBS scale, finite.
    rise_meq_per_L : float
        Alkalinity that lime brought within a day, meq per litre of tank, at least 0.
    """
    check_finite("pH_nbs", pH_nbs)
    check_not_negative("rise_meq_per_L", rise_meq_per_L, "meq/L")
    reached = Band.BELOW
    for limit in BAND_LIMITS:
        by_rise = limit.rise_meq_per_L is not None and rise_meq_per_L >= limit.rise_meq_per_L
        if pH_nbs >= limit.pH_nbs or by_rise:
            reached = limit.band
    return reached


def precipitation_of(pH_nbs: float, omega_aragonite: float) -> Precipitation:
    """Return what a water is near at one moment; never an alarm by itself below pH 9.

    A saturation above 7 is WATCH: a healthy bright afternoon has it. Animals' bands go by pH and by
    the rise of alkalinity alone, so no saturation alarms by itself.
    """
    check_finite("pH_nbs", pH_nbs)
    check_not_negative("omega_aragonite", omega_aragonite)
    if pH_nbs > BULK_PH_NBS and omega_aragonite > BULK_OMEGA:
        return Precipitation.BULK
    if pH_nbs > PRECIPITATION_PH_NBS:
        return Precipitation.BRUCITE
    if pH_nbs > CLOUDING_PH_NBS or omega_aragonite > CLOUDING_OMEGA:
        return Precipitation.CLOUDING
    if omega_aragonite > WITHIN_HOURS_OMEGA:
        return Precipitation.WITHIN_HOURS
    return Precipitation.WATCH if omega_aragonite > WATCH_OMEGA else Precipitation.NORMAL
