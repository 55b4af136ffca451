"""Powder to weigh: for a recharge of the stirred vessel, for a lime container, by the scoop."""

from dataclasses import dataclass
from typing import Final

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.demand.facts import THROUGH_VESSEL
from engine.errors import check_not_negative, check_positive
from engine.limewater import saturated_alkalinity_meq_per_L, solubility_g_per_L
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.units import Quantity, Span, quantity

# Shares of a charge, all common practice or estimate, no source. Sludge: grit, magnesia and
# what the bed buries. Dryness: what a closed tub has not yet taken up of the air's moisture.
SLUDGE_SHARE: Final = Span(0.05, 0.075, 0.10)
DRY_SHARE: Final = Span(0.98, 0.99, 1.0)
# Of what is dosed, this much more turns to carbonate by the air: RO water with 20 mg/L of CO2
# takes 2 % (practice); an open container more than a closed vessel.
CARBONATE_SHARE_VESSEL: Final = Span(0.0, 0.01, 0.02)
CARBONATE_SHARE_OPEN: Final = Span(0.0, 0.03, 0.06)
ASSAY_ERROR: Final = 0.03
# Largest charge of a stirred vessel that the bar still moves (common practice, no source).
LARGEST_CHARGE_G_PER_L: Final = 30.0
LARGEST_BED_SHARE: Final = 0.2
LOOSE_POWDER_G_PER_ML: Final = 0.32  # low end of the trade's bulk densities, from memory
SETTLED_POWDER_G_PER_ML: Final = 0.64  # high end
RECHARGE_DAYS: Final = 14.0  # a usual charge: a fortnight (common practice, no source)
RESERVE_FACTOR: Final = 1.2
_ML_PER_L: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """Powder to weigh for a recharge."""

    powder: Quantity  # g as weighed
    days: Quantity  # that it covers
    largest: Quantity | None  # g that the vessel allows
    reasons: tuple[Reason, ...]


def carbonate_share(setup: Setup) -> Span:
    """Return what turns to carbonate beside what is dosed, as a share of the latter."""
    return CARBONATE_SHARE_VESSEL if setup.delivery in THROUGH_VESSEL else CARBONATE_SHARE_OPEN


def recharge_days(setup: Setup) -> float:
    """Return how long the keeper wants a recharge to last, days."""
    return setup.powder_days or RECHARGE_DAYS


def calcium_hydroxide_g_per_day(limewater_L_per_day: float, strength_meq_per_L: float) -> float:
    """Return the pure calcium hydroxide that leaves with limewater, g/day."""
    check_not_negative("limewater_L_per_day", limewater_L_per_day, "L/day")
    check_not_negative("strength_meq_per_L", strength_meq_per_L, "meq/L")
    return limewater_L_per_day * strength_meq_per_L / MEQ_PER_GRAM_CALCIUM_HYDROXIDE


def usable_share(setup: Setup) -> float:
    """Return the lime that a weighed gram of powder gives: assay x dryness less sludge."""
    return setup.powder_assay * DRY_SHARE.best * (1.0 - SLUDGE_SHARE.best)


def weighed_g_per_day(setup: Setup, limewater_L_per_day: float, strength_meq_per_L: float) -> float:
    """Return the powder that a day of limewater takes, g as weighed."""
    pure_g = calcium_hydroxide_g_per_day(limewater_L_per_day, strength_meq_per_L)
    return pure_g * (1.0 + carbonate_share(setup).best) / usable_share(setup)


def largest_charge_g(vessel_L: float, old_bed_g: float = 0.0) -> float:
    """Return the largest charge of a stirred vessel, g.

    Parameters
    ----------
    vessel_L : float
        Its volume, above 0.
    old_bed_g : float
        What lies in it already, sludge included: with the charge at most a fifth of the height.
    """
    check_positive("vessel_L", vessel_L, "L")
    check_not_negative("old_bed_g", old_bed_g, "g")
    by_bed = LARGEST_BED_SHARE * vessel_L * _ML_PER_L * LOOSE_POWDER_G_PER_ML - old_bed_g
    return max(0.0, min(LARGEST_CHARGE_G_PER_L * vessel_L, by_bed))


def bed_height_share(bed_g: float, vessel_L: float) -> tuple[float, float]:
    """Return the share of the vessel's height that a bed fills: settled, and loose."""
    check_not_negative("bed_g", bed_g, "g")
    check_positive("vessel_L", vessel_L, "L")
    water_mL = vessel_L * _ML_PER_L
    settled = bed_g / SETTLED_POWDER_G_PER_ML / water_mL
    return min(1.0, settled), min(1.0, bed_g / LOOSE_POWDER_G_PER_ML / water_mL)


def recharge(
    setup: Setup,
    *,
    limewater_L_per_day: float,
    strength_meq_per_L: float,
    days: float,
    old_bed_g: float = 0.0,
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
    old_bed_g : float
        What lies in the vessel already.
    """
    check_positive("days", days, "d")
    wanted = weighed_g_per_day(setup, limewater_L_per_day, strength_meq_per_L) * days
    largest = None
    if setup.delivery in THROUGH_VESSEL and setup.vessel_L is not None:
        largest = largest_charge_g(setup.vessel_L, old_bed_g)
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
    """Return the powder of a usual recharge: saturated limewater for the days that are wanted.

    However weak the old charge has become, the new one is to give saturated limewater again; so
    the plan and the procedure name the same grams.

    Parameters
    ----------
    setup : Setup
        Vessel, assay, the days wanted (14 unless set), the temperature where the lime dissolves.
    limewater_L_per_day : float
        What is delivered, or is to be.
    """
    return recharge(
        setup,
        limewater_L_per_day=limewater_L_per_day,
        strength_meq_per_L=saturated_alkalinity_meq_per_L(setup.lime_temperature_degC),
        days=recharge_days(setup),
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
