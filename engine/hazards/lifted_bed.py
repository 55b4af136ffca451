"""The bed of a stirred vessel in a flow: when it is lifted, and how much of it goes along.

Common practice, no source: the flow and the dose that lift a bed. The share that goes is that of a
mixed vessel.
"""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING, Final

from engine.records import Delivery
from engine.units import Span

if TYPE_CHECKING:
    from engine.hazards.equipment import Equipment

SURGE_DOSE_SHARE: Final = 0.10  # of the vessel, in one delivery
SURGE_FLOW_SHARE_PER_MIN: Final = 0.02  # of the vessel
NO_POWDER: Final = Span(0.0, 0.0, 0.0)
_MIN_PER_H: Final = 60.0


def gentle_L_per_h(vessel_L: float) -> float:
    """Return the fastest flow through a vessel that lets its bed lie, L/h."""
    return SURGE_FLOW_SHARE_PER_MIN * vessel_L * _MIN_PER_H


def is_gentle(rate_L_per_h: float, vessel_L: float) -> bool:
    """Tell whether a flow through a vessel lets its bed lie."""
    return rate_L_per_h <= gentle_L_per_h(vessel_L)


def usual_delivery_L(equipment: Equipment) -> float | None:
    """Return what comes through the vessel in one piece, L: a dose, or what drained back."""
    if equipment.setup.delivery is Delivery.TOP_OFF_VESSEL:
        return equipment.setup.drain_back_L
    return equipment.dose_L


def lifts_bed(equipment: Equipment, *, siphoned: bool = False) -> bool:
    """Tell whether a flow through this set-up lifts the bed; an unknown flow does.

    False without a vessel, and where its volume is unknown (see `bed_is_unknown`).

    Parameters
    ----------
    equipment : Equipment
        With its vessel and its pump.
    siphoned : bool
        The water comes by a siphon: nobody knows its flow, whatever the pump gives.
    """
    vessel, rate = equipment.setup.vessel_L, _flow(equipment, siphoned=siphoned)
    if not equipment.through_vessel or vessel is None:
        return False
    if rate is None or not is_gentle(rate.high, vessel):
        return True
    delivery = usual_delivery_L(equipment)
    return delivery is not None and delivery > SURGE_DOSE_SHARE * vessel


def bed_is_unknown(equipment: Equipment, *, siphoned: bool = False) -> bool:
    """Tell whether powder may come along of which nobody knows how much."""
    if equipment.through_vessel and equipment.setup.vessel_L is None:
        return True
    return lifts_bed(equipment, siphoned=siphoned) and equipment.charge_g is None


def lifted_g(equipment: Equipment, litres: Span, *, siphoned: bool = False) -> Span:
    """Return the pure powder that so many litres carry out, g; none where the bed lies.

    Nothing is counted where `bed_is_unknown`. An unknown flow may also be a gentle one: at the
    good end nothing comes.
    """
    vessel, charge = equipment.setup.vessel_L, equipment.charge_g
    if vessel is None or charge is None or not lifts_bed(equipment, siphoned=siphoned):
        return NO_POWDER
    ends = zip(charge, litres, strict=True)
    low, best, high = (grams * washed_out(each, vessel) for grams, each in ends)
    is_known = _flow(equipment, siphoned=siphoned) is not None
    return Span(low if is_known else 0.0, best, high)


def _flow(equipment: Equipment, *, siphoned: bool) -> Span | None:
    return None if siphoned else equipment.rate_L_per_h


def washed_out(litres: float, vessel_L: float) -> float:
    """Share of a stirred-up charge that so much flow carries out of a mixed vessel."""
    return 1.0 - exp(-litres / vessel_L)
