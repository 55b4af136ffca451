"""A stirred vessel's output against flow and contact time."""

from math import e

import pytest

from engine.chemistry.stirred_vessel import (
    dissolution_from_fraction,
    output_fraction,
    output_strength_meq_per_L,
)
from engine.errors import OutsideValidity
from engine.limewater import saturated_alkalinity_meq_per_L


def test_short_contact_leaves_the_output_weak_and_long_contact_full():
    slow = output_fraction(vessel_L=5.0, flow_L_per_h=0.1, dissolution_per_h=2.0)
    fast = output_fraction(vessel_L=5.0, flow_L_per_h=30.0, dissolution_per_h=2.0)
    assert slow[0] == pytest.approx(0.99, abs=0.001)
    assert slow[1] == pytest.approx(1.0)
    assert fast[0] == pytest.approx(0.25)
    assert fast[0] < fast[1] < 0.3


def test_a_measured_strength_calibrates_the_vessel():
    rate = dissolution_from_fraction(0.8, vessel_L=5.0, flow_L_per_h=3.0)
    low, _ = output_fraction(vessel_L=5.0, flow_L_per_h=3.0, dissolution_per_h=rate)
    assert low == pytest.approx(0.8)


def test_output_strength_is_a_share_of_saturation_at_its_temperature():
    low, high = output_strength_meq_per_L(
        vessel_L=5.0, flow_L_per_h=5.0, dissolution_per_h=1.0, temperature_degC=20.0
    )
    saturated = saturated_alkalinity_meq_per_L(20.0)
    assert low == pytest.approx(0.5 * saturated)
    assert high == pytest.approx((1 - 1 / e) * saturated)


def test_saturated_output_does_not_tell_the_rate():
    with pytest.raises(OutsideValidity):
        dissolution_from_fraction(1.0, vessel_L=5.0, flow_L_per_h=3.0)
