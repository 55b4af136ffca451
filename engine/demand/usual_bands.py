"""The band that a reading usually lies in; common practice, no source."""

from collections.abc import Mapping
from typing import Final

from engine.plan.water_balance import SALINITY_BAND
from engine.records import Setup

Band = tuple[float, float]

# In the canonical unit of engine/vocabulary.py. Room air has none.
USUAL_BANDS: Final[Mapping[str, Band]] = {
    "calcium": (400.0, 450.0),
    "magnesium": (1280.0, 1380.0),
    "pH_nbs": (7.9, 8.45),
    "salinity": SALINITY_BAND,
    "temperature": (24.5, 26.5),
    "nitrate": (2.0, 15.0),
    "phosphate": (0.03, 0.10),
    "tds": (0.0, 2.0),
}


def band_of(parameter: str, setup: Setup) -> Band | None:
    """Return the keeper's own band of alkalinity, the usual one of others, None where none is.

    Parameters
    ----------
    parameter : str
        A code of `engine.vocabulary.PARAMETERS`.
    setup : Setup
        Holds the band of alkalinity, meq/L.
    """
    if parameter == "total_alkalinity":
        low = setup.band_low_total_alkalinity_meq_per_L
        return low, setup.band_high_total_alkalinity_meq_per_L
    return USUAL_BANDS.get(parameter)
