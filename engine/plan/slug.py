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
from engine.plan.evaporation import spells_since
from engine.plan.happenings import SKIMMER_OVERFLOW, TOP_OFF_SLUG
from engine.reasons import Code, Reason, reason
from engine.records import Happening, Setup
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH

# A refill or happening longer ago than this is past: a test would have come by now, or no sign
# of harm (our choice, no source). A rise that is told, as for a doubt at entry: 0.5 dKH.
FRESH: Final = timedelta(days=2)
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
    since = facts.now - FRESH
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
    """Return what the newest refill shows beyond the most that evaporates, L."""
    spells = spells_since(facts, setup, inputs, facts.now - _LOOK_BACK)
    if not spells or evaporation is None or spells[-1].end <= since:
        return 0.0
    newest, earlier = spells[-1], spells[:-1]
    rates = sorted(spell.rate_L_per_day for spell in earlier)
    usual = rates[len(rates) // 2] if rates else evaporation.high
    days = (newest.end - newest.start).total_seconds() / 86_400.0
    return max(0.0, (newest.rate_L_per_day - usual) * days)


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
