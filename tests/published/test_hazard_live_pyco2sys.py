"""Hazard points of random systems against PyCO2SYS, the mass balance typed a second time."""

import random

import pytest

from engine.carbonate import solve
from engine.chemistry.dose_physics import TankWater
from engine.hazards.course import DAYLIGHT_H, Lime
from tests.published import reference_programs

pyco2 = reference_programs.load("PyCO2SYS")
eos80 = reference_programs.load("seawater")
numpy = reference_programs.load("numpy")

SYSTEMS = 400
LIMEWATER_KG_PER_L = 0.99904
M_CALCIUM_HYDROXIDE = 74.0927


def drawn(rng):
    state = solve(
        total_alkalinity_umol_per_kg=rng.uniform(2000.0, 4200.0),
        pH_nbs=rng.uniform(7.9, 8.6),
        salinity=rng.uniform(32.0, 37.0),
        temperature_degC=rng.uniform(22.0, 29.0),
    )
    volume = 10.0 ** rng.uniform(1.3, 3.7)
    strength = rng.uniform(35.0, 50.0)
    meq_per_L = rng.uniform(0.0, 2.0)
    coming = Lime(
        water=TankWater.from_state(volume, state),
        strength_meq_per_L=strength,
        litres=meq_per_L * volume / strength,
        rate_L_per_h=volume / 500.0,
        suspended_g=rng.choice([0.0, rng.uniform(0.0, 0.01) * volume]),
        removed_L=rng.choice([0.0, 0.01 * volume]),
        daylight_mmol_per_L=rng.choice([0.0, 0.15]),
    )
    return coming, rng.uniform(0.0, coming.horizon_h)


def kg_per_L(salinity, degC):
    return float(eos80.eos80.dens0(salinity, degC)) / 1000.0


def balance(coming, hours):
    """Salinity, alkalinity, DIC and calcium after mixing, umol/kg; written from the masses."""
    water = coming.water
    share = min(1.0, hours * coming.rate_L_per_h / coming.litres) if coming.litres else 1.0
    before = (water.volume_L - coming.removed_L) * kg_per_L(water.salinity, water.temperature_degC)
    litres = share * coming.litres
    meq = litres * coming.strength_meq_per_L
    meq += share * coming.suspended_g * 2000.0 / M_CALCIUM_HYDROXIDE
    after = before + litres * LIMEWATER_KG_PER_L
    diluted = before / after
    salinity = water.salinity * diluted
    light = coming.daylight_mmol_per_L * min(1.0, hours / DAYLIGHT_H)
    return (
        salinity,
        water.total_alkalinity_umol_per_kg * diluted + meq * 1000.0 / after,
        water.dic_umol_per_kg * diluted
        - light * 1000.0 / kg_per_L(salinity, water.temperature_degC),
        water.calcium_umol_per_kg * diluted + meq * 500.0 / after,
    )


def test_ph_and_saturation_of_random_accidents_equal_pyco2sys():
    rng = random.Random(5)
    cases = [drawn(rng) for _ in range(SYSTEMS)]
    salinity, alkalinity, dic, calcium = zip(*(balance(*case) for case in cases), strict=True)
    reference = pyco2.sys(
        par1=numpy.array(alkalinity),
        par2=numpy.array(dic),
        par1_type=1,
        par2_type=2,
        salinity=numpy.array(salinity),
        temperature=numpy.array([coming.water.temperature_degC for coming, _ in cases]),
        total_calcium=numpy.array(calcium),
        opt_k_carbonic=10,
        opt_k_bisulfate=1,
        opt_total_borate=2,
        opt_k_fluoride=2,
        opt_gas_constant=3,
        opt_pH_scale=1,
    )
    steep = 0
    for i, (coming, hours) in enumerate(cases):
        state = coming.water_at(hours).state()
        assert coming.pH_nbs_at(hours) == pytest.approx(float(reference["pH_nbs"][i]), abs=1e-5)
        omega = float(reference["saturation_aragonite"][i])
        assert state.omega_aragonite == pytest.approx(omega, rel=1e-4)
        steep += state.pH_nbs > 9.0
    assert steep > 20
