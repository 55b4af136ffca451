"""How strong the limewater that reaches the sump is, and was: measured, or assumed saturated.

A measured strength holds until the next recharge. What a later check finds is taken to have
come about over the last days before it: a vessel stays near saturation and then falls abruptly.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.facts import Facts
from engine.limewater import (
    SOLUBILITY_HIGH_FACTOR,
    SOLUBILITY_LOW_FACTOR,
    saturated_alkalinity_meq_per_L,
)
from engine.reasons import Code, Reason, reason
from engine.records import LimewaterStrength, Recharge, Setup, StrengthMethod
from engine.timeline import Line
from engine.units import Span

# Common practice, no source: clear liquid above undissolved powder is near saturation.
ASSUMED_SHARE: Final = Span(0.9, 1.0, 1.0)
# Below this a recharge is due and the pump is never turned up instead (common practice).
WEAK_SHARE: Final = 0.9
# A strength check is due weekly (common practice); after twice that the keeper is told.
CHECK_OLD_DAYS: Final = 14.0
# The fall from near saturation to a weak output takes about so long (estimate, no source).
FALL: Final = timedelta(days=5.0)
# Half-width of the 90 % interval: meter 0.03, kit 0.05 as one standard deviation (common
# practice, no source); a titration as good as the meter (estimate).
_Z90: Final = 1.645
_ERROR_SHARE: Final = {
    StrengthMethod.CONDUCTIVITY: 0.03 * _Z90,
    StrengthMethod.DILUTION: 0.05 * _Z90,
    StrengthMethod.TITRATION: 0.03 * _Z90,
}
# These find the alkalinity itself; the error of the solubility table does not enter.
_ABSOLUTE: Final = (StrengthMethod.DILUTION, StrengthMethod.TITRATION)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """Strength now, as floats."""

    share: Span  # of saturation
    meq_per_L: Span
    saturated_meq_per_L: float
    # The most a litre can bring once the lime is fresh: the unsafe end for every limit.
    unsafe_meq_per_L: float
    # What a litre brings for planning: a weak vessel is recharged, not pumped harder.
    planning_meq_per_L: float
    source: str  # "assumed" or "measured"
    measured_at: datetime | None
    reasons: tuple[Reason, ...]

    @property
    def is_weak(self) -> bool:
        """Whether the limewater is measurably weaker than a charged vessel gives."""
        return self.share.best < WEAK_SHARE


def strength_now(facts: Facts, setup: Setup) -> Strength:
    """Return the strength at the moment of the facts."""
    saturated = saturated_alkalinity_meq_per_L(setup.lime_temperature_degC)
    check = _check_in_force(facts)
    if check is None:
        share, factors = ASSUMED_SHARE, (SOLUBILITY_LOW_FACTOR, SOLUBILITY_HIGH_FACTOR)
    else:
        share = _measured_share(check)
        factors = (
            (1.0, 1.0)
            if check.method in _ABSOLUTE
            else (SOLUBILITY_LOW_FACTOR, SOLUBILITY_HIGH_FACTOR)
        )
    low, high = factors
    weak = share.best < WEAK_SHARE
    return Strength(
        share=share,
        meq_per_L=Span(
            share.low * saturated * low, share.best * saturated, share.high * saturated * high
        ),
        saturated_meq_per_L=saturated,
        unsafe_meq_per_L=max(SOLUBILITY_HIGH_FACTOR, share.high * high) * saturated,
        planning_meq_per_L=saturated if weak else share.best * saturated,
        source="assumed" if check is None else "measured",
        measured_at=None if check is None else check.at,
        reasons=_reasons(facts, check, share, saturated),
    )


def strength_line(facts: Facts) -> Line:
    """Return the share of saturation over time."""
    points: list[tuple[datetime, float]] = []
    for record in facts.records:
        if isinstance(record, LimewaterStrength):
            if points and record.at - FALL > points[-1][0]:
                points.append((record.at - FALL, points[-1][1]))
            points.append((record.at, record.fraction_of_saturation))
        elif isinstance(record, Recharge):
            held = points[-1][1] if points else ASSUMED_SHARE.best
            points += [(record.at, held), (record.at, ASSUMED_SHARE.best)]
    return Line(tuple(points) or ((facts.now, ASSUMED_SHARE.best),))


def _check_in_force(facts: Facts) -> LimewaterStrength | None:
    check, recharge = facts.last(LimewaterStrength), facts.last(Recharge)
    if check is None or (recharge is not None and recharge.at > check.at):
        return None
    return check


def _measured_share(check: LimewaterStrength) -> Span:
    best, error = check.fraction_of_saturation, _ERROR_SHARE[check.method]
    return Span(max(0.0, best - error), best, best + error)


def _reasons(
    facts: Facts, check: LimewaterStrength | None, share: Span, saturated: float
) -> tuple[Reason, ...]:
    numbers = {"strength_share": share.best, "strength_meq_per_L": share.best * saturated}
    if check is None:
        return (reason(Code.STRENGTH_ASSUMED, **numbers),)
    age = facts.age_days(check.at)
    found = [reason(Code.STRENGTH_MEASURED, **numbers, age_days=age)]
    if age > CHECK_OLD_DAYS:
        found.append(reason(Code.STRENGTH_CHECK_OLD, age_days=age))
    if share.best < WEAK_SHARE:
        found.append(reason(Code.WEAK_LIME, strength_share=share.best))
    return tuple(found)
