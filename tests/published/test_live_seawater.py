"""Density and salinity against gsw (TEOS-10, PSS-78) and seawater (EOS-80)."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.seawater import (
    conductivity_from_salinity,
    density_kg_per_m3,
    salinity_from_conductivity,
    salinity_from_specific_gravity,
    specific_gravity_from_salinity,
)
from tests.published import reference_programs

gsw = reference_programs.load("gsw")
eos80 = reference_programs.load("seawater")

# A hair inside the scale: its ends do not survive a round trip.
SALINITY = st.floats(2.001, 41.999)
DEGC = st.floats(0.0, 35.0)


@settings(max_examples=300, deadline=None)
@given(SALINITY, DEGC)
def test_density_equals_the_eos80_reference_code(salinity, degC):
    theirs = float(eos80.dens0(salinity, degC))
    assert density_kg_per_m3(salinity, degC) == pytest.approx(theirs, abs=1e-3)
    assert density_kg_per_m3(salinity, degC) == pytest.approx(theirs, abs=1e-9)


@settings(max_examples=300, deadline=None)
@given(st.floats(30.0, 40.0), st.floats(20.0, 30.0))
def test_density_of_tank_water_is_near_teos10(salinity, degC):
    # Another equation of state of another year: agreement to 0.01 kg/m3 is theirs, not ours.
    reference_composition = salinity * 35.16504 / 35.0  # absolute salinity, g/kg
    theirs = float(gsw.rho_t_exact(reference_composition, degC, 0.0))
    assert density_kg_per_m3(salinity, degC) == pytest.approx(theirs, abs=0.01)


@settings(max_examples=300, deadline=None)
@given(SALINITY, DEGC)
def test_conductivity_and_salinity_equal_gsw(salinity, degC):
    theirs = float(gsw.C_from_SP(salinity, degC, 0.0))
    assert conductivity_from_salinity(salinity, degC) == pytest.approx(theirs, abs=1e-6)
    back = salinity_from_conductivity(theirs, degC)
    assert back == pytest.approx(float(gsw.SP_from_C(theirs, degC, 0.0)), abs=1e-6)


@settings(max_examples=200, deadline=None)
@given(SALINITY, st.floats(5.0, 35.0), st.sampled_from([4.0, 15.5556, 20.0, 25.0]))
def test_specific_gravity_is_the_ratio_of_the_reference_densities(salinity, degC, reference):
    theirs = float(eos80.dens0(salinity, degC) / eos80.dens0(0.0, reference))
    ours = specific_gravity_from_salinity(salinity, degC, reference)
    assert ours == pytest.approx(theirs, abs=1e-12)
    assert salinity_from_specific_gravity(ours, degC, reference) == pytest.approx(
        salinity, abs=1e-9
    )
