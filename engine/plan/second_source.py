"""What a second source gives, from what the keeper sets: millilitres of a two-part, a flow.

A reactor's credit is its flow times what its water has beyond the tank's own alkalinity; leaving
the tank's out would count about a quarter too much.
"""

from dataclasses import dataclass, replace
from typing import Any

from engine.demand.facts import Facts
from engine.errors import InvalidQuantity
from engine.records import SecondSource, SecondSourceSetting, Setup


def two_part_setting(volume_mL_per_day: float, strength_meq_per_mL: float | None) -> dict[str, Any]:
    """Return the fields of a `SecondSourceSetting` for a two-part.

    Parameters
    ----------
    volume_mL_per_day : float
        Of the alkalinity part, mL/day, 0 or more.
    strength_meq_per_mL : float or None
        Of that part, meq/mL.

    Raises
    ------
    InvalidQuantity
        Code `two_part_strength_unset`.
    """
    if strength_meq_per_mL is None:
        raise InvalidQuantity("strength", None, unit="meq/mL", code="two_part_strength_unset")
    return {
        "alkalinity_meq_per_day": volume_mL_per_day * strength_meq_per_mL,
        "two_part_mL_per_day": volume_mL_per_day,
        "two_part_meq_per_mL": strength_meq_per_mL,
    }


def reactor_setting(
    flow_L_per_day: float, effluent_meq_per_L: float | None, tank_meq_per_L: float
) -> dict[str, Any]:
    """Return the fields of a `SecondSourceSetting` for a reactor.

    Parameters
    ----------
    flow_L_per_day : float
        Through the reactor, L/day, 0 when it is off.
    effluent_meq_per_L : float or None
        Alkalinity of its water.
    tank_meq_per_L : float
        Alkalinity of the tank at that time.

    Raises
    ------
    InvalidQuantity
        Codes `reactor_effluent_unset` and `reactor_gives_nothing`: no more than the tank has.
    """
    if effluent_meq_per_L is None:
        raise InvalidQuantity("effluent", None, unit="meq/L", code="reactor_effluent_unset")
    gain = effluent_meq_per_L - tank_meq_per_L
    if gain <= 0.0 and flow_L_per_day > 0.0:
        raise InvalidQuantity(
            "effluent", effluent_meq_per_L, unit="meq/L", code="reactor_gives_nothing"
        )
    return {
        "alkalinity_meq_per_day": flow_L_per_day * max(0.0, gain),
        "flow_L_per_day": flow_L_per_day,
        "effluent_meq_per_L": effluent_meq_per_L,
        "tank_total_alkalinity_meq_per_L": tank_meq_per_L,
    }


@dataclass(frozen=True, slots=True)
class OwnUnits:
    """An amount as the keeper sets it: the field's name carries the unit."""

    field: str  # of `SecondSourceSetting`
    value: float


def in_own_units(alkalinity_meq_per_day: float, setup: Setup, tank_meq_per_L: float) -> OwnUnits:
    """Return what to set for so much alkalinity; in meq/day where the strength is not known."""
    strength, effluent = setup.two_part_meq_per_mL, setup.reactor_effluent_meq_per_L
    if setup.second_source is SecondSource.TWO_PART and strength is not None:
        return OwnUnits("two_part_mL_per_day", alkalinity_meq_per_day / strength)
    gain = -1.0 if effluent is None else effluent - tank_meq_per_L
    if setup.second_source is SecondSource.REACTOR and gain > 0.0:
        return OwnUnits("flow_L_per_day", alkalinity_meq_per_day / gain)
    return OwnUnits("alkalinity_meq_per_day", alkalinity_meq_per_day)


def as_running(setup: Setup, facts: Facts) -> Setup:
    """Return the set-up with the reactor's flow as last recorded: Setup's own may be stale."""
    last = facts.last(SecondSourceSetting)
    if last is None or not last.flow_L_per_day:
        return setup
    return replace(setup, reactor_flow_L_per_day=last.flow_L_per_day)


def setting_in_own_units(own: OwnUnits, setup: Setup, tank_meq_per_L: float) -> dict[str, Any]:
    """Return the fields of a `SecondSourceSetting` for an amount in the keeper's units."""
    if own.field == "two_part_mL_per_day":
        return two_part_setting(own.value, setup.two_part_meq_per_mL)
    if own.field == "flow_L_per_day":
        return reactor_setting(own.value, setup.reactor_effluent_meq_per_L, tank_meq_per_L)
    return {own.field: own.value}
