"""The error hierarchy: builtins, fields, and the order in which ranges are asked."""

import pytest

from engine.errors import (
    EngineError,
    InvalidQuantity,
    OutsideValidity,
    check_between,
    check_finite,
    check_not_negative,
    check_positive,
)

NOT_NUMBERS = (float("nan"), float("inf"), float("-inf"))


@pytest.mark.parametrize("value", NOT_NUMBERS)
def test_what_is_not_a_number_is_invalid_and_never_merely_outside(value):
    for check in (check_finite, check_not_negative, check_positive):
        with pytest.raises(InvalidQuantity):
            check("field", value)
    with pytest.raises(InvalidQuantity):
        check_between("formula", "variable", value, 0.0, 1.0)


def test_outside_a_fit_names_formula_variable_value_and_limits():
    with pytest.raises(OutsideValidity) as caught:
        check_between("k1_LDK00", "salinity", 50.0, 19.0, 43.0)
    error = caught.value
    assert (error.formula, error.variable, error.value) == ("k1_LDK00", "salinity", 50.0)
    assert (error.low, error.high) == (19.0, 43.0)
    assert error.context["formula"] == "k1_LDK00"
    assert str(error).startswith("outside_validity(")


def test_limits_themselves_are_inside():
    check_between("formula", "variable", 0.0, 0.0, 1.0)
    check_between("formula", "variable", 1.0, 0.0, 1.0)
    check_not_negative("field", 0.0)


@pytest.mark.parametrize("value", [0.0, -1.0])
def test_positive_means_above_zero(value):
    with pytest.raises(InvalidQuantity):
        check_positive("field", value)


def test_absurd_sizes_are_refused_before_they_can_overflow():
    with pytest.raises(InvalidQuantity):
        check_positive("volume_L", 1e300)
    with pytest.raises(InvalidQuantity):
        check_positive("volume_L", 1e-300)


def test_errors_are_also_the_builtin_that_fits():
    assert issubclass(InvalidQuantity, ValueError)
    assert issubclass(OutsideValidity, ValueError)
    assert all(issubclass(each, EngineError) for each in (InvalidQuantity, OutsideValidity))
