"""Powder: what lies in the vessel, how long it lasts, how much to weigh for a recharge."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from engine.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.errors import check_not_negative, check_positive
from engine.facts import THROUGH_VESSEL, Facts
from engine.inputs import Inputs
from engine.limewater import saturated_alkalinity_meq_per_L, solubility_g_per_L
from engine.reasons import Code, Reason, reason
from engine.records import Container, PowderStock, Recharge, Setup
from engine.units import Estimate, Quantity, Span, estimate, quantity

# Share of a charge that ends as sludge, and the error of the assay: common practice, no source.
SLUDGE_SHARE: Final = Span(0.05, 0.075, 0.10)
ASSAY_ERROR: Final = 0.03
# A recharge is due before less than this share of the charge is left (common practice).
RECHARGE_AT_SHARE: Final = 0.25
# Largest charge of a stirred vessel (common practice, no source).
LARGEST_CHARGE_G_PER_L: Final = 30.0
LARGEST_BED_SHARE: Final = 0.2
LOOSE_POWDER_G_PER_ML: Final = 0.32  # low end of the trade's bulk densities, from memory
RECHARGE_DAYS: Final = 14.0  # a usual charge: a fortnight (common practice, no source)
RESERVE_FACTOR: Final = 1.2
LONGEST_DAYS: Final = 90.0  # nothing is said about a time further off
# Scoops of one recharge are recorded within so long.
_ONE_RECHARGE: Final = timedelta(days=1)
_ML_PER_L: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Powder:
    """The powder in use and on the shelf."""

    container: Container  # VESSEL or LIME
    use: Estimate  # g/day of pure calcium hydroxide at the delivery of now
    left: Estimate  # g of pure, usable calcium hydroxide
    days_left: Estimate  # until spent; 90 means 90 or more
    days_to_recharge: Estimate  # until a quarter of the charge is left
    shelf: Quantity | None  # g of powder on the shelf, None when never counted
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """Powder to weigh for a recharge."""

    powder: Quantity  # g as weighed
    days: Quantity  # that it covers
    largest: Quantity | None  # g that the vessel allows
    reasons: tuple[Reason, ...]


def calcium_hydroxide_g_per_day(limewater_L_per_day: float, strength_meq_per_L: float) -> float:
    """Return the pure calcium hydroxide that leaves with limewater, g/day."""
    check_not_negative("limewater_L_per_day", limewater_L_per_day, "L/day")
    check_not_negative("strength_meq_per_L", strength_meq_per_L, "meq/L")
    return limewater_L_per_day * strength_meq_per_L / MEQ_PER_GRAM_CALCIUM_HYDROXIDE


def largest_charge_g(vessel_L: float) -> float:
    """Return the largest charge of a stirred vessel, g: 30 g a litre, bed at most a fifth."""
    check_positive("vessel_L", vessel_L, "L")
    by_bed = LARGEST_BED_SHARE * vessel_L * _ML_PER_L * LOOSE_POWDER_G_PER_ML
    return min(LARGEST_CHARGE_G_PER_L * vessel_L, by_bed)


def recharge(
    setup: Setup, *, limewater_L_per_day: float, strength_meq_per_L: float, days: float
) -> Charge:
    """Return the powder for a recharge that lasts a wanted time, capped by the vessel.

    Parameters
    ----------
    setup : Setup
        Vessel and assay.
    limewater_L_per_day, strength_meq_per_L : float
        What the charge is to supply.
    days : float
        How long it is to last, above 0.
    """
    check_positive("days", days, "d")
    pure_g = calcium_hydroxide_g_per_day(limewater_L_per_day, strength_meq_per_L) * days
    wanted = pure_g / setup.powder_assay / (1.0 - SLUDGE_SHARE.best)
    largest = None
    if setup.delivery in THROUGH_VESSEL and setup.vessel_L is not None:
        largest = largest_charge_g(setup.vessel_L)
    given = wanted if largest is None else min(wanted, largest)
    reasons: tuple[Reason, ...] = ()
    if given < wanted and largest is not None:
        numbers = {"wanted_g": wanted, "largest_g": largest, "charge_days": days * given / wanted}
        reasons = (reason(Code.CHARGE_CAPPED, **numbers),)
    return Charge(
        powder=quantity(given, "g"),
        days=quantity(days * given / wanted if wanted > 0.0 else days, "day"),
        largest=None if largest is None else quantity(largest, "g"),
        reasons=reasons,
    )


def saturated_recharge(setup: Setup, limewater_L_per_day: float) -> Charge:
    """Return the powder of a usual recharge: a fortnight of saturated limewater.

    However weak the old charge has become, the new one is to give saturated limewater again; so
    the plan and the procedure name the same grams.

    Parameters
    ----------
    setup : Setup
        Vessel, assay and the temperature where the lime dissolves.
    limewater_L_per_day : float
        What is delivered, or is to be.
    """
    return recharge(
        setup,
        limewater_L_per_day=limewater_L_per_day,
        strength_meq_per_L=saturated_alkalinity_meq_per_L(setup.lime_temperature_degC),
        days=RECHARGE_DAYS,
    )


def lime_container_powder_g(
    water_L: float, *, temperature_degC: float, assay: float, share_of_saturation: float = 1.0
) -> float:
    """Return the powder for a lime container, g as weighed.

    Parameters
    ----------
    water_L : float
        Fresh water in the container.
    temperature_degC : float
        Where the container stands, 0 to 50.
    assay : float
        Calcium hydroxide in the powder, above 0 to 1.
    share_of_saturation : float
        1 for saturated limewater: a reserve of a fifth is added, so that it stays saturated.
        Below 1 the powder is exact: the strength then follows the powder.
    """
    check_positive("water_L", water_L, "L")
    check_positive("assay", assay)
    check_positive("share_of_saturation", share_of_saturation)
    factor = RESERVE_FACTOR if share_of_saturation >= 1.0 else share_of_saturation
    return water_L * solubility_g_per_L(temperature_degC) * factor / assay


def powder_now(
    facts: Facts, setup: Setup, inputs: Inputs, strength_meq_per_L: Span
) -> Powder | Reason:
    """Return the powder balance since the last recharge, or why there is none.

    Only the last charge counts: an older bed is carbonate and sludge as likely as lime.
    """
    container = Container.VESSEL if setup.delivery in THROUGH_VESSEL else Container.LIME
    charges = [r for r in facts.of(Recharge) if r.container is container]
    if not charges or inputs.settings.at(charges[-1].at) is None:
        return reason(Code.POWDER_UNKNOWN)
    since = charges[-1].at
    charged_g = sum(r.powder_g for r in charges if r.at >= since - _ONE_RECHARGE)
    usable = _usable_g(charged_g, setup.powder_assay)
    error = inputs.lime_error_share
    end = max(since, facts.now)
    dosed = inputs.lime_meq(since, end) / MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    left = Span(
        max(0.0, usable.low - dosed * (1.0 + error)),
        max(0.0, usable.best - dosed),
        max(0.0, usable.high - dosed * (1.0 - error)),
    )
    lime_L = inputs.lime_L_per_day(facts.now)
    use = Span(*(calcium_hydroxide_g_per_day(lime_L, value) for value in strength_meq_per_L))
    kept = usable.best * RECHARGE_AT_SHARE
    days_left, due = _days(left, use), _days(_less(left, kept), use)
    return Powder(
        container=container,
        use=estimate(use, "g/day"),
        left=estimate(left, "g"),
        days_left=estimate(days_left, "day"),
        days_to_recharge=estimate(due, "day"),
        shelf=_shelf(facts),
        reasons=(_reason(use, days_left, due),),
    )


def _usable_g(charged_g: float, assay: float) -> Span:
    return Span(
        charged_g * max(0.0, assay - ASSAY_ERROR) * (1.0 - SLUDGE_SHARE.high),
        charged_g * assay * (1.0 - SLUDGE_SHARE.best),
        charged_g * min(1.0, assay + ASSAY_ERROR) * (1.0 - SLUDGE_SHARE.low),
    )


def _less(span: Span, amount: float) -> Span:
    return Span(*(max(0.0, value - amount) for value in span))


def _days(left: Span, use: Span) -> Span:
    pairs = ((left.low, use.high), (left.best, use.best), (left.high, use.low))
    return Span(
        *(min(LONGEST_DAYS, grams / rate) if rate > 0.0 else LONGEST_DAYS for grams, rate in pairs)
    )


def _reason(use: Span, days_left: Span, due: Span) -> Reason:
    numbers = {"use_g_per_day": use.best, "left_high_days": days_left.high}
    if due.best <= 0.0:
        return reason(Code.POWDER_LOW, **numbers)
    return reason(Code.POWDER_LEFT, **numbers, left_low_days=days_left.low)


def _shelf(facts: Facts) -> Quantity | None:
    shelf_g = None
    for record in facts.records:
        if isinstance(record, PowderStock):
            shelf_g = record.powder_g if record.counted else (shelf_g or 0.0) + record.powder_g
        elif isinstance(record, Recharge) and shelf_g is not None:
            shelf_g = max(0.0, shelf_g - record.powder_g)
    return None if shelf_g is None else quantity(shelf_g, "g")
