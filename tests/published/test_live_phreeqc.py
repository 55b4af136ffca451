"""Saturated limewater against PHREEQC with Pitzer's equations.

The database as shipped has no temperature term for portlandite and gives solubility *rising*
with temperature; the block below, Thermoddem V1.10's constant, replaces it.
"""

from itertools import pairwise

import pytest

from engine.chemistry.constants import MOLAR_MASS_CALCIUM_HYDROXIDE
from engine.limewater import saturated_pH, solubility_g_per_L
from tests.published import reference_programs

phreeqpython = reference_programs.load("phreeqpython")

PORTLANDITE = """
PHASES
Portlandite
 Ca(OH)2 + 2H+ = Ca+2 + 2H2O
 -analytic -2.8492926E+2 -4.4710612E-2 2.1380115E+4 1.0420455E+2 -7.5424917E+5
END
"""
TEMPERATURES_DEGC = (10.0, 15.0, 20.0, 25.0, 30.0, 35.0)


def saturated(degC, *, replace_portlandite):
    """Solubility in g/L and pH of limewater saturated at a temperature."""
    program = phreeqpython.PhreeqPython(database="pitzer.dat")
    if replace_portlandite:
        program.ip.run_string(PORTLANDITE)
    solution = program.add_solution({"temp": degC})
    solution.equalize(["Portlandite"], [0.0])
    # The solution holds one kilogram of water; its mass is that and the lime.
    lime_kg = solution.total_element("Ca", units="mol") * MOLAR_MASS_CALCIUM_HYDROXIDE / 1000.0
    g_per_L = 1000.0 * lime_kg / (1.0 + lime_kg) * solution.density
    return g_per_L, solution.pH


@pytest.mark.parametrize("degC", TEMPERATURES_DEGC)
def test_solubility_and_saturated_ph_agree_with_phreeqc(degC):
    g_per_L, pH = saturated(degC, replace_portlandite=True)
    assert solubility_g_per_L(degC) == pytest.approx(g_per_L, rel=0.03)
    assert saturated_pH(degC) == pytest.approx(pH, abs=0.03)


def test_warmer_limewater_is_weaker_there_too():
    values = [saturated(degC, replace_portlandite=True)[0] for degC in TEMPERATURES_DEGC]
    assert all(cold > warm for cold, warm in pairwise(values))


def test_the_database_as_shipped_is_wrong_with_temperature_which_is_why_it_is_replaced():
    cold, _ = saturated(10.0, replace_portlandite=False)
    warm, _ = saturated(35.0, replace_portlandite=False)
    assert warm > cold
