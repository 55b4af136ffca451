"""A slug of lime through the top-off that nobody has tested yet: an overflow, a stuck float.

Where the top-off draws on lime, litres beyond what evaporates are limewater in the tank. Until
alkalinity is tested again limewater stays off.
"""

from datetime import datetime, timedelta
from typing import Final

from engine.demand.alkalinity_tests import ALKALINITY
from engine.demand.facts import THROUGH_TOP_OFF, Facts
from engine.demand.inputs import Inputs
from engine.demand.strength import Strength
from engine.log.timeline import days_between
from engine.plan.evaporation import spells_since
from engine.plan.happenings import SKIMMER_OVERFLOW, TOP_OFF_SLUG
from engine.reasons import Code, Reason, reason
from engine.records import Happening, Setup
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH

# A refill or happening counts until a test; after so long without any the rule for old tests
# holds anyway. A rise that is told, as for a doubt at entry: 0.5 dKH (our choice, no source).
UNTESTED: Final = timedelta(days=14)
TOLD_MEQ_PER_L: Final = 0.5 * MEQ_PER_DKH
_USUAL_SALINITY: Final = 35.0
_LOOK_BACK: Final = timedelta(days=28)


def slug_reason(
    facts: Facts, setup: Setup, inputs: Inputs, strength: Strength, evaporation: Span | None
) -> Reason | None:
    """Return that lime may have come in a slug since the last alkalinity test, with its size.

    Parameters
    ----------
    facts, setup, inputs, strength
        The system.
    evaporation : Span or None
        L/day; None leaves the size unsaid.
    """
    if setup.delivery not in THROUGH_TOP_OFF:
        return None
    tested = facts.last_sample(ALKALINITY)
    since = facts.now - UNTESTED
    if tested is not None:
        since = max(since, tested.at)
    extra_L = _extra_L(facts, setup, inputs, evaporation, since)
    rise = extra_L * strength.meq_per_L.best / setup.net_volume_L
    happened = any(
        h.what in (SKIMMER_OVERFLOW, TOP_OFF_SLUG) for h in facts.of(Happening) if h.at > since
    )
    if rise >= TOLD_MEQ_PER_L:
        return _sized(facts, setup, strength, extra_L)
    return reason(Code.SLUG_UNTESTED) if happened else None


def _extra_L(
    facts: Facts, setup: Setup, inputs: Inputs, evaporation: Span | None, since: datetime
) -> float:
    """Return the most that one refill since a moment shows beyond what was usual before it, L."""
    spells = spells_since(facts, setup, inputs, facts.now - _LOOK_BACK)
    if evaporation is None:
        return 0.0
    extra = 0.0
    for place, spell in enumerate(spells):
        if spell.end <= since:
            continue
        rates = sorted(earlier.rate_L_per_day for earlier in spells[:place])
        usual = rates[len(rates) // 2] if rates else evaporation.high
        days = days_between(spell.start, spell.end)
        extra = max(extra, (spell.rate_L_per_day - usual) * days)
    return extra


def _sized(facts: Facts, setup: Setup, strength: Strength, extra_L: float) -> Reason:
    volume, error = setup.net_volume_L, setup.net_volume_error_share
    salinity = facts.last_sample("salinity")
    before = _USUAL_SALINITY if salinity is None else salinity.value
    return reason(
        Code.SLUG_SIZED,
        extra_L=extra_L,
        rise_low_meq_per_L=extra_L * strength.meq_per_L.low / (volume * (1.0 + error)),
        rise_high_meq_per_L=extra_L * strength.unsafe_meq_per_L / (volume * (1.0 - error)),
        salinity_PSU=before * max(0.0, 1.0 - extra_L / volume),
    )
