"""What leaves a stirred vessel: strength against flow, and the wash-out once the bed is spent."""

from __future__ import annotations

from math import exp
from typing import Final

from engine.errors import OutsideValidity, check_between, check_not_negative, check_positive
from engine.limewater import saturated_alkalinity_meq_per_L

FRACTION_RANGE: Final = (0.0, 1.0)


def output_fraction(
    *, vessel_L: float, flow_L_per_h: float, dissolution_per_h: float
) -> tuple[float, float]:
    """Share of saturation at the outlet over a bed of powder: well mixed, and plug flow.

    Parameters
    ----------
    vessel_L : float
        Water volume of the vessel, L.
    flow_L_per_h : float
        Flow while the pump runs, L/h.
    dissolution_per_h : float
        First-order rate at which the water approaches saturation, 1/h; from
        `dissolution_from_fraction` and a measured strength.

    Returns
    -------
    tuple of float
        Low (well mixed, k tau / (1 + k tau)) and high (plug flow, 1 - exp(-k tau)) share.

    Notes
    -----
    Textbook reactor models with a first-order approach; kinetics [JR99] (from memory).
    """
    contact = _contact(vessel_L, flow_L_per_h, dissolution_per_h)
    return 1.0 - 1.0 / (1.0 + contact), 1.0 - exp(-contact)


def output_strength_meq_per_L(
    *, vessel_L: float, flow_L_per_h: float, dissolution_per_h: float, temperature_degC: float
) -> tuple[float, float]:
    """Low and high strength of the clear overflow, meq/L; see `output_fraction`."""
    low, high = output_fraction(
        vessel_L=vessel_L, flow_L_per_h=flow_L_per_h, dissolution_per_h=dissolution_per_h
    )
    saturated = saturated_alkalinity_meq_per_L(temperature_degC)
    return low * saturated, high * saturated


def dissolution_from_fraction(
    fraction_of_saturation: float, *, vessel_L: float, flow_L_per_h: float
) -> float:
    """Dissolution rate of a vessel from the strength measured at a known flow, 1/h (well mixed).

    Raises
    ------
    OutsideValidity
        Share of 1 or more: the output was saturated, so that flow tells nothing about the rate.
    """
    check_between("vessel", "fraction_of_saturation", fraction_of_saturation, *FRACTION_RANGE)
    if fraction_of_saturation >= 1.0:
        raise OutsideValidity(
            "vessel", "fraction_of_saturation", fraction_of_saturation, *FRACTION_RANGE
        )
    check_positive("vessel_L", vessel_L, "L")
    check_positive("flow_L_per_h", flow_L_per_h, "L/h")
    return fraction_of_saturation / (1.0 - fraction_of_saturation) * flow_L_per_h / vessel_L


def _contact(vessel_L: float, flow_L_per_h: float, dissolution_per_h: float) -> float:
    check_positive("vessel_L", vessel_L, "L")
    check_positive("flow_L_per_h", flow_L_per_h, "L/h")
    check_not_negative("dissolution_per_h", dissolution_per_h, "1/h")
    return dissolution_per_h * vessel_L / flow_L_per_h
