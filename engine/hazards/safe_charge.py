"""The largest powder charge: what a tip-over forgives, and what a flow may carry out.

Container and charge go together: where the pump lifts the bed, the charge counts what the
recommended container can wash out of the vessel, so that both applied stay below the band. A
siphon is not counted here: what lies in a vessel is forgiven only with a siphon break.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.hazards.codes import HazardCode, hazard_reason
from engine.hazards.lifted_bed import lifts_bed, washed_out
from engine.hazards.safe_sizes import SafeSize, bed_grams, rounded_down

if TYPE_CHECKING:
    from engine.hazards.bands import Band
    from engine.hazards.equipment import Equipment
    from engine.hazards.start import Start
    from engine.reasons import Reason

# Below this a charge is a nuisance, and the vessel is secured instead. Common practice, no source.
PRACTICAL_CHARGE_DAYS: Final = 7.0


def charge_size(
    start: Start, equipment: Equipment, container: SafeSize | None, tipped: SafeSize | None
) -> SafeSize | None:
    """Return the powder as weighed that may lie there: every gram taken as pure.

    Parameters
    ----------
    start, equipment
        As `engine.hazards.hazard.assess` finds them.
    container : SafeSize or None
        The container that goes with it, for the same band.
    tipped : SafeSize or None
        From `tipped_size`, for the same band.
    """
    vessel = equipment.setup.vessel_L
    if tipped is None or vessel is None or not lifts_bed(equipment):
        return tipped
    if container is None or container.guaranteed <= 0.0:
        return tipped
    source = equipment.source_L
    litres = container.guaranteed if source is None else min(source, container.guaranteed)
    share = washed_out(litres, vessel)
    carried = bed_grams(start, equipment, tipped.band, litres, share=share)
    return SafeSize(
        band=tipped.band,
        guaranteed=min(tipped.guaranteed, carried.guaranteed),
        middle=min(tipped.middle, carried.middle),
    )


def tipped_size(start: Start, equipment: Equipment, band: Band) -> SafeSize | None:
    """Return the powder as weighed that a tip-over forgives; None without what it lies in."""
    bed_L = equipment.bed_L
    if bed_L is None:
        return None
    # A lime container's own limewater is made of the same charge.
    own = 0.0 if equipment.through_vessel else bed_L * equipment.strength_meq_per_L.low
    own_g = own / MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    bed = bed_grams(start, equipment, band, bed_L)
    return SafeSize(
        band=band,
        guaranteed=rounded_down(bed.guaranteed + own_g) if bed.guaranteed > 0.0 else 0.0,
        middle=bed.middle + own_g if bed.middle > 0.0 else 0.0,
    )


def charge_days(equipment: Equipment, charge_g: float | None) -> float | None:
    """Return how long a charge lasts at the present dose, d."""
    given = equipment.lime_L_per_day
    if charge_g is None or not given:
        return None
    use_g = given * equipment.strength_meq_per_L.best / MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    return charge_g * equipment.setup.powder_assay / use_g


def charge_reasons(
    equipment: Equipment, charge: SafeSize | None, tipped: SafeSize | None
) -> tuple[Reason, ...]:
    """Return the charge as sentences: what bounds it, and whether it is worth mixing."""
    if charge is None or tipped is None:
        return ()
    grams = charge.guaranteed
    if grams <= 0.0 < equipment.old_bed_g:
        return (hazard_reason(HazardCode.CHARGE_OLD_BED, old_bed_g=equipment.old_bed_g),)
    if grams <= 0.0:
        return (hazard_reason(HazardCode.CHARGE_NONE),)
    is_carried = grams < tipped.guaranteed
    code = HazardCode.CHARGE_CARRIED_OUT if is_carried else HazardCode.CHARGE
    found = [hazard_reason(code, charge_g=grams)]
    days = charge_days(equipment, grams)
    if days is not None and days < PRACTICAL_CHARGE_DAYS:
        found.append(
            hazard_reason(
                HazardCode.CHARGE_TOO_SMALL,
                charge_days=days,
                practical_days=PRACTICAL_CHARGE_DAYS,
            )
        )
    return tuple(found)
