"""Density, salinity, specific gravity, major ions."""

import pytest

from engine.errors import InvalidQuantity, OutsideValidity
from engine.seawater import (
    calcium_mg_per_L_from_umol_per_kg,
    calcium_umol_per_kg_from_mg_per_L,
    calcium_umol_per_kg_RT67,
    conductivity_from_salinity,
    density_kg_per_m3,
    meq_per_L_from_umol_per_kg,
    nacl_scale_reading_from_salinity,
    salinity_from_conductivity,
    salinity_from_nacl_scale_reading,
    salinity_from_specific_gravity,
    specific_gravity_from_salinity,
    umol_per_kg_from_meq_per_L,
)


def test_litres_and_kilograms_differ_by_the_density():
    assert umol_per_kg_from_meq_per_L(1.0, salinity=35.0, temperature_degC=25.0) == pytest.approx(
        977.19, abs=0.01
    )


def test_natural_calcium_is_about_422_mg_per_litre():
    natural = calcium_umol_per_kg_RT67(35.0)
    mg_per_L = calcium_mg_per_L_from_umol_per_kg(natural, salinity=35.0, temperature_degC=25.0)
    assert mg_per_L == pytest.approx(421.8, abs=0.1)


def test_the_same_specific_gravity_is_another_salinity_on_another_reference():
    assert salinity_from_specific_gravity(1.0250, 25.0, 25.0) == pytest.approx(33.2, abs=0.05)
    assert salinity_from_specific_gravity(1.0250, 25.0, 15.5556) > 35.5


@pytest.mark.parametrize(
    ("degC", "reference", "expected"),
    [(24.0, 24.0, 1.02641), (25.0, 4.0, 1.02337), (25.0, 15.5556, 1.02435)],
)
def test_specific_gravity_of_standard_seawater(degC, reference, expected):
    assert specific_gravity_from_salinity(35.0, degC, reference) == pytest.approx(
        expected, abs=1e-5
    )


def test_conductivity_of_a_standard_read_at_tank_temperature():
    assert conductivity_from_salinity(35.0, 24.0) == pytest.approx(52.029, abs=5e-4)
    assert salinity_from_conductivity(53.071, 25.0) == pytest.approx(35.0, abs=1e-3)


def test_a_nacl_scale_reads_seawater_high_and_the_correction_undoes_it():
    assert nacl_scale_reading_from_salinity(35.0) == pytest.approx(36.5)
    assert salinity_from_nacl_scale_reading(36.5) == pytest.approx(35.0)


def test_round_trips_between_units():
    where = {"salinity": 33.0, "temperature_degC": 26.5}
    umol_per_kg = umol_per_kg_from_meq_per_L(2.9, **where)
    assert meq_per_L_from_umol_per_kg(umol_per_kg, **where) == pytest.approx(2.9, rel=1e-14)
    calcium = calcium_umol_per_kg_from_mg_per_L(430.0, **where)
    assert calcium_mg_per_L_from_umol_per_kg(calcium, **where) == pytest.approx(430.0, rel=1e-14)


@pytest.mark.parametrize(
    "call",
    [
        lambda: density_kg_per_m3(43.0, 25.0),
        lambda: density_kg_per_m3(35.0, 41.0),
        lambda: salinity_from_conductivity(1.0, 25.0),
        lambda: salinity_from_conductivity(53.0, 36.0),
        lambda: salinity_from_conductivity(1e9, 25.0),
        lambda: salinity_from_specific_gravity(0.98, 25.0, 25.0),
        lambda: salinity_from_specific_gravity(1.1, 25.0, 25.0),
    ],
)
def test_outside_a_definition_there_is_no_number(call):
    with pytest.raises(OutsideValidity):
        call()


def test_negative_conductivity_is_invalid():
    with pytest.raises(InvalidQuantity):
        salinity_from_conductivity(-1.0, 25.0)
