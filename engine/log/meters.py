"""Meters known to be off: the newest check of each, until it is calibrated or checked again."""

from collections.abc import Iterable, Mapping
from typing import Final

from engine.records import Meter, MeterCheck, Record, SupplyItem, SupplyStock

# From here on a meter counts as off: pH, then shares (common practice, no source). 2 % of the
# conductivity of seawater is about 0.7 PSU.
PROBE_OFF_PH: Final = 0.1
OFF_SHARE: Final[Mapping[Meter, float]] = {Meter.CONDUCTIVITY: 0.02, Meter.ALKALINITY_KIT: 0.05}


def is_off(check: MeterCheck) -> bool:
    """Tell whether a check found its meter off by more than it may be."""
    if check.meter is Meter.PH_PROBE:
        return check.off_pH is not None and abs(check.off_pH) >= PROBE_OFF_PH - 1e-9
    bound = OFF_SHARE[check.meter] - 1e-9
    return check.off_share is not None and abs(check.off_share) >= bound


def drifted(records: Iterable[Record]) -> dict[Meter, MeterCheck]:
    """Return the check of each meter that is known to be off.

    Parameters
    ----------
    records : iterable of Record
        Standing records of one system, oldest first. A newer check replaces an older one; a new
        alkalinity kit bought since makes its check void.
    """
    newest: dict[Meter, MeterCheck] = {}
    for record in records:
        if isinstance(record, MeterCheck):
            newest[record.meter] = record
        elif isinstance(record, SupplyStock) and _is_new_kit(record):
            newest.pop(Meter.ALKALINITY_KIT, None)
    return {meter: check for meter, check in newest.items() if is_off(check)}


def _is_new_kit(record: SupplyStock) -> bool:
    return record.item is SupplyItem.ALKALINITY_KIT and not record.counted
