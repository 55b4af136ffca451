"""The demand that the keeper entered, as it is to be read with the volume of today."""

from typing import Final

from engine.demand.facts import Facts
from engine.demand.inputs import Inputs
from engine.records import Setup
from engine.vocabulary import MEQ_PER_DKH

# What tanks usually take, quiet ones at the low end: outside the app asks back (common practice,
# no source).
USUAL_DEMAND_MEQ_PER_L_PER_DAY: Final = (0.5 * MEQ_PER_DKH, 4.0 * MEQ_PER_DKH)
# "What I dose now holds steady": the entry is what is given (common practice, no source).
HELD_SHARE: Final = 0.05


def entered_demand_meq_per_L_per_day(facts: Facts, setup: Setup, inputs: Inputs) -> float | None:
    """Return the entered demand, None where none was entered.

    A keeper whose entry is what he gives said that it holds his tank steady. That is an amount a
    day: when the volume is corrected in a later set-up, the amount stays and each litre's share
    changes. A demand that does not match what was given was read off tests, and each litre's
    share of it stays.

    Parameters
    ----------
    facts, setup, inputs
        The system and what went into it.
    """
    entered = setup.entered_demand_meq_per_L_per_day
    first = _entered_in(facts, setup)
    start = inputs.settings.known_from
    if entered is None or first.net_volume_L == setup.net_volume_L or start is None:
        return entered
    moment = max(first.at, start)
    given = inputs.lime_meq_per_day(moment) + inputs.second_meq_per_day(moment)
    if abs(given / first.net_volume_L - entered) > HELD_SHARE * entered:
        return entered
    return entered * first.net_volume_L / setup.net_volume_L


def _entered_in(facts: Facts, setup: Setup) -> Setup:
    """Return the first of the set-ups that carry this entry on to the one in force."""
    first = setup
    for earlier in reversed(facts.of(Setup)):
        if earlier.entered_demand_meq_per_L_per_day != setup.entered_demand_meq_per_L_per_day:
            break
        first = earlier
    return first
