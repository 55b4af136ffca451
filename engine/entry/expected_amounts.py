"""What amount is expected at entry: outside these bounds the app asks, it never refuses.

A slip of the point (130 L for 13) would otherwise move evaporation, and with it the cap of every
dose. All factors are common practice, no source.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from math import inf
from statistics import median
from typing import Final

from engine.demand.facts import THROUGH_VESSEL
from engine.log.reading import newest
from engine.log.timeline import days_between
from engine.plan.second_source import in_own_units
from engine.records import Record, Refill, SecondSourceSetting, Setup
from engine.stock.charge import largest_charge_g, lime_container_powder_g
from engine.vocabulary import MEQ_PER_DKH

RUN_SHARE: Final = (0.5, 1.3)  # of what the pump's setting promises
AGAIN_SHARE: Final = (0.9, 1.1)  # of the run before: more apart is air or a worn tube
REFILL_SHARE: Final = (0.6, 1.4)  # of what the mean of the last week makes of the days since
MIX_SHARE: Final = 1.1  # of what saturates the container, its reserve included
# Shorter spells between two refills are dominated by how well the mark was met.
SHORTEST_SPELL: Final = timedelta(days=0.9)
# A second source: of what was set last, of the effluent in Setup, and what a heavy tank takes.
AGAIN_AT_MOST: Final = 2.0
EFFLUENT_SHARE: Final = (0.6, 1.6)
HEAVY_MEQ_PER_L_PER_DAY: Final = 5.0 * MEQ_PER_DKH
_WEEK: Final = timedelta(days=7)
_FEWEST_REFILLS: Final = 3
_USUAL_SPAN: Final = timedelta(days=30)


def expected_amount(
    field_key: str,
    *,
    standing: Sequence[Record],
    setup: Setup,
    now: datetime,
    beside: float | None = None,
) -> tuple[float, float] | None:
    """Return the bounds of an amount that needs no question, in the field's own unit.

    Parameters
    ----------
    field_key : str
        "kind.field" of a number in `engine.records`.
    standing : sequence of Record
        The system's records with amendments applied.
    setup : Setup
        The set-up in force.
    now : datetime
        The moment of the entry, aware.
    beside : float, optional
        The number that it is compared with, such as what a pump run was to give.
    """
    if field_key == "refill.volume_L":
        return _refill(standing, setup, now)
    if field_key == "water_change.volume_L":
        return 0.0, setup.net_volume_L
    if field_key == "recharge.powder_g":
        return _charge(setup)
    if field_key.startswith("pump_check.") and beside is not None:
        return _run(field_key, beside)
    highest = setup.evaporation_high_L_per_day
    if field_key == "delivery_setting.limewater_L_per_day" and highest is not None:
        return 0.0, highest
    return _second_source(field_key, standing, setup, now)


def _second_source(
    field_key: str, standing: Sequence[Record], setup: Setup, now: datetime
) -> tuple[float, float] | None:
    """Return up to what a heavy tank takes in a day, or twice what was set last, in its unit.

    An effluent is held against the one in Setup.
    """
    if not field_key.startswith("second_source_setting."):
        return None
    effluent = setup.reactor_effluent_meq_per_L
    if field_key == "second_source_setting.effluent_meq_per_L":
        low, high = EFFLUENT_SHARE
        return None if effluent is None else (low * effluent, high * effluent)
    most_meq = HEAVY_MEQ_PER_L_PER_DAY * setup.net_volume_L
    last = newest(standing, SecondSourceSetting, now)
    if last is not None and last.alkalinity_meq_per_day > 0.0:
        most_meq = min(most_meq, AGAIN_AT_MOST * last.alkalinity_meq_per_day)
    if field_key == "second_source_setting.alkalinity_meq_per_day":
        return 0.0, most_meq
    own = in_own_units(most_meq, setup, setup.target_total_alkalinity_meq_per_L)
    return (0.0, own.value) if field_key == f"second_source_setting.{own.field}" else None


def _run(field_key: str, beside: float) -> tuple[float, float] | None:
    """Return a run's bounds beside the number typed before it: the setting, or another run."""
    if field_key == "pump_check.expected_mL":
        return None
    again = field_key in ("pump_check.run_2_mL", "pump_check.run_3_mL")
    low, high = AGAIN_SHARE if again else RUN_SHARE
    return low * beside, high * beside


def _charge(setup: Setup) -> tuple[float, float] | None:
    """Return the powder up to the vessel's largest charge, or what saturates the container."""
    if setup.vessel_L is not None and setup.delivery in THROUGH_VESSEL:
        return 0.0, largest_charge_g(setup.vessel_L)
    if setup.lime_container_L is None:
        return None
    most_g = lime_container_powder_g(
        setup.lime_container_L,
        temperature_degC=setup.lime_temperature_degC,
        assay=setup.powder_assay,
    )
    return 0.0, MIX_SHARE * most_g


def _refill(standing: Sequence[Record], setup: Setup, now: datetime) -> tuple[float, float] | None:
    """Return the container's volume at most, and about what the days since the last one used."""
    known = [c for c in (setup.fresh_water_container_L, setup.lime_container_L) if c is not None]
    container = max(known, default=inf)
    usual = _used_since_last(standing, now) or _usual_refill(standing, now)
    if usual is None:
        return None if container == inf else (0.0, container)
    low, high = (share * used for share, used in zip(REFILL_SHARE, usual, strict=True))
    return min(low, container), min(high, container)


def _usual_refill(standing: Sequence[Record], now: datetime) -> tuple[float, float] | None:
    """Return the smallest and largest recent refill, L; None with too few of them."""
    recent = [
        record.volume_L
        for record in standing
        if isinstance(record, Refill) and record.to_mark and now - record.at <= _USUAL_SPAN
    ]
    return (min(recent), max(recent)) if len(recent) >= _FEWEST_REFILLS else None


def _used_since_last(standing: Sequence[Record], now: datetime) -> tuple[float, float] | None:
    """Return the litres used since the last refill at the mean of the week before it, twice, L.

    The week reaches back over whole spells between two refills to the mark; the median of the
    spells keeps out an earlier slip. None where it is too short to tell.
    """
    refills = [r for r in standing if isinstance(r, Refill) and r.at < now]
    marks = [r.at for r in refills if r.to_mark and now - r.at <= _USUAL_SPAN]
    spells = [(a, b) for a, b in pairwise(marks) if b - a >= SHORTEST_SPELL]
    recent = [(a, b) for a, b in spells if marks[-1] - b < _WEEK]
    since = now - marks[-1] if marks else timedelta(0)
    if not recent or marks[-1] - recent[0][0] < _WEEK or since < SHORTEST_SPELL:
        return None
    rates = [
        sum(r.volume_L for r in refills if a < r.at <= b) / days_between(a, b) for a, b in recent
    ]
    put_in = sum(r.volume_L for r in refills if r.at > marks[-1])
    used = max(0.0, median(rates) * days_between(marks[-1], now) - put_in)
    return used, used
