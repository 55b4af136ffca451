"""Properties of the chemistry: monotonic where nature is, balances closed, only our exceptions."""

import inspect
from dataclasses import fields, is_dataclass
from math import isfinite

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from engine import carbonate, limewater, seawater
from engine.carbonate import CarbonateState, solve
from engine.chemistry import (
    dose_physics,
    equilibrium,
    gas_exchange,
    salts,
    steady_state,
    stirred_vessel,
)
from engine.chemistry import (
    strength_checks as limewater_strength,
)
from engine.chemistry.alkalinity import water_at
from engine.chemistry.dose_physics import TankWater, add_limewater, dose_consequences
from engine.errors import EngineError

SALINITY = st.floats(20.0, 40.0)
DEGC = st.floats(10.0, 32.0)
ALKALINITY = st.floats(500.0, 6000.0)
DIC = st.floats(200.0, 5000.0)
FAST = settings(max_examples=200, deadline=None)
ANY_NUMBER = st.floats(allow_nan=True, allow_infinity=True)

STATES = st.builds(
    lambda alkalinity, dic, salinity, degC: solve(
        total_alkalinity_umol_per_kg=alkalinity,
        dic_umol_per_kg=dic,
        salinity=salinity,
        temperature_degC=degC,
    ),
    ALKALINITY,
    DIC,
    SALINITY,
    DEGC,
)


@FAST
@given(STATES)
def test_alkalinity_and_carbon_are_the_sum_of_their_species(state: CarbonateState):
    carbon = state.co2_umol_per_kg + state.hco3_umol_per_kg + state.co3_umol_per_kg
    assert carbon == pytest.approx(state.dic_umol_per_kg, rel=1e-12)
    alkalinity = (
        state.hco3_umol_per_kg
        + 2.0 * state.co3_umol_per_kg
        + state.borate_umol_per_kg
        + state.oh_umol_per_kg
        - state.h_free_umol_per_kg
        - state.hso4_umol_per_kg
        - state.hf_umol_per_kg
    )
    scale = state.dic_umol_per_kg + state.total_alkalinity_umol_per_kg
    assert abs(alkalinity - state.total_alkalinity_umol_per_kg) < 1e-12 * scale


@FAST
@given(STATES)
def test_saturation_states_and_pressure_are_positive_and_calcite_is_the_less_soluble(state):
    assert state.pCO2_uatm > state.fCO2_uatm > 0.0
    assert state.omega_calcite > state.omega_aragonite > 0.0
    assert state.revelle_factor > 0.9


@FAST
@given(STATES, st.floats(0.1, 1000.0))
def test_more_alkalinity_at_the_same_carbon_means_higher_ph(state, more):
    higher = solve(
        total_alkalinity_umol_per_kg=state.total_alkalinity_umol_per_kg + more,
        dic_umol_per_kg=state.dic_umol_per_kg,
        salinity=state.salinity,
        temperature_degC=state.temperature_degC,
    )
    assert higher.pH_total > state.pH_total
    assert higher.pCO2_uatm < state.pCO2_uatm


@FAST
@given(STATES, st.floats(0.1, 1000.0))
def test_more_carbon_at_the_same_alkalinity_means_lower_ph(state, more):
    lower = solve(
        total_alkalinity_umol_per_kg=state.total_alkalinity_umol_per_kg,
        dic_umol_per_kg=state.dic_umol_per_kg + more,
        salinity=state.salinity,
        temperature_degC=state.temperature_degC,
    )
    assert lower.pH_total < state.pH_total
    assert lower.pCO2_uatm > state.pCO2_uatm


@FAST
@given(STATES)
def test_every_input_pair_returns_to_the_same_state(state):
    water = {
        "total_alkalinity_umol_per_kg": state.total_alkalinity_umol_per_kg,
        "salinity": state.salinity,
        "temperature_degC": state.temperature_degC,
    }
    for second in (
        {"pH_total": state.pH_total},
        {"pH_nbs": state.pH_nbs},
        {"pCO2_uatm": state.pCO2_uatm},
    ):
        assert solve(**water, **second).dic_umol_per_kg == pytest.approx(
            state.dic_umol_per_kg, rel=1e-7
        )


@settings(max_examples=400, deadline=None)
@given(st.floats(3.01, 11.99), st.floats(1.0, 20_000.0), SALINITY, DEGC)
def test_solver_finds_every_ph_from_3_to_12(pH, dic, salinity, degC):
    core = equilibrium.constants_at(salinity, degC)
    water = water_at(salinity, degC)
    hydrogen = 10.0**-pH
    alkalinity = dic * 1e-6 * water.charge_shares(hydrogen).mean
    alkalinity += water.other_alkalinity(hydrogen).total
    state = solve(
        total_alkalinity_umol_per_kg=alkalinity * 1e6,
        dic_umol_per_kg=dic,
        salinity=salinity,
        temperature_degC=degC,
    )
    assert state.pH_total == pytest.approx(pH, abs=1e-7)
    assert state.pH_nbs == pytest.approx(pH + core.pH_nbs_minus_total, abs=1e-7)


TANKS = st.builds(TankWater.from_state, st.floats(50.0, 2000.0), STATES)


@FAST
@given(TANKS, st.floats(0.001, 0.02), st.floats(1.0, 48.0), st.floats(0.0, 2.0))
def test_dose_closes_the_mass_balance(tank, share, strength, evaporated_share):
    dose_L = tank.volume_L * share
    after = add_limewater(
        tank,
        dose_L=dose_L,
        strength_meq_per_L=strength,
        evaporated_L=dose_L * evaporated_share,
    )
    meq = dose_L * strength
    for name, added in (
        ("total_alkalinity_umol_per_kg", meq * 1e3),
        ("dic_umol_per_kg", 0.0),
        ("calcium_umol_per_kg", meq * 500.0),
        ("salinity", 0.0),
    ):
        before_amount = getattr(tank, name) * tank.mass_kg
        after_amount = getattr(after, name) * after.mass_kg
        assert after_amount == pytest.approx(before_amount + added, rel=1e-12), name


@FAST
@given(TANKS, st.floats(0.001, 0.01), st.floats(1.05, 3.0))
def test_more_lime_means_higher_ph_and_saturation(tank, share, factor):
    doses = [
        dose_consequences(tank, dose_L=tank.volume_L * each, strength_meq_per_L=40.0)
        for each in (share, share * factor)
    ]
    small, large = (each.closed for each in doses)
    assert doses[0].before.pH_nbs < small.pH_nbs < large.pH_nbs
    assert small.omega_aragonite < large.omega_aragonite


@FAST
@given(st.floats(0.0, 50.0), st.floats(0.0, 50.0))
def test_warmer_limewater_is_weaker(one, other):
    assume(abs(one - other) > 1e-6)
    cold, warm = sorted((one, other))
    assert limewater.solubility_g_per_L(cold) > limewater.solubility_g_per_L(warm)


@FAST
@given(st.floats(2.0, 42.0), st.floats(-2.0, 35.0))
def test_salinity_round_trips(salinity, degC):
    conductivity = seawater.conductivity_from_salinity(salinity, degC)
    if 2.0001 < salinity < 41.9999:
        back = seawater.salinity_from_conductivity(conductivity, degC)
        assert back == pytest.approx(salinity, abs=1e-9)
    gravity = seawater.specific_gravity_from_salinity(salinity, degC, 25.0)
    if salinity < 41.9999:
        assert seawater.salinity_from_specific_gravity(gravity, degC, 25.0) == pytest.approx(
            salinity, abs=1e-8
        )


AIRS = st.builds(
    lambda pCO2, k: gas_exchange.Air(pCO2_uatm=pCO2, exchange_per_day=k),
    st.floats(300.0, 2000.0),
    st.floats(0.0, 100.0),
)
RATES = st.builds(
    lambda lime, calcification, respiration: gas_exchange.Rates(
        lime_meq=lime, calcification_mmol=calcification, respiration_mmol=respiration
    ),
    st.floats(0.0, 1.0),
    st.floats(0.0, 0.5),
    st.floats(-0.3, 0.5),
)


@FAST
@given(STATES, AIRS, RATES)
def test_course_conserves_what_gas_does_not_carry(state, air, rates):
    try:
        course = gas_exchange.run_course(
            state,
            air,
            [gas_exchange.Segment(hours=6.0, rates=rates)],
            step_h=0.5,
        )
    except EngineError:
        return
    first, last = course[0], course[-1]
    per_kg = 1e6 / seawater.density_kg_per_m3(state.salinity, state.temperature_degC)
    assert last.total_alkalinity_umol_per_kg - first.total_alkalinity_umol_per_kg == pytest.approx(
        rates.alkalinity_meq * 0.25 * per_kg, abs=1e-8
    )
    assert last.calcium_umol_per_kg - first.calcium_umol_per_kg == pytest.approx(
        rates.calcium_mmol * 0.25 * per_kg, abs=1e-8
    )


# ---- no exception but ours, whatever the numbers ---------------------------------------------

MODULES = (
    seawater,
    equilibrium,
    carbonate,
    limewater,
    limewater_strength,
    stirred_vessel,
    dose_physics,
    salts,
    steady_state,
    gas_exchange,
)
CHOICES = {
    "Compound": st.sampled_from(list(salts.COMPOUNDS.values())),
    "float": ANY_NUMBER,
    "float | None": st.none() | ANY_NUMBER,
}


def strategy_for(function):
    """Any arguments of the types that a public function takes, or None if it takes others."""
    wanted = {}
    for name, parameter in inspect.signature(function).parameters.items():
        kind = str(parameter.annotation)
        if kind not in CHOICES:
            return None
        wanted[name] = CHOICES[kind]
    return st.fixed_dictionaries(wanted)


PUBLIC = {
    f"{module.__name__}.{name}": function
    for module in MODULES
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if function.__module__ == module.__name__
    and not name.startswith("_")
    and strategy_for(inspect.unwrap(function)) is not None
}
# Numbers in the neighbourhood of sense reach further into a function than arbitrary ones do.
NEAR = st.one_of(
    ANY_NUMBER,
    st.floats(-1e3, 1e5),
    st.floats(0.0, 60.0),
    st.floats(0.0, 1.2),
    st.sampled_from([0.0, -0.0, 1e-300, 1e300, 1e-12, 1e12, 7.9, 8.1, 25.0, 35.0, 2500.0]),
)
CHOICES["float"] = NEAR
CHOICES["float | None"] = st.none() | NEAR


def all_finite(result):
    if isinstance(result, float):
        return isfinite(result)
    if isinstance(result, tuple):
        return all(all_finite(each) for each in result)
    if is_dataclass(result):
        return all(all_finite(getattr(result, f.name)) for f in fields(result))
    return True


def test_the_fuzz_reaches_the_public_functions():
    assert len(PUBLIC) > 50
    assert "engine.carbonate.solve" in PUBLIC
    assert "engine.limewater.mix" in PUBLIC


@pytest.mark.parametrize("name", PUBLIC)
@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_any_number_gives_a_finite_result_or_our_own_error(name, data):
    function = PUBLIC[name]
    strategy = strategy_for(inspect.unwrap(function))
    assert strategy is not None
    arguments = data.draw(strategy)
    # Positional or keyword by name both work: no public function is positional-only.
    try:
        result = function(**arguments)
    except EngineError:
        return
    assert all_finite(result), (arguments, result)


@settings(max_examples=300, deadline=None)
@given(st.lists(NEAR, min_size=6, max_size=6), NEAR, NEAR, NEAR)
def test_any_tank_and_dose_gives_a_finite_result_or_our_own_error(numbers, dose, strength, spare):
    volume, salinity, degC, alkalinity, dic, calcium = numbers
    try:
        tank = TankWater(
            volume_L=volume,
            salinity=salinity,
            temperature_degC=degC,
            total_alkalinity_umol_per_kg=alkalinity,
            dic_umol_per_kg=dic,
            calcium_umol_per_kg=calcium,
        )
        result = dose_consequences(
            tank, dose_L=dose, strength_meq_per_L=strength, evaporated_L=spare
        )
        rise = dose_physics.rise_to_reach_pH_nbs_meq_per_L(tank, spare)
    except EngineError:
        return
    assert all_finite(result)
    assert isfinite(rise)


@settings(max_examples=300, deadline=None)
@given(STATES, st.lists(NEAR, min_size=6, max_size=6), st.floats(0.0, 48.0), NEAR, NEAR)
def test_any_course_gives_a_finite_result_or_our_own_error(state, rates, hours, k, air):
    names = [f.name for f in fields(gas_exchange.Rates)]
    try:
        course = gas_exchange.run_course(
            state,
            gas_exchange.Air(pCO2_uatm=air, exchange_per_day=k),
            [
                gas_exchange.Segment(
                    hours=hours, rates=gas_exchange.Rates(**dict(zip(names, rates, strict=True)))
                )
            ],
            step_h=1.0,
        )
    except EngineError:
        return
    assert all_finite(course)
