"""A tank between lime, corals, animals and the room's air: its course in time.

Balances per kg of water, after the two equations

    d TA  / dt = lime + other alkalinity - 2 calcification
    d DIC / dt = k ([CO2] in the air's balance - [CO2]) + respiration - calcification + other DIC

Alkalinity and calcium are then straight lines between events; only DIC needs integrating, and
its one nonlinear term answers to DIC and alkalinity with known derivatives. An exponential
Rosenbrock step of second order uses them: one solution of the carbonate system a step, started
from the last pH, and stable however fast the exchange is.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, expm1
from typing import TYPE_CHECKING, Final

from engine.carbonate import PCO2_RANGE_UATM
from engine.chemistry.alkalinity import water_at
from engine.errors import (
    InvalidQuantity,
    OutsideValidity,
    check_between,
    check_finite,
    check_not_negative,
    check_positive,
)
from engine.seawater import density_kg_per_m3

if TYPE_CHECKING:
    from collections.abc import Iterable

    from engine.carbonate import CarbonateState
    from engine.chemistry.alkalinity import CarbonDioxide, Water

DEFAULT_STEP_H: Final = 1.0 / 12.0
EXCHANGE_RANGE_PER_DAY: Final = (0.0, 1000.0)
MAX_POINTS: Final = 100_000
_SMALLEST_DIC: Final = 1e-9  # mol/kg
_SERIES_BELOW: Final = 1e-4
_ROUNDING: Final = 1e-9
_HOURS_PER_DAY: Final = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """The air over the tank and how fast carbon dioxide passes between them."""

    pCO2_uatm: float
    """At the water surface; see `carbonate.pCO2_uatm_from_dry_air_ppm`."""
    exchange_per_day: float
    """k: piston velocity times surface over volume, 1/d. Plausible 5 to 50 (estimate)."""

    def __post_init__(self) -> None:
        check_between("gas_exchange", "pCO2_uatm", self.pCO2_uatm, *PCO2_RANGE_UATM)
        check_between(
            "gas_exchange", "exchange_per_day", self.exchange_per_day, *EXCHANGE_RANGE_PER_DAY
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What happens to a litre of tank water in a day, besides gas exchange."""

    lime_meq: float = 0.0
    """Alkalinity from limewater: half as many mmol of calcium, no carbon."""
    other_alkalinity_meq: float = 0.0
    other_dic_mmol: float = 0.0
    """Carbon of the other source: 1 per meq of bicarbonate, 0.5 of carbonate."""
    other_calcium_mmol: float = 0.0
    calcification_mmol: float = 0.0
    """Calcium carbonate formed: takes 2 alkalinity, 1 DIC, 1 calcium."""
    respiration_mmol: float = 0.0
    """Net: above 0 in the dark, below 0 when photosynthesis prevails."""

    def __post_init__(self) -> None:
        for name in (
            "lime_meq",
            "other_alkalinity_meq",
            "other_dic_mmol",
            "other_calcium_mmol",
            "calcification_mmol",
            "respiration_mmol",
        ):
            check_finite(name, getattr(self, name))

    @property
    def alkalinity_meq(self) -> float:
        """Net change of alkalinity, meq/L/d."""
        return self.lime_meq + self.other_alkalinity_meq - 2.0 * self.calcification_mmol

    @property
    def dic_mmol(self) -> float:
        """Net change of DIC but for gas exchange, mmol/L/d."""
        return self.respiration_mmol + self.other_dic_mmol - self.calcification_mmol

    @property
    def calcium_mmol(self) -> float:
        """Net change of calcium, mmol/L/d."""
        return 0.5 * self.lime_meq + self.other_calcium_mmol - self.calcification_mmol


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A stretch of time with constant rates, with a dose of limewater at its start."""

    hours: float
    rates: Rates = field(default_factory=Rates)
    dose_meq_per_L: float = 0.0
    """Mixed in at once, closed to the air, replacing evaporation."""

    def __post_init__(self) -> None:
        check_not_negative("hours", self.hours, "h")
        check_not_negative("dose_meq_per_L", self.dose_meq_per_L, "meq/L")


@dataclass(frozen=True, slots=True, kw_only=True)
class CoursePoint:
    """The tank at one time."""

    hours: float
    total_alkalinity_umol_per_kg: float
    dic_umol_per_kg: float
    calcium_umol_per_kg: float
    pH_total: float
    pH_nbs: float
    pCO2_uatm: float
    omega_aragonite: float


def run_course(
    start: CarbonateState,
    air: Air,
    segments: Iterable[Segment],
    *,
    step_h: float = DEFAULT_STEP_H,
) -> tuple[CoursePoint, ...]:
    """Course of a tank in time.

    Parameters
    ----------
    start : CarbonateState
        The tank at hour 0; salinity and temperature stay as they are there.
    air : Air
        Carbon dioxide of the room and the exchange rate.
    segments : iterable of Segment
        In order; a dose at a segment's start shows as a second point at the same hour.
    step_h : float
        Longest step, h; each segment is cut into equal steps no longer than this.

    Returns
    -------
    tuple of CoursePoint
        Hour 0, then one entry per dose and per step, in order of time.

    Raises
    ------
    OutsideValidity
        Carbon runs out, or pH leaves 3 to 12.
    """
    check_positive("step_h", step_h, "h")
    tank = _Tank(start, air)
    points = [tank.point(0.0)]
    hours = 0.0
    for segment in segments:
        if segment.dose_meq_per_L > 0.0:
            tank.dose(segment.dose_meq_per_L)
            points.append(tank.point(hours))
        steps = ceil(segment.hours / step_h - _ROUNDING)
        if steps + len(points) > MAX_POINTS:
            raise InvalidQuantity("segments", segment.hours, unit="h", code="course_too_long")
        for step in range(1, steps + 1):
            tank.advance(segment.rates, segment.hours / steps / _HOURS_PER_DAY)
            points.append(tank.point(hours + segment.hours * step / steps))
        hours += segment.hours
    return tuple(points)


class _Tank:
    """The state that the integrator moves; mol/kg inside."""

    def __init__(self, start: CarbonateState, air: Air) -> None:
        self._water: Water = water_at(start.salinity, start.temperature_degC)
        constants = self._water.constants
        self._mol_per_kg = 1.0 / density_kg_per_m3(start.salinity, start.temperature_degC)
        self._uatm_per_co2 = 1e6 / (constants.k0 * constants.fugacity_factor)
        self._k = air.exchange_per_day
        self._air_co2 = air.pCO2_uatm / self._uatm_per_co2
        self._alkalinity = start.total_alkalinity_umol_per_kg * 1e-6
        self._dic = start.dic_umol_per_kg * 1e-6
        self._calcium = start.calcium_umol_per_kg * 1e-6
        self._now = self._carbon_dioxide(start.pH_total)

    def dose(self, meq_per_L: float) -> None:
        """Mix limewater in at once."""
        self._alkalinity += meq_per_L * self._mol_per_kg
        self._calcium += 0.5 * meq_per_L * self._mol_per_kg
        self._now = self._carbon_dioxide(self._now.pH_total)

    def advance(self, rates: Rates, days: float) -> None:
        """Take one step of the exponential Rosenbrock method."""
        k, now, per_kg = self._k, self._now, self._mol_per_kg
        alkalinity_rate = rates.alkalinity_meq * per_kg
        dic_rate = k * (self._air_co2 - now.co2) + rates.dic_mmol * per_kg
        exponent = -k * now.per_dic * days
        drift = -k * now.per_alkalinity * alkalinity_rate  # the rate's own change with time
        self._dic += days * (_phi_1(exponent) * dic_rate + _phi_2(exponent) * days * drift)
        self._alkalinity += alkalinity_rate * days
        self._calcium += rates.calcium_mmol * per_kg * days
        self._now = self._carbon_dioxide(now.pH_total)

    def point(self, hours: float) -> CoursePoint:
        """Describe the tank now."""
        constants = self._water.constants
        pH, co2 = self._now.pH_total, self._now.co2
        hydrogen = 10.0**-pH
        co3 = co2 * constants.k1 * constants.k2 / (hydrogen * hydrogen)
        return CoursePoint(
            hours=hours,
            total_alkalinity_umol_per_kg=self._alkalinity * 1e6,
            dic_umol_per_kg=self._dic * 1e6,
            calcium_umol_per_kg=self._calcium * 1e6,
            pH_total=pH,
            pH_nbs=pH + constants.pH_nbs_minus_total,
            pCO2_uatm=co2 * self._uatm_per_co2,
            omega_aragonite=self._calcium * co3 / constants.k_aragonite,
        )

    def _carbon_dioxide(self, guess: float) -> CarbonDioxide:
        if self._dic < _SMALLEST_DIC or self._calcium < 0.0:
            raise OutsideValidity(
                "gas_exchange", "dic_umol_per_kg", self._dic * 1e6, _SMALLEST_DIC * 1e6, 2e5
            )
        return self._water.carbon_dioxide(self._alkalinity, self._dic, guess)


def _phi_1(exponent: float) -> float:
    """(e^z - 1) / z, also where z vanishes."""
    if abs(exponent) < _SERIES_BELOW:
        return 1.0 + exponent * (0.5 + exponent / 6.0)
    return expm1(exponent) / exponent


def _phi_2(exponent: float) -> float:
    """(e^z - 1 - z) / z^2, also where z vanishes."""
    if abs(exponent) < _SERIES_BELOW:
        return 0.5 + exponent * (1.0 / 6.0 + exponent / 24.0)
    return (expm1(exponent) - exponent) / (exponent * exponent)
