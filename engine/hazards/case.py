"""One accident in one system, and how it is said: the middle, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

from engine.hazards.bands import BAND_LIMITS, Band, rank
from engine.hazards.codes import HazardCode, Kind, hazard_reason

if TYPE_CHECKING:
    from engine.hazards.course import Lime
    from engine.hazards.point import HazardPoint
    from engine.reasons import Reason

SALINITY_WORTH_SAYING: Final = 0.2  # the keeper's meter shows no less


class Times(NamedTuple):
    """Hours since the start at the bad, the middle and the mild end; None for never."""

    earliest_h: float | None
    middle_h: float | None
    latest_h: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BandTime:
    """When a band is reached: by its pH, and by its pH or its rise of alkalinity."""

    band: Band
    pH_nbs: float
    by_pH: Times
    by_any: Times


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardCase:
    """One accident in this system, closed to the air."""

    kind: Kind
    middle: Lime
    good: Lime
    bad: tuple[Lime, ...]  # one for each end of the alkalinity
    worst_good: HazardPoint
    worst_middle: HazardPoint
    worst_bad: HazardPoint
    times: tuple[BandTime, ...]  # mildest band first
    reasons: tuple[Reason, ...]  # what happens, then what it rests on

    @property
    def band_middle(self) -> Band:
        """The band that the middle ends in."""
        return self.worst_middle.band

    @property
    def band_bad(self) -> Band:
        """The band that the bad end ends in: any of its waters, by pH or by alkalinity."""
        reached = [time.band for time in self.times if time.by_any.earliest_h is not None]
        return reached[-1] if reached else Band.BELOW


def outcome_reasons(case: HazardCase) -> tuple[Reason, ...]:
    """Return what happens: the worst pH first, then alkalinity, salinity, water, ammonia."""
    middle, bad = case.worst_middle, case.worst_bad
    found = [pH_reason(case)]
    if middle.pH_nbs is None:
        found.append(hazard_reason(HazardCode.PAST_MODEL))
    elif bad.pH_nbs is None:
        found.append(hazard_reason(HazardCode.MAY_PAST_MODEL))
    if middle.brought_L > 0.0:
        found += _amounts(case)
    factor = middle.free_ammonia_factor
    if factor is not None and rank(case.band_middle) > 0:
        found.append(hazard_reason(HazardCode.AMMONIA, ammonia_times=round(factor, 1)))
    return tuple(found)


def overflow_reasons(case: HazardCase, room_L: float | None) -> tuple[Reason, ...]:
    """Return that the sump runs over, where at the bad end more comes than it has room for."""
    if room_L is None or case.worst_bad.extra_water_L <= room_L:
        return ()
    return (hazard_reason(HazardCode.SUMP_OVERFLOWS, room_L=room_L),)


def pH_reason(case: HazardCase, *, up_to: Band = Band.EXPECT_LOSSES) -> Reason:
    """Return the one sentence of a case: the highest limit of pH that the middle passes, when.

    Parameters
    ----------
    case : HazardCase
        The accident.
    up_to : Band
        The highest band that is spoken of.
    """
    spoken = [time for time in case.times if rank(time.band) <= rank(up_to)]
    passed = [time for time in spoken if time.by_pH.middle_h is not None]
    if passed:
        return _passes(passed[-1].pH_nbs, passed[-1].by_pH)
    feared = [time for time in spoken if time.by_pH.earliest_h is not None]
    if feared:
        return _may_reach(feared[-1].pH_nbs, feared[-1].by_pH.earliest_h)
    # Nothing reached, so the chemistry holds: the bad end has a pH below the first limit.
    limit_pH = BAND_LIMITS[0].pH_nbs
    worst_pH = case.worst_bad.pH_nbs or limit_pH
    return hazard_reason(HazardCode.STAYS_BELOW, band_pH=limit_pH, worst_pH=worst_pH)


def _passes(pH_nbs: float, times: Times) -> Reason:
    early_h, middle_h, late_h = times
    if not middle_h:
        return hazard_reason(HazardCode.AT_ONCE, band_pH=pH_nbs)
    if late_h is None:
        return hazard_reason(
            HazardCode.PASSES_MOST_LIKELY,
            band_pH=pH_nbs,
            early_hours=early_h or 0.0,
            middle_hours=middle_h,
        )
    return hazard_reason(
        HazardCode.PASSES, band_pH=pH_nbs, early_hours=early_h or 0.0, late_hours=late_h
    )


def _may_reach(pH_nbs: float, early_h: float | None) -> Reason:
    if not early_h:
        return hazard_reason(HazardCode.MAY_AT_ONCE, band_pH=pH_nbs)
    return hazard_reason(HazardCode.MAY_REACH, band_pH=pH_nbs, early_hours=early_h)


def _amounts(case: HazardCase) -> list[Reason]:
    good, middle, bad = case.worst_good, case.worst_middle, case.worst_bad
    found = [
        hazard_reason(
            HazardCode.RISE,
            rise_low_meq_per_L=good.brought_meq_per_L,
            rise_high_meq_per_L=bad.brought_meq_per_L,
        )
    ]
    by_rise = [
        limit
        for limit in BAND_LIMITS
        if limit.rise_meq_per_L is not None and bad.brought_meq_per_L >= limit.rise_meq_per_L
    ]
    if by_rise:
        limit = by_rise[-1].rise_meq_per_L or 0.0
        found.append(hazard_reason(HazardCode.ALKALINITY_BAND, limit_meq_per_L=limit))
    if middle.extra_water_L > 0.0:
        found.append(hazard_reason(HazardCode.EXTRA_WATER, extra_L=middle.extra_water_L))
    fallen = case.middle.water.salinity - middle.salinity
    if fallen >= SALINITY_WORTH_SAYING:
        found.append(hazard_reason(HazardCode.SALINITY_FALLS, salinity_PSU=middle.salinity))
    return found
