"""Level and salinity ahead: as set now and by plan."""

from dataclasses import dataclass
from typing import Final

from engine.plan.season_codes import SeasonCode
from engine.plan.water_balance import WaterBalance
from engine.reasons import Code, Reason
from mobile.state.sentences import told
from mobile.state.setup_route import setup_route
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.plan_ahead import TEXTS
from mobile.texts.season import TEXTS as SEASON

# Within so many days a band's end or an overflow is told on Today.
SOON_DAYS: Final = 10.0
_WORTH_MINDING_DAYS: Final = 30.0
_BAD: Final = frozenset(
    {
        SeasonCode.WATER_EXCESS,
        SeasonCode.WATER_OVERFLOW,
        SeasonCode.SALINITY_FALLS_TO,
        SeasonCode.SALINITY_MAY_FALL,
        SeasonCode.SALINITY_RISES_TO,
        SeasonCode.SALINITY_FALLS_PERHAPS,
        SeasonCode.SALINITY_RISES_PERHAPS,
        SeasonCode.SALINITY_OUTSIDE,
    }
)
_SALINITY: Final = frozenset(
    {
        SeasonCode.SALINITY_FALLS_TO,
        SeasonCode.SALINITY_MAY_FALL,
        SeasonCode.SALINITY_RISES_TO,
        SeasonCode.SALINITY_FALLS_PERHAPS,
        SeasonCode.SALINITY_RISES_PERHAPS,
        SeasonCode.SALINITY_OUTSIDE,
    }
)
_ASKS_SALINITY: Final = frozenset(
    {
        SeasonCode.SALINITY_ASSUMED,
        SeasonCode.SALINITY_FALLS_PERHAPS,
        SeasonCode.SALINITY_RISES_PERHAPS,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterView:
    """The page, in the order of reading."""

    as_set: tuple[tuple[Tone, str], ...]
    by_plan: tuple[tuple[Tone, str], ...]
    evaporation_route: str  # where it is asked for; empty while it is known
    room_route: str
    asks_salinity: bool


def summary(snapshot: Snapshot) -> str:
    """Return the first thing that is amiss, or that level and salinity hold."""
    found = snapshot.ahead.water if snapshot.ahead else None
    if not isinstance(found, WaterBalance):
        return ""
    amiss = [reason for reason in found.reasons if reason.code in _BAD]
    return _said(snapshot, (amiss or found.reasons)[0])


def soon(snapshot: Snapshot) -> tuple[str, ...]:
    """Return what level and salinity will do within a week or so, for Today."""
    found = snapshot.ahead.water if snapshot.ahead else None
    if not isinstance(found, WaterBalance):
        return ()
    band = found.days_to_band_end is not None and found.days_to_band_end.best <= SOON_DAYS
    full = found.days_to_overflow is not None and found.days_to_overflow.best <= SOON_DAYS
    return tuple(
        _said(snapshot, reason)
        for reason in found.reasons
        if (band and reason.code in _SALINITY)
        or (full and reason.code == SeasonCode.WATER_OVERFLOW)
    )


def water(snapshot: Snapshot) -> WaterView:
    """Return the page."""
    ahead = snapshot.ahead
    now = ahead.water if ahead else None
    planned = ahead.water_by_plan if ahead else None
    codes = {found.code for found in _reasons(now)}
    return WaterView(
        as_set=_lines(snapshot, now),
        by_plan=_by_plan(snapshot, now, planned),
        evaporation_route=setup_route("evaporation_low_L_per_day")
        if SeasonCode.WATER_UNKNOWN in codes
        else "",
        room_route=setup_route("sump_room_L") if SeasonCode.WATER_ROOM_UNSET in codes else "",
        asks_salinity=bool(codes & _ASKS_SALINITY),
    )


def _by_plan(
    snapshot: Snapshot, now: WaterBalance | Reason | None, planned: WaterBalance | Reason | None
) -> tuple[tuple[Tone, str], ...]:
    """Return what the plan changes, in one sentence where there is no plan or nothing changes."""
    if not isinstance(now, WaterBalance):
        return ()
    if isinstance(planned, Reason):
        return (("note", TEXTS["water_no_plan"]),)
    decision, as_set = snapshot.decision, _lines(snapshot, now)
    kept = decision is not None and decision.change.code is Code.NOTHING_TO_DO
    lines = () if kept else tuple(x for x in _lines(snapshot, planned) if x not in as_set)
    return lines or (("good", TEXTS["water_same"]),)


def _reasons(found: WaterBalance | Reason | None) -> tuple[Reason, ...]:
    if found is None:
        return ()
    return (found,) if isinstance(found, Reason) else found.reasons


def _lines(snapshot: Snapshot, found: WaterBalance | Reason | None) -> tuple[tuple[Tone, str], ...]:
    if found is None:
        return (("note", TEXTS["failed"]),)
    return tuple((_tone(reason), _said(snapshot, reason)) for reason in _reasons(found))


def _tone(reason: Reason) -> Tone:
    if reason.code in _BAD:
        return "warn"
    holds = reason.code in (SeasonCode.WATER_BALANCED, SeasonCode.SALINITY_HOLDS)
    return "good" if holds else "note"


def _said(snapshot: Snapshot, reason: Reason) -> str:
    return told(SEASON, reason.code, reason.numbers, snapshot.alkalinity_unit)
