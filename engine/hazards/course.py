"""The course of an accident in time: closed to the air, and, milder, with gas exchange.

Closed, the water depends only on what went in, not on when: alkalinity and carbon are sums. So
every point is exact, and a time to a band is a root, not an integration. The bad end also loses
the carbon that a day's photosynthesis takes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp
from typing import TYPE_CHECKING, Final

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.chemistry.dose_physics import TankWater, add_limewater
from engine.chemistry.gas_exchange import Air, Rates, Segment, run_course
from engine.errors import OutsideValidity, check_not_negative
from engine.hazards.point import NO_PH, Amounts, Chemistry, HazardPoint, describe

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from engine.carbonate import CarbonateState
    from engine.chemistry.gas_exchange import CoursePoint

# Photosynthesis of a bright day, mmol of carbon per litre, over its hours of light: common
# practice, no source.
DAYLIGHT_MMOL_PER_L: Final = 0.15
DAYLIGHT_H: Final = 10.0
# Exchange with the room: poor 5, good 20, strong 50 a day (estimate, no source).
GOOD_EXCHANGE_PER_DAY: Final = 20.0
AFTERWARDS_H: Final = 24.0
DEFAULT_POINTS: Final = 49
SOLVER_SALINITY: Final = 19.0
_SEARCH_STEPS: Final = 60
_PH_TOLERANCE: Final = 1e-5
_HOURS_PER_DAY: Final = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lime:
    """One end of an accident: what comes into one water."""

    water: TankWater
    strength_meq_per_L: float
    litres: float
    rate_L_per_h: float | None  # None: at once
    suspended_g: float = 0.0
    washed_L: float | None = None  # mixed vessel that the powder is washed out of
    removed_L: float = 0.0
    daylight_mmol_per_L: float = 0.0

    @property
    def ends_h(self) -> float:
        """Hours until the last of it came."""
        return 0.0 if self.rate_L_per_h is None else self.litres / self.rate_L_per_h

    @property
    def horizon_h(self) -> float:
        """Hours until nothing gets worse any more, closed to the air."""
        return max(self.ends_h, DAYLIGHT_H) if self.daylight_mmol_per_L > 0.0 else self.ends_h

    def share(self, hours: float) -> float:
        """Share of the lime that has come by then."""
        if self.rate_L_per_h is None or self.litres <= 0.0:
            return 1.0
        return min(1.0, hours * self.rate_L_per_h / self.litres)

    def powder_share(self, hours: float) -> float:
        """Share of the powder that has come by then: out of a vessel sooner than the water."""
        share = self.share(hours)
        if self.washed_L is None or self.litres <= 0.0:
            return share
        turns = self.litres / self.washed_L
        return (1.0 - exp(-share * turns)) / (1.0 - exp(-turns))

    def brought_meq_per_L(self, hours: float) -> float:
        """Alkalinity brought by then, per litre of the tank before the accident."""
        meq = self.share(hours) * self.litres * self.strength_meq_per_L
        powder_g = self.powder_share(hours) * self.suspended_g
        return (meq + powder_g * MEQ_PER_GRAM_CALCIUM_HYDROXIDE) / self.water.volume_L

    def water_at(self, hours: float) -> TankWater:
        """Return the mixed water by then: nothing precipitated, no gas exchanged."""
        water = self.water
        if self.removed_L > 0.0:
            water = replace(water, volume_L=water.volume_L - self.removed_L)
        share = self.share(hours)
        mixed = add_limewater(
            water,
            dose_L=share * self.litres,
            strength_meq_per_L=self.strength_meq_per_L,
            suspended_g=self.powder_share(hours) * self.suspended_g,
            evaporated_L=0.0,
        )
        taken = self.daylight_mmol_per_L * min(1.0, hours / DAYLIGHT_H)
        if taken <= 0.0:
            return mixed
        dic = mixed.dic_umol_per_kg - taken * 1000.0 / mixed.density_kg_per_L
        return replace(mixed, dic_umol_per_kg=max(dic, 0.0))

    def pH_nbs_at(self, hours: float) -> float:
        """Return the model's pH (NBS), 14 where the solver has none."""
        state = _solved(self.water_at(hours))
        return NO_PH if state is None else state.pH_nbs


def point_at(lime: Lime, hours: float) -> HazardPoint:
    """Return the tank at a time, closed to the air.

    Parameters
    ----------
    lime : Lime
        One end of an accident.
    hours : float
        Since it began, at least 0.
    """
    check_not_negative("hours", hours, "h")
    water = lime.water_at(hours)
    state = _solved(water)
    chemistry = None
    if state is not None:
        chemistry = Chemistry(
            total_alkalinity_umol_per_kg=state.total_alkalinity_umol_per_kg,
            dic_umol_per_kg=state.dic_umol_per_kg,
            calcium_umol_per_kg=state.calcium_umol_per_kg,
            pH_total=state.pH_total,
            pH_nbs=state.pH_nbs,
            omega_aragonite=state.omega_aragonite,
        )
    return describe(
        _amounts(lime, hours, water),
        chemistry,
        density_kg_per_L=water.density_kg_per_L,
        start_pH_total=lime.water.state().pH_total,
    )


def closed_course(lime: Lime, *, points: int = DEFAULT_POINTS) -> tuple[HazardPoint, ...]:
    """Return the course closed to the air, for a plot.

    Parameters
    ----------
    lime : Lime
        One end of an accident.
    points : int
        At least 2, evenly spaced from hour 0 to the end; over an hour when all came at once.
    """
    last_h = lime.horizon_h or 1.0
    return tuple(point_at(lime, last_h * i / (points - 1)) for i in range(points))


def worst_of(limes: Sequence[Lime]) -> HazardPoint:
    """Return the worst point of several ends: the highest model pH once all has happened."""
    worst = max(limes, key=lambda lime: lime.pH_nbs_at(lime.horizon_h))
    return point_at(worst, worst.horizon_h)


def reaches_pH_h(limes: Sequence[Lime], pH_nbs: float) -> float | None:
    """Return the first hour at which any of several ends reaches a pH (NBS); None for never."""
    found = [
        _first_h(lambda hours, lime=lime: lime.pH_nbs_at(hours) - pH_nbs, lime.horizon_h)
        for lime in limes
    ]
    return min((hours for hours in found if hours is not None), default=None)


def reaches_rise_h(limes: Sequence[Lime], rise_meq_per_L: float) -> float | None:
    """Return the first hour at which any end has brought so much alkalinity; None for never."""

    def excess(lime: Lime) -> Callable[[float], float]:
        return lambda hours: lime.brought_meq_per_L(hours) - rise_meq_per_L

    found = [_first_h(excess(lime), lime.ends_h) for lime in limes]
    return min((hours for hours in found if hours is not None), default=None)


def open_course(
    lime: Lime,
    *,
    air_pCO2_uatm: float,
    exchange_per_day: float = GOOD_EXCHANGE_PER_DAY,
    hours: float | None = None,
    step_h: float = 0.25,
) -> tuple[HazardPoint, ...]:
    """Return the milder course, in which the room's air gives carbon dioxide back.

    Parameters
    ----------
    lime : Lime
        One end of an accident; its daylight is left out.
    air_pCO2_uatm : float
        Of the room, at the water surface.
    exchange_per_day : float
        k of `engine.chemistry.gas_exchange`, 1/d; 5 to 50 are plausible (estimate).
    hours : float, optional
        Length, h; by default a day after the last of it came.
    step_h : float
        Spacing of the points, h.

    Returns
    -------
    tuple of HazardPoint
        From hour 0; empty where the solver holds no such water.

    Notes
    -----
    For the chemistry the lime replaces evaporation; salinity and extra water are those of lime
    on top. That understates pH by less than 0.01 per meq/L. Powder comes evenly with the water.
    """
    last_h = lime.ends_h + AFTERWARDS_H if hours is None else hours
    total = lime.brought_meq_per_L(lime.ends_h)
    filling_h = min(lime.ends_h, last_h)
    segments = [Segment(hours=last_h, dose_meq_per_L=total)]
    if lime.ends_h > 0.0:
        rates = Rates(lime_meq=total / lime.ends_h * _HOURS_PER_DAY)
        segments = [Segment(hours=filling_h, rates=rates), Segment(hours=last_h - filling_h)]
    start = lime.water.state()
    air = Air(pCO2_uatm=air_pCO2_uatm, exchange_per_day=exchange_per_day)
    try:
        found = run_course(start, air, segments, step_h=step_h)
    except OutsideValidity:
        return ()
    return tuple(_open_point(lime, start, point) for point in found)


def _open_point(lime: Lime, start: CarbonateState, point: CoursePoint) -> HazardPoint:
    return describe(
        _amounts(lime, point.hours, lime.water_at(point.hours)),
        Chemistry(
            total_alkalinity_umol_per_kg=point.total_alkalinity_umol_per_kg,
            dic_umol_per_kg=point.dic_umol_per_kg,
            calcium_umol_per_kg=point.calcium_umol_per_kg,
            pH_total=point.pH_total,
            pH_nbs=point.pH_nbs,
            omega_aragonite=point.omega_aragonite,
        ),
        density_kg_per_L=lime.water.density_kg_per_L,
        start_pH_total=start.pH_total,
    )


def _amounts(lime: Lime, hours: float, water: TankWater) -> Amounts:
    return Amounts(
        hours=hours,
        brought_L=lime.share(hours) * lime.litres,
        brought_meq_per_L=lime.brought_meq_per_L(hours),
        extra_water_L=lime.share(hours) * lime.litres - lime.removed_L,
        salinity=water.salinity,
    )


def _solved(water: TankWater) -> CarbonateState | None:
    """Solve a water; None where the solver holds no such water.

    The start is inside (`hazard_start.SALINITY_RANGE`). What leaves the solver after that was
    diluted below 19, or driven past pH 12, by far more limewater than pH 9.5 takes.
    """
    if water.salinity < SOLVER_SALINITY:
        return None
    try:
        return water.state()
    except OutsideValidity:
        return None


def _first_h(excess: Callable[[float], float], last_h: float) -> float | None:
    """Return where a rising function of time passes 0 (regula falsi, Illinois), or None."""
    low, high = 0.0, last_h
    at_low, at_high = excess(low), excess(high)
    if at_low >= 0.0:
        return 0.0
    if at_high < 0.0:
        return None
    side = 0
    for _ in range(_SEARCH_STEPS):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        at_middle = excess(middle)
        if abs(at_middle) < _PH_TOLERANCE:
            return middle
        if at_middle > 0.0:
            high, at_high = middle, at_middle
            at_low = at_low / 2.0 if side > 0 else at_low
            side = 1
        else:
            low, at_low = middle, at_middle
            at_high = at_high / 2.0 if side < 0 else at_high
            side = -1
    return high
