import pytest

from engine.errors import InvalidQuantity, OutsideValidity
from engine.units import (
    TYPED_UNITS,
    Span,
    convert_typed,
    estimate,
    quantity,
    registry,
    to_float,
)
from engine.vocabulary import PARAMETERS


def test_dkh_is_ten_milligrams_of_calcium_oxide_per_litre():
    # 1 dKH is 10 mg CaO/L; CaO 56.0774 g/mol, two equivalents a mole.
    assert to_float(quantity(1.0, "dKH"), "meq/L") == pytest.approx(10.0 / 56.0774 * 2.0)


def test_calcium_cannot_be_added_to_an_alkalinity():
    with pytest.raises(Exception, match="Cannot convert"):
        _ = registry.Quantity(1.0, "mmol") + registry.Quantity(1.0, "meq")


def test_reading_a_quantity_in_another_dimension_raises():
    with pytest.raises(InvalidQuantity):
        to_float(quantity(1.0, "meq"), "mmol")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_quantity_is_finite(value):
    with pytest.raises(InvalidQuantity):
        quantity(value, "L/day")


def test_one_litre_a_day_is_about_seven_tenths_of_a_millilitre_a_minute():
    assert to_float(quantity(1.0, "L/day"), "mL/min") == pytest.approx(1000.0 / 1440.0)


def test_an_estimate_gives_its_floats_back():
    assert estimate(Span(1.0, 2.0, 3.0), "meq/L").floats("meq/L") == Span(1.0, 2.0, 3.0)


TYPED = [
    ("total_alkalinity", 8.2, "dKH", 2.924529),  # 8.2 x 20 / 56.0774
    ("total_alkalinity", 180.0, "mg/L CaCO3", 3.596873),  # 180 / 50.0435
    ("total_alkalinity", 2.9, "meq/L", 2.9),
    ("calcium", 10.5, "mmol/L", 420.819),
    ("magnesium", 54.0, "mmol/L", 1312.475),
    ("temperature", 77.0, "degF", 25.0),
    ("salinity", 1.02637, "SG 25/25", 35.0),
    ("salinity", 53.071, "mS/cm at 25 °C", 35.0),
    ("salinity", 34.5, "PSU", 34.5),
    ("pH_nbs", 8.25, "", 8.25),
]


@pytest.mark.parametrize(("parameter", "value", "unit", "canonical"), TYPED)
def test_typed_value_becomes_the_canonical_one(parameter, value, unit, canonical):
    assert convert_typed(parameter, value, unit) == pytest.approx(canonical, rel=2e-4)


def test_every_unit_that_the_vocabulary_offers_can_be_typed():
    usual = {"SG 25/25": 1.026, "mS/cm at 25 °C": 53.0, "mg/L CaCO3": 150.0, "degF": 77.0}
    for code, units in TYPED_UNITS.items():
        for unit in units:
            low, high = PARAMETERS[code].incident
            typed = usual.get(unit, 20.0 if unit == "mmol/L" else (low + high) / 2.0)
            assert low <= convert_typed(code, typed, unit) <= high


@pytest.mark.parametrize(
    ("parameter", "value", "unit"),
    [
        ("total_alkalinity", 8.0, "degC"),
        ("total_alkalinity", 8.0, "__import__('os')"),
        ("nonsense", 8.0, "dKH"),
        ("calcium", float("nan"), "mg/L"),
    ],
)
def test_anything_else_typed_is_refused(parameter, value, unit):
    with pytest.raises(InvalidQuantity):
        convert_typed(parameter, value, unit)


def test_a_specific_gravity_of_two_is_no_salinity():
    with pytest.raises(OutsideValidity):
        convert_typed("salinity", 2.0, "SG 25/25")
