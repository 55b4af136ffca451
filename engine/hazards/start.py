"""The tank that an accident meets: its water at a mild, a middle and a bad end.

The start is the highest of the day's recorded pH, the last one and the balance with outside air.
The bad end adds the probe's error, the smaller volume and either end of the alkalinity. A tank of
unknown pH is taken at 8.4. All of these are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.carbonate import pCO2_uatm_from_dry_air_ppm, solve
from engine.chemistry.constants import MOLAR_MASS_CALCIUM
from engine.chemistry.dose_physics import TankWater
from engine.demand.alkalinity_tests import ALKALINITY, TEST_ERROR_MEQ_PER_L
from engine.errors import check_between
from engine.hazards.codes import HazardCode, hazard_reason
from engine.limits import ASSUMED_PH
from engine.seawater import USUAL_SALINITY, calcium_umol_per_kg_RT67, density_kg_per_m3
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH, Z90

if TYPE_CHECKING:
    from engine.carbonate import CarbonateState
    from engine.demand.facts import Facts
    from engine.reasons import Reason
    from engine.records import Setup

PROBE_ERROR_PH: Final = 0.15
OUTSIDE_AIR_UATM: Final = 400.0
PH_OF_THE_DAY_DAYS: Final = 1.0
PH_HIGH_DAYS: Final = 7.0
ALKALINITY_FRESH_DAYS: Final = 14.0
SLOW_FRESH_DAYS: Final = 30.0  # salinity, calcium, the room's carbon dioxide
TEMPERATURE_FRESH_DAYS: Final = 7.0
ALKALINITY_CEILING_MEQ_PER_L: Final = 11.0 * MEQ_PER_DKH
# Limewater that dilutes this to the solver's 19 has passed pH 9.5 long before.
SALINITY_RANGE: Final = (25.0, 40.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class StartPH:
    """pH (NBS) before the accident."""

    best: float
    bad: float  # a probe may read too low; the assumed pH is the unsafe side already
    reason: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """The tank before the accident; `bad` holds the waters of either end of alkalinity."""

    good: TankWater
    middle: TankWater
    bad: tuple[TankWater, ...]
    low_air_middle: TankWater  # at rest with outside air
    low_air_bad: tuple[TankWater, ...]
    room_pCO2_uatm: float  # of the last recorded room reading, else outside air
    reasons: tuple[Reason, ...]


def start_of(facts: Facts, setup: Setup) -> Start | Reason:
    """Return the tank at its three ends, or why there is none.

    Raises
    ------
    OutsideValidity
        Salinity, temperature or pH outside what the model holds.
    """
    alkalinity, old = _alkalinity(facts, setup)
    if alkalinity is None:
        return hazard_reason(HazardCode.ALKALINITY_MISSING)
    salinity = fresh_value(facts, "salinity", SLOW_FRESH_DAYS)
    known = USUAL_SALINITY if salinity is None else salinity
    check_between("hazard", "salinity", known, *SALINITY_RANGE)
    warmth = fresh_value(facts, "temperature", TEMPERATURE_FRESH_DAYS)
    maker = _Waters(
        salinity=known,
        temperature_degC=setup.tank_temperature_degC if warmth is None else warmth,
        calcium_mg_per_L=fresh_value(facts, "calcium", SLOW_FRESH_DAYS),
    )
    pH = start_pH(facts)
    middle_state = maker.at(alkalinity.best, pH.best)
    reasons = [_pH_reason(pH, middle_state.pH_nbs), *old]
    if salinity is None:
        reasons.append(hazard_reason(HazardCode.SALINITY_ASSUMED, salinity_PSU=known))
    error = setup.net_volume_error_share
    low_L, high_L = setup.net_volume_L * (1.0 - error), setup.net_volume_L * (1.0 + error)
    ends = (alkalinity.low, alkalinity.high)
    return Start(
        good=TankWater.from_state(high_L, maker.at(alkalinity.high, pH.best)),
        middle=TankWater.from_state(setup.net_volume_L, middle_state),
        bad=tuple(TankWater.from_state(low_L, maker.at(end, pH.bad)) for end in ends),
        low_air_middle=TankWater.from_state(setup.net_volume_L, maker.at(alkalinity.best, None)),
        low_air_bad=tuple(TankWater.from_state(low_L, maker.at(end, None)) for end in ends),
        room_pCO2_uatm=_room_pCO2_uatm(facts, maker),
        reasons=tuple(reasons),
    )


def start_pH(facts: Facts) -> StartPH:
    """Return the day's highest recorded pH, or 8.4 when there is none of this day.

    A higher one of the last week counts as well, and the last one whatever its age: what was
    reached can be reached again.
    """
    samples = facts.samples("pH_nbs")
    counted = [s for s in samples if facts.age_days(s.at) <= PH_HIGH_DAYS] or samples[-1:]
    today = any(facts.age_days(s.at) <= PH_OF_THE_DAY_DAYS for s in counted)
    high = max((s.value for s in counted), default=0.0)
    if today or high > ASSUMED_PH:
        why = hazard_reason(HazardCode.START_RECORDED, start_pH=high, probe_error_pH=PROBE_ERROR_PH)
        return StartPH(best=high, bad=high + PROBE_ERROR_PH, reason=why)
    why = hazard_reason(HazardCode.START_ASSUMED, assumed_pH=ASSUMED_PH)
    return StartPH(best=ASSUMED_PH, bad=max(ASSUMED_PH, high + PROBE_ERROR_PH), reason=why)


def _pH_reason(pH: StartPH, found_pH_nbs: float) -> Reason:
    if found_pH_nbs > pH.best:
        return hazard_reason(HazardCode.START_AIR, start_pH=found_pH_nbs)
    return pH.reason


@dataclass(frozen=True, slots=True, kw_only=True)
class _Waters:
    """Makes states of one salinity, temperature and calcium."""

    salinity: float
    temperature_degC: float
    calcium_mg_per_L: float | None

    def at(self, alkalinity_meq_per_L: float, pH_nbs: float | None) -> CarbonateState:
        """Return the higher in pH of the water at a pH and in balance with outside air."""
        kg_per_L = density_kg_per_m3(self.salinity, self.temperature_degC) / 1000.0
        calcium = calcium_umol_per_kg_RT67(self.salinity)
        if self.calcium_mg_per_L is not None:
            calcium = self.calcium_mg_per_L / MOLAR_MASS_CALCIUM * 1000.0 / kg_per_L
        known = {
            "total_alkalinity_umol_per_kg": alkalinity_meq_per_L * 1000.0 / kg_per_L,
            "salinity": self.salinity,
            "temperature_degC": self.temperature_degC,
            "calcium_umol_per_kg": calcium,
        }
        in_air = solve(**known, pCO2_uatm=OUTSIDE_AIR_UATM)
        if pH_nbs is None or in_air.pH_nbs >= pH_nbs:
            return in_air
        return solve(**known, pH_nbs=pH_nbs)


def _alkalinity(facts: Facts, setup: Setup) -> tuple[Span | None, tuple[Reason, ...]]:
    """Return alkalinity with its error; an old test could be anywhere from floor to ceiling."""
    last = facts.last_sample(ALKALINITY)
    if last is None:
        return None, ()
    error = TEST_ERROR_MEQ_PER_L * Z90
    low, high = last.value - error, last.value + error
    age = facts.age_days(last.at)
    if age <= ALKALINITY_FRESH_DAYS:
        return Span(low, last.value, high), ()
    low = min(low, setup.floor_total_alkalinity_meq_per_L)
    high = max(high, ALKALINITY_CEILING_MEQ_PER_L)
    return Span(low, last.value, high), (hazard_reason(HazardCode.ALKALINITY_OLD, age_days=age),)


def fresh_value(facts: Facts, parameter: str, days: float) -> float | None:
    """Return the last value of a parameter, None when it is older than so many days."""
    last = facts.last_sample(parameter)
    return None if last is None or facts.age_days(last.at) > days else last.value


def _room_pCO2_uatm(facts: Facts, waters: _Waters) -> float:
    ppm = fresh_value(facts, "room_co2", SLOW_FRESH_DAYS)
    if ppm is None:
        return OUTSIDE_AIR_UATM
    return pCO2_uatm_from_dry_air_ppm(
        ppm, salinity=waters.salinity, temperature_degC=waters.temperature_degC
    )
