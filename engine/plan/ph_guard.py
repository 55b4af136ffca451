"""What the carbonate system says of doses: pH rise of one dose, and of the day as a whole.

One dose is judged closed to the air, at the lowest carbon dioxide of the day. Of the day it is
asked how much more limewater the tank can take before its highest pH reaches the ceiling: every
meq/L of lime that the corals turn to skeleton takes half a mmol of carbon through the surface, so
that carbon dioxide sinks by that over the exchange rate (steady state of chemistry section 7).
Room and animals enter by what the probe shows with the limewater of now.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from engine.carbonate import CarbonateState, solve
from engine.chemistry.dose_physics import TankWater, rise_to_reach_pH_nbs_meq_per_L
from engine.demand.facts import Facts
from engine.demand.inputs import Inputs
from engine.errors import OutsideValidity
from engine.records import Setup
from engine.seawater import USUAL_SALINITY, density_kg_per_m3
from engine.units import Span

# Common practice, no source. pH is on the NBS scale.
DOSE_RISE_PH: Final = 0.05
CEILING_PH: Final = 8.45
PROBE_ERROR_PH: Final = 0.1
# Plausible exchange rates of tanks, 1/day (estimate, no source); of one's own, entered, 30 %.
USUAL_EXCHANGE_PER_DAY: Final = Span(5.0, 15.0, 50.0)
_OWN_EXCHANGE_ERROR_SHARE: Final = 0.3
_WEEK: Final = timedelta(days=7)
_MONTH: Final = timedelta(days=30)
_UMOL_PER_MMOL: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """The tank's water but for its carbon."""

    alkalinity_meq_per_L: float
    salinity: float
    temperature_degC: float

    @property
    def kg_per_L(self) -> float:
        """Density."""
        return density_kg_per_m3(self.salinity, self.temperature_degC) / 1000.0

    def at_pH_nbs(self, pH_nbs: float) -> CarbonateState:
        """Return the water at a pH.

        Raises
        ------
        OutsideValidity
            Salinity or temperature beyond the constants' range.
        """
        return solve(
            total_alkalinity_umol_per_kg=self.alkalinity_meq_per_L * 1000.0 / self.kg_per_L,
            salinity=self.salinity,
            temperature_degC=self.temperature_degC,
            pH_nbs=pH_nbs,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PHGuard:
    """What pH allows; None where the model cannot say."""

    dose_meq_per_L: float | None  # one dose
    day_L_per_day: float | None  # limewater of a day; None also without a pH of this week


def gas_exchange(setup: Setup) -> Span:
    """Return the exchange rate k in force, 1/day: the keeper's own, or the usual wide range."""
    own = setup.gas_exchange_per_day
    if own is None:
        return USUAL_EXCHANGE_PER_DAY
    error = own * _OWN_EXCHANGE_ERROR_SHARE
    return Span(own - error, own, own + error)


def tank_water(facts: Facts, setup: Setup, alkalinity_meq_per_L: float) -> Water:
    """Return the water with the last salinity and temperature on record, or the usual ones."""
    salinity = facts.last_sample("salinity")
    temperature = facts.last_sample("temperature")
    fresh_salinity = salinity is not None and facts.now - salinity.at <= _MONTH
    fresh_temperature = temperature is not None and facts.now - temperature.at <= _WEEK
    return Water(
        alkalinity_meq_per_L=alkalinity_meq_per_L,
        salinity=salinity.value if salinity and fresh_salinity else USUAL_SALINITY,
        temperature_degC=temperature.value
        if temperature and fresh_temperature
        else setup.tank_temperature_degC,
    )


def pH_guard(
    inputs: Inputs,
    *,
    alkalinity_meq_per_L: float,
    pH_nbs: float,
    net_volume_low_L: float,
    unsafe_meq_per_L: float,
) -> PHGuard:
    """Return what pH allows now.

    Parameters
    ----------
    inputs : Inputs
        The system.
    alkalinity_meq_per_L : float
        The low end of what is expected: the lower, the further pH rises.
    pH_nbs : float
        Highest of the day, recorded or assumed.
    net_volume_low_L, unsafe_meq_per_L : float
        Smallest volume, strongest limewater.
    """
    setup = inputs.setup
    water = tank_water(inputs.facts, setup, alkalinity_meq_per_L)
    try:
        dose = _largest_dose_meq_per_L(water, pH_nbs, setup.dose_rise_pH or DOSE_RISE_PH)
        room = _room_meq_per_L_per_day(inputs, water)
    except OutsideValidity:
        return PHGuard(dose_meq_per_L=None, day_L_per_day=None)
    if room is None:
        return PHGuard(dose_meq_per_L=dose, day_L_per_day=None)
    given_L, more = room
    day = max(0.0, given_L + more * net_volume_low_L / unsafe_meq_per_L)
    return PHGuard(dose_meq_per_L=dose, day_L_per_day=day)


def _largest_dose_meq_per_L(water: Water, pH_nbs: float, rise_pH: float) -> float:
    tank = TankWater.from_state(1.0, water.at_pH_nbs(pH_nbs))
    return rise_to_reach_pH_nbs_meq_per_L(tank, pH_nbs + rise_pH)


def _room_meq_per_L_per_day(inputs: Inputs, water: Water) -> tuple[float, float] | None:
    """Return the limewater given at the week's highest pH, L/day, and how much more may be.

    With the probe's error against it, but no less than was given then while the reading itself is
    below the ceiling: a probe's error alone lowers nothing.
    """
    facts, setup = inputs.facts, inputs.setup
    week = facts.samples("pH_nbs", facts.now - _WEEK)
    if not week:
        return None
    highest = max(week, key=lambda s: (s.value, s.at))
    ceiling = water.at_pH_nbs(setup.ceiling_pH or CEILING_PH).co2_umol_per_kg
    k = gas_exchange(setup).low
    per_co2 = 2.0 * k * water.kg_per_L / _UMOL_PER_MMOL
    read = (water.at_pH_nbs(highest.value).co2_umol_per_kg - ceiling) * per_co2
    careful = water.at_pH_nbs(highest.value + PROBE_ERROR_PH).co2_umol_per_kg - ceiling
    more = read if read < 0.0 else max(0.0, careful * per_co2)
    return inputs.lime_L_per_day(highest.at), more
