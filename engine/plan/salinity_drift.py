"""What dosing more limewater than evaporates does to salinity, and what evaporation allows."""

from __future__ import annotations

from math import exp

from engine.errors import check_not_negative, check_positive


def evaporation_limited_meq_per_L_per_day(
    *, evaporation_L_per_day: float, volume_L: float, strength_meq_per_L: float
) -> float:
    """Most alkalinity that limewater can bring when it only replaces evaporation, meq/L/d."""
    check_not_negative("evaporation_L_per_day", evaporation_L_per_day, "L/d")
    check_positive("volume_L", volume_L, "L")
    check_not_negative("strength_meq_per_L", strength_meq_per_L, "meq/L")
    return evaporation_L_per_day / volume_L * strength_meq_per_L


def salinity_with_overflow(
    salinity: float, *, excess_L_per_day: float, volume_L: float, days: float
) -> float:
    """Salinity when more limewater than evaporates is dosed and tank water spills over.

    Parameters
    ----------
    salinity : float
        At the start.
    excess_L_per_day : float
        Dose and top-off less evaporation, L/d; what spills over.
    volume_L : float
        Volume, held constant, L.
    days : float
        Time, d.
    """
    check_not_negative("salinity", salinity)
    check_not_negative("excess_L_per_day", excess_L_per_day, "L/d")
    check_positive("volume_L", volume_L, "L")
    check_not_negative("days", days, "d")
    return salinity * exp(-excess_L_per_day * days / volume_L)


def salinity_without_overflow(
    salinity: float, *, excess_L_per_day: float, volume_L: float, days: float
) -> float:
    """Salinity when the excess stays in the tank and its level rises (see the sibling above)."""
    check_not_negative("salinity", salinity)
    check_not_negative("excess_L_per_day", excess_L_per_day, "L/d")
    check_positive("volume_L", volume_L, "L")
    check_not_negative("days", days, "d")
    return salinity * volume_L / (volume_L + excess_L_per_day * days)
