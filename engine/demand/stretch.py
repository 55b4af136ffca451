"""What happens to alkalinity between two moments, consumption apart: inputs and water changes."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from engine.demand.inputs import Inputs
from engine.log.timeline import days_between
from engine.records import Addition, Setup, WaterChange
from engine.vocabulary import MEQ_PER_DKH

# How far new salt water of unknown alkalinity may lie from the tank's, one standard deviation
# (common practice, no source).
UNKNOWN_WATER_MEQ_PER_L: Final = 1.0 * MEQ_PER_DKH


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Alkalinity after = keep * before - demand_days * demand + given; meq/L, days."""

    days: float
    keep: float
    demand_days: float
    given: float
    lime: float  # part of given
    inputs: float  # part of given that scales with 1 / volume: all but the new salt water
    variance: float  # of new water that is unknown, and of a strength that fell unseen


def stretch(inputs: Inputs, setup: Setup, start: datetime, end: datetime) -> Stretch:
    """Return what happened in (start, end].

    Notes
    -----
    A water change dilutes what came before it, consumption included. Where the new water's
    alkalinity is not on record it is taken as the tank's own, with an error.
    """
    volume = setup.net_volume_L
    keep, demand_days = 1.0, 0.0
    given = lime = whole = variance = 0.0
    moment = start
    for event in _events(inputs, start, end):
        piece_lime = inputs.lime_meq(moment, event.at) / volume
        piece = piece_lime + inputs.other_meq(moment, event.at) / volume
        given, lime, whole = given + piece, lime + piece_lime, whole + piece
        demand_days += days_between(moment, event.at)
        moment = event.at
        if isinstance(event, Addition):
            given += event.alkalinity_meq / volume
            whole += event.alkalinity_meq / volume
            continue
        share = min(1.0, event.volume_L / volume)
        new = event.new_total_alkalinity_meq_per_L
        if new is None:
            variance += (share * UNKNOWN_WATER_MEQ_PER_L) ** 2
            continue
        left = 1.0 - share
        keep, demand_days, variance = keep * left, demand_days * left, variance * left * left
        given, lime, whole = given * left + share * new, lime * left, whole * left
    last_lime = inputs.lime_meq(moment, end) / volume
    last = last_lime + inputs.other_meq(moment, end) / volume
    return Stretch(
        days=days_between(start, end),
        keep=keep,
        demand_days=demand_days + days_between(moment, end),
        given=given + last,
        lime=lime + last_lime,
        inputs=whole + last,
        variance=variance + (inputs.lime_doubt_meq(start, end) / volume) ** 2,
    )


def _events(inputs: Inputs, start: datetime, end: datetime) -> list[Addition | WaterChange]:
    found = [*inputs.additions(start, end), *inputs.water_changes(start, end)]
    return sorted(found, key=lambda record: (record.at, record.id))
