"""How strong the limewater that reaches the sump is, and was: measured, or assumed saturated.

A measured strength holds until the next recharge. What a later check finds is taken to have
come about over the last days before it: a vessel stays near saturation and then falls abruptly.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.demand.facts import THROUGH_VESSEL, Facts
from engine.limewater import (
    SOLUBILITY_HIGH_FACTOR,
    SOLUBILITY_LOW_FACTOR,
    saturated_alkalinity_meq_per_L,
    solubility_g_per_L,
)
from engine.log.ledger import merged
from engine.log.timeline import Line
from engine.reasons import Code, Reason, reason
from engine.records import Container, Delivery, LimewaterStrength, Recharge, Setup, StrengthMethod
from engine.units import Span
from engine.vocabulary import Z90

# Common practice, no source: clear liquid above undissolved powder is near saturation.
ASSUMED_SHARE: Final = Span(0.9, 1.0, 1.0)
# Below this a recharge is due and the pump is never turned up instead (common practice).
WEAK_SHARE: Final = 0.9
# How well a mix of weighed powder and measured water is known (common practice, no source).
MIX_ERROR_SHARE: Final = 0.10
_LEAST_MIX_SHARE: Final = 0.01
# A strength check is due weekly (common practice); after twice that the keeper is told.
CHECK_OLD_DAYS: Final = 14.0
# The fall from near saturation to a weak output takes about so long (estimate, no source).
FALL: Final = timedelta(days=5.0)
# Half-width of the 90 % interval: meter 0.03, kit 0.05 as one standard deviation (common
# practice, no source); a titration as good as the meter (estimate).
_ERROR_SHARE: Final = {
    StrengthMethod.CONDUCTIVITY: 0.03 * Z90,
    StrengthMethod.DILUTION: 0.05 * Z90,
    StrengthMethod.TITRATION: 0.03 * Z90,
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
    source: str  # "assumed", "mixed" (weaker on purpose) or "measured"
    measured_at: datetime | None
    reasons: tuple[Reason, ...]

    @property
    def is_weak(self) -> bool:
        """Whether the limewater is measurably weaker than a charged vessel gives."""
        return self.source == "measured" and self.share.best < WEAK_SHARE


def strength_now(facts: Facts, setup: Setup) -> Strength:
    """Return the strength at the moment of the facts."""
    saturated = saturated_alkalinity_meq_per_L(setup.lime_temperature_degC)
    check = _check_in_force(facts)
    mixed = None if check else _mixed_now(facts, setup)
    low = SOLUBILITY_LOW_FACTOR
    high = SOLUBILITY_HIGH_FACTOR
    share = ASSUMED_SHARE
    if check is not None:
        share = _measured_share(check)
        low, high = (1.0, 1.0) if check.method in _ABSOLUTE else (low, high)
    elif mixed is not None:
        share = Span(
            mixed * (1.0 - MIX_ERROR_SHARE), mixed, min(1.0, mixed * (1 + MIX_ERROR_SHARE))
        )
        low = high = 1.0  # weighed, not dissolved to saturation
    weak = check is not None and share.best < WEAK_SHARE
    as_saturated = weak or setup.delivery is Delivery.TOP_OFF_CONTAINER
    return Strength(
        share=share,
        meq_per_L=Span(
            share.low * saturated * low, share.best * saturated, share.high * saturated * high
        ),
        saturated_meq_per_L=saturated,
        unsafe_meq_per_L=max(SOLUBILITY_HIGH_FACTOR, share.high * high) * saturated,
        planning_meq_per_L=saturated if as_saturated else share.best * saturated,
        source="measured" if check else "assumed" if mixed is None else "mixed",
        measured_at=None if check is None else check.at,
        reasons=_reasons(facts, check, share, saturated, mixed is not None),
    )


def strength_line(facts: Facts, setup: Setup) -> Line:
    """Return the share of saturation over time."""
    points: list[tuple[datetime, float]] = []
    for record in merged(facts.of(LimewaterStrength), facts.of(Recharge)):
        if isinstance(record, LimewaterStrength):
            if points and record.at - FALL > points[-1][0]:
                points.append((record.at - FALL, points[-1][1]))
            points.append((record.at, record.fraction_of_saturation))
        elif isinstance(record, Recharge):
            held = points[-1][1] if points else ASSUMED_SHARE.best
            points += [(record.at, held), (record.at, _mix_share(record, setup))]
    return Line(tuple(points) or ((facts.now, ASSUMED_SHARE.best),))


def _mix_share(charge: Recharge, setup: Setup) -> float:
    """Return the share of saturation that a charge of powder gives: below 1 where it is too little.

    A stirred vessel is charged beyond saturation. For a lime container the powder decides; of
    unknown water it is taken as enough.
    """
    water_L = charge.water_L or setup.lime_container_L
    vessel = charge.container is Container.VESSEL or setup.delivery in THROUGH_VESSEL
    if vessel or water_L is None:
        return ASSUMED_SHARE.best
    saturated_g = water_L * solubility_g_per_L(setup.lime_temperature_degC)
    return min(1.0, max(_LEAST_MIX_SHARE, charge.powder_g * setup.powder_assay / saturated_g))


def strength_is_known(facts: Facts, setup: Setup) -> bool:
    """Tell whether the newest mix can be judged: by a check since, or by its litres."""
    charge = facts.last(Recharge)
    if charge is None or setup.delivery in THROUGH_VESSEL or _check_in_force(facts) is not None:
        return True
    in_container = charge.container is Container.LIME
    return not in_container or bool(charge.water_L or setup.lime_container_L)


def _mixed_now(facts: Facts, setup: Setup) -> float | None:
    """Return the share of the mix in use, None where it is saturated or not known."""
    charge = facts.last(Recharge)
    share = 1.0 if charge is None else _mix_share(charge, setup)
    return share if share < WEAK_SHARE else None


def _check_in_force(facts: Facts) -> LimewaterStrength | None:
    check, recharge = facts.last(LimewaterStrength), facts.last(Recharge)
    if check is None or (recharge is not None and recharge.at > check.at):
        return None
    return check


def _measured_share(check: LimewaterStrength) -> Span:
    best, error = check.fraction_of_saturation, _ERROR_SHARE[check.method]
    return Span(max(0.0, best - error), best, best + error)


def _reasons(
    facts: Facts, check: LimewaterStrength | None, share: Span, saturated: float, mixed: bool
) -> tuple[Reason, ...]:
    numbers = {"strength_share": share.best, "strength_meq_per_L": share.best * saturated}
    if check is None:
        return (reason(Code.STRENGTH_MIXED if mixed else Code.STRENGTH_ASSUMED, **numbers),)
    age = facts.age_days(check.at)
    found = [reason(Code.STRENGTH_MEASURED, **numbers, age_days=age)]
    if age > CHECK_OLD_DAYS:
        found.append(reason(Code.STRENGTH_CHECK_OLD, age_days=age))
    # A top-off container is mixed as weak as the evaporation asks.
    meant = facts.setup is not None and facts.setup.delivery is Delivery.TOP_OFF_CONTAINER
    if share.best < WEAK_SHARE and not meant:
        found.append(reason(Code.WEAK_LIME, strength_share=share.best))
    return tuple(found)
