"""The alkaline end against PHREEQC with Pitzer's equations: where brucite begins.

The app gives no pH past 9.5. This shows that the limit stands where brucite saturates, and how
much lime takes seawater there.
"""

import pytest

from engine.carbonate import PRECIPITATION_PH_NBS, solve
from engine.chemistry.dose_physics import TankWater
from engine.hazards.course import Lime, reaches_pH_h
from tests.published import reference_programs

phreeqpython = reference_programs.load("phreeqpython")

# Standard seawater, mol per kg of water (S 35), borate included: without it pH climbs too fast.
SEAWATER = {
    "temp": 25,
    "units": "mol/kgw",
    "Na": 0.4862,
    "K": 0.01058,
    "Ca": 0.01066,
    "Mg": 0.05474,
    "Cl": 0.5658,
    "S(6)": 0.02926,
    "B": 0.000432,
    "Alkalinity": 0.0024,
    "pH": 8.05,
}
STEP_MEQ = 0.05


def titrated():
    """Yield meq of lime per kg of water, activity pH and saturation index of brucite."""
    program = phreeqpython.PhreeqPython(database="pitzer.dat")
    solution = program.add_solution(SEAWATER)
    for step in range(1, 61):
        solution.add("Ca(OH)2", STEP_MEQ / 2.0, "mmol")
        yield step * STEP_MEQ, solution.pH, solution.si("Brucite")


def test_brucite_saturates_near_ph_nine_and_a_half_after_eighteen_tenths_of_a_meq():
    meq, pH, _ = next(entry for entry in titrated() if entry[2] >= 0.0)
    assert pH == pytest.approx(PRECIPITATION_PH_NBS, abs=0.15)
    assert meq == pytest.approx(1.8, abs=0.15)


def test_our_band_begins_with_the_lime_that_saturates_brucite_there():
    theirs, _, _ = next(entry for entry in titrated() if entry[2] >= 0.0)
    # 1 kg of water carries about 1.036 kg of seawater, 1.0233 kg a litre.
    theirs_meq_per_L = theirs / 1.036 * 1.0233
    state = solve(
        total_alkalinity_umol_per_kg=2400.0 / 1.036,
        pH_nbs=8.05,
        salinity=35.0,
        temperature_degC=25.0,
    )
    coming = Lime(
        water=TankWater.from_state(100.0, state),
        strength_meq_per_L=3e6,
        litres=1e-4,
        rate_L_per_h=1e-5,
    )
    hours = reaches_pH_h((coming,), PRECIPITATION_PH_NBS)
    assert hours is not None
    assert coming.brought_meq_per_L(hours) == pytest.approx(theirs_meq_per_L, abs=0.15)


def test_below_the_limit_brucite_stays_dissolved_and_past_it_it_is_well_oversaturated():
    course = list(titrated())
    assert all(index < 0.0 for _, pH, index in course if pH < 9.35)
    assert all(index > 0.6 for _, pH, index in course if pH > 9.95)
