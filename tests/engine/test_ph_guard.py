from dataclasses import replace

import pytest

from engine.carbonate import solve
from engine.chemistry.dose_physics import TankWater, add_limewater
from engine.chemistry.gas_exchange import Air
from engine.chemistry.steady_state import steady_state
from engine.demand.facts import gather
from engine.demand.inputs import Inputs, recorded_inputs
from engine.demand.strength import strength_now
from engine.plan.ph_guard import (
    CEILING_PH,
    DOSE_RISE_PH,
    PROBE_ERROR_PH,
    PHGuard,
    gas_exchange,
    pH_guard,
    tank_water,
)
from engine.records import Setup
from tests.support.keeper_log import SYSTEM, KeeperLog, dkh, kettle

VOLUME, STRENGTH = 405.0, 45.0


def inputs_of(log: KeeperLog) -> Inputs:
    facts = gather(log.records, system=SYSTEM, now=log.now)
    assert facts.setup is not None
    return recorded_inputs(facts, facts.setup, strength_now(facts, facts.setup), None)


def guard(log: KeeperLog, pH_nbs: float = 8.2, alkalinity_dKH: float = 8.3) -> PHGuard:
    return pH_guard(
        inputs_of(log),
        alkalinity_meq_per_L=dkh(alkalinity_dKH),
        pH_nbs=pH_nbs,
        net_volume_low_L=VOLUME,
        unsafe_meq_per_L=STRENGTH,
    )


def test_largest_dose_lifts_the_closed_tank_by_just_the_limit():
    for pH in (7.9, 8.2, 8.4):
        dose = guard(kettle(), pH).dose_meq_per_L
        assert dose is not None
        water = tank_water(inputs_of(kettle()).facts, setup_of(kettle()), dkh(8.3))
        before = TankWater.from_state(1000.0, water.at_pH_nbs(pH))
        after = add_limewater(before, dose_L=dose * 1000.0 / 40.0, strength_meq_per_L=40.0).state()
        assert after.pH_nbs - pH == pytest.approx(DOSE_RISE_PH, abs=2e-4)


def setup_of(log: KeeperLog) -> Setup:
    return inputs_of(log).setup


def test_keepers_own_limit_of_a_dose_counts():
    usual = guard(kettle()).dose_meq_per_L
    own = guard(kettle(dose_rise_pH=0.02)).dose_meq_per_L
    assert own is not None
    assert usual is not None
    assert own == pytest.approx(0.4 * usual, rel=0.03)


def test_lower_alkalinity_allows_less():
    low, high = guard(kettle(), alkalinity_dKH=6.0), guard(kettle(), alkalinity_dKH=11.0)
    assert low.dose_meq_per_L is not None
    assert high.dose_meq_per_L is not None
    assert low.dose_meq_per_L < high.dose_meq_per_L


def test_without_a_pH_of_this_week_the_day_is_not_judged():
    assert guard(kettle()).day_L_per_day is None
    assert guard(kettle().read(8.0, pH_nbs=8.2)).day_L_per_day is None


def test_room_of_the_day_is_that_of_the_steady_state():
    """A tank at rest with the air, given so much more lime: its pH is then at the ceiling."""
    log = kettle(gas_exchange_per_day=20.0).read(1.5, pH_nbs=8.2)
    day = guard(log).day_L_per_day
    assert day is not None
    more_meq = (day - 5.3) * STRENGTH / VOLUME
    assert more_meq > 0.01
    k = gas_exchange(setup_of(log)).low
    water = tank_water(inputs_of(log).facts, setup_of(log), dkh(8.3))
    careful = water.at_pH_nbs(8.2 + PROBE_ERROR_PH)
    given = 0.3
    # the air that holds this tank at the careful pH on what is given
    per_uatm = careful.co2_umol_per_kg / careful.pCO2_uatm
    air_uatm = careful.pCO2_uatm + given * 500.0 / water.kg_per_L / (k * per_uatm)
    air = Air(pCO2_uatm=air_uatm, exchange_per_day=k)
    rest = {
        "total_alkalinity_umol_per_kg": careful.total_alkalinity_umol_per_kg,
        "salinity": 35.0,
        "temperature_degC": 25.0,
        "air": air,
    }
    before = steady_state(lime_meq_per_L_per_day=given, **rest)
    after = steady_state(lime_meq_per_L_per_day=given + more_meq, **rest)
    assert before.pH_nbs == pytest.approx(8.2 + PROBE_ERROR_PH, abs=1e-3)
    assert after.pH_nbs == pytest.approx(CEILING_PH, abs=1e-3)


def test_probe_error_alone_lowers_nothing():
    assert guard(kettle().read(1.5, pH_nbs=8.42)).day_L_per_day == pytest.approx(5.3)


def test_pH_above_the_ceiling_lowers():
    day = guard(kettle().read(1.5, pH_nbs=8.49)).day_L_per_day
    assert day is not None
    assert day < 5.3
    own_ceiling = guard(kettle(ceiling_pH=8.3).read(1.5, pH_nbs=8.4)).day_L_per_day
    assert own_ceiling is not None
    assert own_ceiling < 5.3


def test_slower_gas_exchange_leaves_less_room():
    slow = guard(kettle(gas_exchange_per_day=6.0).read(1.5, pH_nbs=8.1)).day_L_per_day
    fast = guard(kettle(gas_exchange_per_day=40.0).read(1.5, pH_nbs=8.1)).day_L_per_day
    assert slow is not None
    assert fast is not None
    assert slow < fast


def test_outside_the_range_of_the_constants_there_is_no_answer():
    for log in (kettle(tank_temperature_degC=34.0), kettle().read(2.0, salinity=12.0)):
        found = guard(log.read(1.5, pH_nbs=8.2))
        assert found == PHGuard(dose_meq_per_L=None, day_L_per_day=None)


def test_recorded_salinity_and_temperature_are_used_while_fresh():
    facts = inputs_of(kettle().read(3.0, salinity=33.0, temperature=27.0)).facts
    water = tank_water(facts, setup_of(kettle()), dkh(8.0))
    assert (water.salinity, water.temperature_degC) == (33.0, 27.0)
    old = inputs_of(kettle().read(40.0, salinity=33.0, temperature=27.0)).facts
    stale = tank_water(old, setup_of(kettle()), dkh(8.0))
    assert (stale.salinity, stale.temperature_degC) == (35.0, 25.0)


def test_water_is_solved_as_the_carbonate_system_says():
    water = replace(tank_water(inputs_of(kettle()).facts, setup_of(kettle()), 2.5))
    direct = solve(
        total_alkalinity_umol_per_kg=2500.0 / water.kg_per_L,
        salinity=35.0,
        temperature_degC=25.0,
        pH_nbs=8.1,
    )
    assert water.at_pH_nbs(8.1) == direct
