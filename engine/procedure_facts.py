"""Numbers that the guided procedures fill into their sentences and judge amounts by."""

from collections.abc import Sequence
from datetime import datetime
from math import floor, log10
from typing import Final

from engine.alarms import PH_FRESH
from engine.entry import earlier_readings
from engine.records import Record, Setup
from engine.stock import Charge
from engine.units import to_float

# Share of the vessel drawn off to make room for the slurry (common practice, no source).
DRAW_OFF_SHARE: Final = 0.10
_DIGITS: Final = 3


def recharge_facts(
    setup: Setup, charge: Charge | None, standing: Sequence[Record], now: datetime
) -> dict[str, float | str]:
    """Return the facts of the procedure `recharge_vessel`.

    Parameters
    ----------
    setup : Setup
        The set-up that holds.
    charge : Charge or None
        Powder to weigh, from `engine.stock.recharge`; None where it cannot be worked out.
    standing : sequence of Record
        The system's records with amendments applied.
    now : datetime
        The clock, aware.

    Returns
    -------
    dict
        `draw_off_L`, `recharge_powder_g` (three digits, rounded toward less),
        `largest_charge_powder_g` and `last_pH` of the last 24 hours; what is unknown is left out,
        and the procedure then does not start or does not judge by it.
    """
    facts: dict[str, float | str] = {}
    if setup.vessel_L is not None:
        facts["draw_off_L"] = DRAW_OFF_SHARE * setup.vessel_L
    if charge is not None and charge.largest is not None:
        powder_g = _rounded_down(to_float(charge.powder, "g"))
        if powder_g > 0.0:
            facts["recharge_powder_g"] = powder_g
            facts["largest_charge_powder_g"] = to_float(charge.largest, "g")
    recent = [e for e in earlier_readings(standing, "pH_nbs") if now - PH_FRESH <= e.at <= now]
    if recent:
        facts["last_pH"] = recent[-1].value
    return facts


def _rounded_down(value: float) -> float:
    """Return a positive value at three significant digits, rounded toward less."""
    if value <= 0.0:
        return 0.0
    decimals = _DIGITS - 1 - floor(log10(value))
    return round(floor(value * 10.0**decimals + 1e-9) / 10.0**decimals, max(decimals, 0))
