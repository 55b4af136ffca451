"""What makes a set-up safe: sizes that cannot pass a band, and which change would do it.

Everything here is at the hazard's bad end: what is recommended stays below the chosen band even
there, closed to the air. Common practice, no source, apart from the chemistry.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Final

from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.hazards.bands import LIMIT_OF, LIVESTOCK_BAND, Band, rank
from engine.hazards.case import pH_reason
from engine.hazards.codes import HazardCode, hazard_reason
from engine.hazards.hazard import WARNED_KINDS
from engine.hazards.lifted_bed import lifts_bed
from engine.hazards.safe_alternatives import Alternative, alternatives
from engine.hazards.safe_sizes import (
    SafeSize,
    bed_grams,
    clear_litres,
    cut_off_h,
    rounded_down,
    source_litres,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from engine.hazards.case import HazardCase
    from engine.hazards.equipment import Equipment
    from engine.hazards.hazard import Hazards
    from engine.hazards.start import Start
    from engine.reasons import Reason

# Below this a charge is a nuisance, and the vessel is secured instead.
PRACTICAL_CHARGE_DAYS: Final = 7.0
# Ten times too much must still be forgiven, so one dose is a tenth of what is.
DOSE_SHARE: Final = 0.1
ML_PER_L: Final = 1000.0
SHOWN_BANDS: Final = (Band.STOP_LIME, Band.ACT_NOW, Band.EMERGENCY)


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeSetup:
    """What this system forgives, and what would make it safe.

    Every figure is None where it is unknown, and 0 where nothing at all is forgiven.
    """

    band: Band  # that must not be reached
    containers: tuple[SafeSize, ...]  # L lost at once, mildest band first
    container_L: float | None  # largest lime or day container for the chosen band
    cut_off_h: float | None  # longest continuous run of the lime pump
    charges: tuple[SafeSize, ...]  # g as weighed in a tip-over, as `containers`
    charge_g: float | None  # largest powder charge that a tip-over forgives
    charge_days: float | None  # that it would last at the present dose
    dose_L: float | None  # largest single dose
    alternatives: tuple[Alternative, ...]
    worst: HazardCase | None  # what the verdict speaks of
    verdict: tuple[Reason, ...]  # what happens, and what would stop it: one line
    reasons: tuple[Reason, ...]

    @property
    def reaches_band(self) -> bool:
        """Whether Today warns: one fault that equipment could settle reaches the band."""
        return self.worst is not None


def verdict(hazards: Hazards, *, band: Band | None = None) -> SafeSetup:
    """Return what makes a set-up safe, and the verdict on it as it is.

    Parameters
    ----------
    hazards : Hazards
        From `engine.hazards.hazard.assess`.
    band : Band, optional
        That must not be reached even at the bad end; by default the set-up's, which is act now
        (pH_nbs 8.8) unless chosen. At STOP_LIME (8.6) a bright afternoon alone can leave no room.
    """
    start, equipment = hazards.start, hazards.equipment
    if band is None:
        band = Band(equipment.setup.hazard_band) if equipment else LIVESTOCK_BAND
    if start is None or equipment is None:
        return _unknown(hazards, band)
    found = (source_litres(start, equipment, each) for each in _bands(band))
    containers = tuple(each for each in found if each is not None)
    size = next((each for each in containers if each.band is band), None)
    litres = None if size is None else size.guaranteed
    charges = tuple(_charges(start, equipment, band))
    charge_g = next((each.guaranteed for each in charges if each.band is band), None)
    sizes = _Sizes(
        litres=litres,
        cut_off_h=None if litres is None else cut_off_h(equipment, litres),
        charge_g=charge_g,
        charge_days=_charge_days(equipment, charge_g),
    )
    worst = _worst(hazards, band)
    return SafeSetup(
        band=band,
        containers=containers,
        container_L=litres,
        cut_off_h=sizes.cut_off_h,
        charges=charges,
        charge_g=charge_g,
        charge_days=sizes.charge_days,
        dose_L=None if litres is None else rounded_down(DOSE_SHARE * litres),
        alternatives=alternatives(hazards, band, litres or 0.0, sizes.cut_off_h),
        worst=worst,
        verdict=_verdict(hazards, worst, band, litres),
        reasons=_reasons(start, equipment, sizes),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sizes:
    litres: float | None
    cut_off_h: float | None
    charge_g: float | None
    charge_days: float | None


def _bands(band: Band) -> tuple[Band, ...]:
    return tuple(sorted({*SHOWN_BANDS, band} - {Band.BELOW}, key=rank))


def _unknown(hazards: Hazards, band: Band) -> SafeSetup:
    return SafeSetup(
        band=band,
        containers=(),
        container_L=None,
        cut_off_h=None,
        charges=(),
        charge_g=None,
        charge_days=None,
        dose_L=None,
        alternatives=(),
        worst=None,
        verdict=(hazard_reason(HazardCode.VERDICT_UNKNOWN), *hazards.reasons),
        reasons=hazards.reasons,
    )


def _charges(start: Start, equipment: Equipment, band: Band) -> Iterator[SafeSize]:
    """Yield the powder as weighed whose tip-over is forgiven: every gram taken as pure."""
    bed_L = equipment.bed_L
    if bed_L is None:
        return
    # A lime container's own limewater is made of the same charge.
    own = 0.0 if equipment.through_vessel else bed_L * equipment.strength_meq_per_L.low
    own_g = own / MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    for each in _bands(band):
        bed = bed_grams(start, equipment, each, bed_L)
        yield SafeSize(
            band=each,
            guaranteed=rounded_down(bed.guaranteed + own_g) if bed.guaranteed > 0.0 else 0.0,
            middle=bed.middle + own_g if bed.middle > 0.0 else 0.0,
        )


def _charge_days(equipment: Equipment, charge_g: float | None) -> float | None:
    given = equipment.lime_L_per_day
    if charge_g is None or not given:
        return None
    use_g = given * equipment.strength_meq_per_L.best / MEQ_PER_GRAM_CALCIUM_HYDROXIDE
    return charge_g * equipment.setup.powder_assay / use_g


def _worst(hazards: Hazards, band: Band) -> HazardCase | None:
    """Return the worst warned case, one that takes time before one that is over at once."""
    reaching = [case for case in hazards.warnable if rank(case.band_bad) >= rank(band)]
    running = [case for case in reaching if case.middle.rate_L_per_h is not None]
    return next(iter(running or reaching), None)


def _verdict(
    hazards: Hazards, worst: HazardCase | None, band: Band, litres: float | None
) -> tuple[Reason, ...]:
    band_pH = LIMIT_OF[band].pH_nbs
    if worst is None:
        unknown = [case.kind for case in hazards.unknown if case.kind in WARNED_KINDS]
        code = HazardCode.VERDICT_PARTLY_UNKNOWN if unknown else HazardCode.VERDICT_HOLDS
        return (hazard_reason(code, band_pH=band_pH),)
    said = pH_reason(worst, up_to=Band.EMERGENCY)
    if litres is None:
        return (said, hazard_reason(HazardCode.SIZE_UNKNOWN))
    if litres <= 0.0:
        return (said, hazard_reason(HazardCode.NO_ROOM, band_pH=band_pH))
    would = hazard_reason(HazardCode.CONTAINER_WOULD_HOLD, container_L=litres, band_pH=band_pH)
    return (said, would)


def _reasons(start: Start, equipment: Equipment, sizes: _Sizes) -> tuple[Reason, ...]:
    """Return the figures as sentences: scale, container rule, cut-off, charge, dose."""
    emergency = clear_litres(start, equipment, Band.EMERGENCY)
    volume = start.middle.volume_L
    found = [
        hazard_reason(
            HazardCode.SYSTEM_SCALE,
            net_volume_L=volume,
            low_L=emergency.guaranteed,
            middle_L=emergency.middle,
            middle_share=emergency.middle / volume,
            band_pH=LIMIT_OF[Band.EMERGENCY].pH_nbs,
        ),
        *_container_rule(start, equipment, sizes),
        *_cut_off_reasons(equipment, sizes),
        *_charge_reasons(equipment, sizes),
    ]
    if lifts_bed(equipment):
        found.append(hazard_reason(HazardCode.BED_COMES_ALONG))
    if sizes.litres:
        dose_mL = rounded_down(DOSE_SHARE * sizes.litres) * ML_PER_L
        found.append(hazard_reason(HazardCode.LARGEST_DOSE, dose_mL=dose_mL))
    return tuple(found)


def _container_rule(start: Start, equipment: Equipment, sizes: _Sizes) -> tuple[Reason, ...]:
    """Return the rule: N days of the present dose in one container are lost at once."""
    given, source = equipment.lime_L_per_day, equipment.source_L
    if not given or source is None:
        return ()
    rule = hazard_reason(
        HazardCode.CONTAINER_RULE,
        source_L=source,
        held_days=source / given,
        rise_meq_per_L=source * equipment.strength_meq_per_L.best / start.middle.volume_L,
    )
    if not sizes.litres or sizes.litres >= given:
        return (rule,)
    fills = float(ceil(given / sizes.litres))
    return (rule, hazard_reason(HazardCode.CONTAINER_FILLS, fills_count=fills))


def _cut_off_reasons(equipment: Equipment, sizes: _Sizes) -> tuple[Reason, ...]:
    rate, dose = equipment.rate_L_per_h, equipment.dose_L
    if sizes.cut_off_h is None or rate is None or sizes.cut_off_h <= 0.0:
        return ()
    if dose is None or dose <= sizes.cut_off_h * rate.low:
        return ()
    return (
        hazard_reason(
            HazardCode.CUT_OFF_BELOW_DOSE,
            cut_off_hours=sizes.cut_off_h,
            dose_hours=dose / rate.low,
        ),
    )


def _charge_reasons(equipment: Equipment, sizes: _Sizes) -> tuple[Reason, ...]:
    if sizes.charge_g is None:
        return ()
    if sizes.charge_g <= 0.0 < equipment.old_bed_g:
        return (hazard_reason(HazardCode.CHARGE_OLD_BED, old_bed_g=equipment.old_bed_g),)
    if sizes.charge_g <= 0.0:
        return (hazard_reason(HazardCode.CHARGE_NONE),)
    found = [hazard_reason(HazardCode.CHARGE, charge_g=sizes.charge_g)]
    if sizes.charge_days is not None and sizes.charge_days < PRACTICAL_CHARGE_DAYS:
        found.append(
            hazard_reason(
                HazardCode.CHARGE_TOO_SMALL,
                charge_days=sizes.charge_days,
                practical_days=PRACTICAL_CHARGE_DAYS,
            )
        )
    return tuple(found)
