"""What more fresh water than evaporates does to salinity: the one place where it is worked out.

The volume is held by an overflow or the keeper: dS/dt = -S (D - E) / V (chemistry: water balance
with constant level).
"""

from math import log
from typing import NamedTuple

from engine.demand.facts import THROUGH_TOP_OFF, Facts
from engine.errors import check_positive
from engine.records import Setup
from engine.seawater import USUAL_SALINITY
from engine.units import Span


class Salinity(NamedTuple):
    """Salinity to reckon with, PSU."""

    value: float
    is_recorded: bool  # False: the usual one


def salinity_now(facts: Facts) -> Salinity:
    """Return the last salinity on record, or the usual one."""
    sample = facts.last_sample("salinity")
    return Salinity(USUAL_SALINITY, False) if sample is None else Salinity(sample.value, True)


def excess_L_per_day(
    setup: Setup, *, lime_L_per_day: float, two_part_L_per_day: float, evaporation: Span
) -> Span:
    """Return the fresh water that comes in beyond what evaporates, L/day, 0 or more.

    A top-off gives what evaporates; only what comes beside it can be too much.
    """
    lime_L = 0.0 if setup.delivery in THROUGH_TOP_OFF else lime_L_per_day
    low, best, high = evaporation
    return Span(*(max(0.0, lime_L + two_part_L_per_day - each) for each in (high, best, low)))


def dilution_PSU_per_day(salinity: float, leaving_L_per_day: float, volume_L: float) -> float:
    """Return the change of salinity, 0 or below, while fresh water replaces tank water.

    Parameters
    ----------
    salinity : float
        Of the tank, PSU.
    leaving_L_per_day : float
        Tank water that leaves with its salt, 0 or more.
    volume_L : float
        Net volume, above 0.
    """
    return 0.0 - salinity * leaving_L_per_day / volume_L


def dilution_days(start_PSU: float, end_PSU: float, share_per_day: float) -> float:
    """Return the days until salinity fell from start to end: S(t) = S0 exp(-share t).

    Parameters
    ----------
    start_PSU, end_PSU : float
        Salinities, above 0; an end above the start gives less than 0 days.
    share_per_day : float
        Of the volume that fresh water replaces in a day, above 0.
    """
    check_positive("start_PSU", start_PSU, "PSU")
    check_positive("end_PSU", end_PSU, "PSU")
    check_positive("share_per_day", share_per_day, "1/d")
    return log(start_PSU / end_PSU) / share_per_day
