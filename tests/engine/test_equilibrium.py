"""Constants of seawater: where they hold, and that they are computed once."""

import pytest

from engine.chemistry.equilibrium import (
    SALINITY_RANGE,
    TEMPERATURE_RANGE_DEGC,
    VALIDITY,
    constants_at,
)
from engine.errors import InvalidQuantity, OutsideValidity


def test_set_holds_only_where_every_fit_holds():
    assert SALINITY_RANGE == (19.0, 40.0)
    assert TEMPERATURE_RANGE_DEGC == (9.0, 33.0)
    for fit in VALIDITY.values():
        assert fit.salinity[0] <= SALINITY_RANGE[0] < SALINITY_RANGE[1] <= fit.salinity[1]


@pytest.mark.parametrize(
    ("salinity", "degC", "formula"),
    [
        (18.9, 25.0, "k1_LDK00"),
        (40.1, 25.0, "k0_W74"),
        (35.0, 8.9, "kf_free_PF87"),
        (35.0, 33.1, "kf_free_PF87"),
        (46.0, 25.0, "k0_W74"),
    ],
)
def test_refusal_names_the_fit_that_does_not_hold(salinity, degC, formula):
    with pytest.raises(OutsideValidity) as caught:
        constants_at(salinity, degC)
    assert caught.value.formula == formula


@pytest.mark.parametrize("corner", [(s, t) for s in SALINITY_RANGE for t in TEMPERATURE_RANGE_DEGC])
def test_corners_of_the_range_are_inside(corner):
    assert constants_at(*corner).k1 > 0.0


def test_nan_is_refused():
    with pytest.raises(InvalidQuantity):
        constants_at(float("nan"), 25.0)
    with pytest.raises(InvalidQuantity):
        constants_at(35.0, float("nan"))


def test_constants_of_one_water_are_computed_once():
    assert constants_at(34.5, 24.5) is constants_at(34.5, 24.5)


def test_scales_at_35_25():
    constants = constants_at(35.0, 25.0)
    # total = free - 0.1077, seawater scale = total - 0.0101
    assert constants.total_per_free == pytest.approx(10.0**0.1077, rel=1e-4)
    assert constants.seawater_per_free / constants.total_per_free == pytest.approx(
        10.0**0.0101, rel=1e-4
    )
