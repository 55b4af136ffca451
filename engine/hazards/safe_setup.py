"""What makes a set-up safe: sizes that cannot pass a band, and which change would do it.

Everything here is at the hazard's bad end: what is recommended stays below the chosen band even
there, closed to the air. Common practice, no source, apart from the chemistry.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Final

from engine.demand.facts import BY_PUMP
from engine.hazards.bands import LIMIT_OF, LIVESTOCK_BAND, Band, rank
from engine.hazards.case import pH_reason
from engine.hazards.codes import HazardCode, hazard_reason
from engine.hazards.hazard import WARNED_KINDS
from engine.hazards.lifted_bed import lifts_bed
from engine.hazards.safe_alternatives import Alternative, alternatives
from engine.hazards.safe_charge import charge_days, charge_reasons, charge_size, tipped_size
from engine.hazards.safe_sizes import (
    SafeSize,
    clear_litres,
    cut_off_h,
    rounded_down,
    source_litres,
)

if TYPE_CHECKING:
    from engine.hazards.case import HazardCase
    from engine.hazards.equipment import Equipment
    from engine.hazards.hazard import Hazards
    from engine.hazards.start import Start
    from engine.reasons import Reason

# Ten times too much must still be forgiven, so one dose is a tenth of what is.
DOSE_SHARE: Final = 0.1
ML_PER_L: Final = 1000.0
MOST_DOSES: Final = 288  # a day, what a set-up can state
SHOWN_BANDS: Final = (Band.STOP_LIME, Band.ACT_NOW, Band.EMERGENCY)


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeSetup:
    """What this system forgives, and what would make it safe.

    Every figure is None where it is unknown, and 0 where nothing at all is forgiven.
    """

    band: Band  # that must not be reached
    containers: tuple[SafeSize, ...]  # L lost at once, mildest band first
    container_L: float | None  # largest lime or day container for the chosen band
    with_break_L: float | None  # the same once a siphon break is built in; None: nothing changes
    cut_off_h: float | None  # longest continuous run of the lime pump
    charges: tuple[SafeSize, ...]  # g as weighed that go with `containers`
    charge_g: float | None  # largest charge that a tip-over forgives, or a flow that lifts it
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
    sizes = _sizes(start, equipment, band)
    worst = _worst(hazards, band)
    return SafeSetup(
        band=band,
        containers=sizes.containers,
        container_L=sizes.litres,
        with_break_L=sizes.with_break_L,
        cut_off_h=sizes.cut_off_h,
        charges=sizes.charges,
        charge_g=None if sizes.charge is None else sizes.charge.guaranteed,
        charge_days=None
        if sizes.charge is None
        else charge_days(equipment, sizes.charge.guaranteed),
        dose_L=sizes.dose_L,
        alternatives=alternatives(
            hazards,
            band,
            container_L=sizes.with_break_L or sizes.litres or 0.0,
            pumped_L=sizes.pumped_L or 0.0,
            cut_off_h=sizes.cut_off_h,
        ),
        worst=worst,
        verdict=_verdict(hazards, worst, band, sizes),
        reasons=_reasons(start, equipment, sizes),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sizes:
    containers: tuple[SafeSize, ...]
    litres: float | None  # of the container for the chosen band, however it empties
    with_break_L: float | None
    pumped_L: float | None  # what the pump alone may bring
    cut_off_h: float | None
    charges: tuple[SafeSize, ...]
    charge: SafeSize | None
    tipped: SafeSize | None

    @property
    def dose_L(self) -> float | None:
        return None if self.pumped_L is None else rounded_down(DOSE_SHARE * self.pumped_L)


def _sizes(start: Start, equipment: Equipment, band: Band) -> _Sizes:
    """Return every size; container and charge of each band go together."""
    containers: dict[Band, SafeSize] = {}
    charges: dict[Band, SafeSize] = {}
    for each in _bands(band):
        size = source_litres(start, equipment, each, siphoned=equipment.may_siphon)
        if size is not None:
            containers[each] = size
        pumped = source_litres(start, equipment, each, siphoned=False)
        charge = charge_size(start, equipment, pumped, tipped_size(start, equipment, each))
        if charge is not None:
            charges[each] = charge
    chosen = containers.get(band)
    litres = None if chosen is None else chosen.guaranteed
    pumped = source_litres(start, equipment, band, siphoned=False)
    pumped_L = None if pumped is None else pumped.guaranteed
    return _Sizes(
        containers=tuple(containers.values()),
        litres=litres,
        with_break_L=pumped_L if (pumped_L or 0.0) > (litres or 0.0) else None,
        pumped_L=pumped_L,
        cut_off_h=None if pumped_L is None else cut_off_h(equipment, pumped_L),
        charges=tuple(charges.values()),
        charge=charges.get(band),
        tipped=tipped_size(start, equipment, band),
    )


def _bands(band: Band) -> tuple[Band, ...]:
    return tuple(sorted({*SHOWN_BANDS, band} - {Band.BELOW}, key=rank))


def _unknown(hazards: Hazards, band: Band) -> SafeSetup:
    return SafeSetup(
        band=band,
        containers=(),
        container_L=None,
        with_break_L=None,
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


def _worst(hazards: Hazards, band: Band) -> HazardCase | None:
    """Return the worst warned case, one that takes time before one that is over at once."""
    reaching = [case for case in hazards.warnable if rank(case.band_bad) >= rank(band)]
    running = [case for case in reaching if case.middle.rate_L_per_h is not None]
    return next(iter(running or reaching), None)


def _verdict(
    hazards: Hazards, worst: HazardCase | None, band: Band, sizes: _Sizes
) -> tuple[Reason, ...]:
    band_pH = LIMIT_OF[band].pH_nbs
    if worst is None:
        unknown = sizes.litres is None or any(c.kind in WARNED_KINDS for c in hazards.unknown)
        code = HazardCode.VERDICT_PARTLY_UNKNOWN if unknown else HazardCode.VERDICT_HOLDS
        return (hazard_reason(code, band_pH=band_pH),)
    said = pH_reason(worst, up_to=Band.EMERGENCY)
    if sizes.with_break_L:
        numbers = {"container_L": sizes.with_break_L, "band_pH": band_pH}
        return (said, hazard_reason(HazardCode.WITH_BREAK_WOULD_HOLD, **numbers))
    litres = sizes.litres
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
        *charge_reasons(equipment, sizes.charge, sizes.tipped),
        *_bed_reasons(equipment),
        *_dose_reasons(equipment, sizes),
    ]
    return tuple(found)


def _bed_reasons(equipment: Equipment) -> tuple[Reason, ...]:
    """Return that sizes count powder, and what a siphon break would allow instead."""
    if lifts_bed(equipment):
        return (hazard_reason(HazardCode.BED_COMES_ALONG),)
    if not lifts_bed(equipment, siphoned=equipment.may_siphon):
        return ()
    if equipment.charge_g is None:
        return (hazard_reason(HazardCode.SIPHON_BED_UNKNOWN),)
    grams = equipment.charge_g.high
    return (hazard_reason(HazardCode.SIPHON_BED_COUNTED, charge_g=grams),)


def _dose_reasons(equipment: Equipment, sizes: _Sizes) -> tuple[Reason, ...]:
    """Return the largest dose, and into how many the present day's lime must then be split."""
    if not sizes.dose_L:
        return ()
    largest = hazard_reason(HazardCode.LARGEST_DOSE, dose_mL=sizes.dose_L * ML_PER_L)
    setup, given = equipment.setup, equipment.lime_L_per_day
    split = None
    if setup.delivery in BY_PUMP and given is not None:
        split = dose_split(given, setup.doses_per_day, sizes.dose_L)
    return (split or largest,)


def dose_split(L_per_day: float, doses_per_day: int, largest_dose_L: float | None) -> Reason | None:
    """Return into how many doses a day's limewater must be split so that each is forgiven tenfold.

    The amount of a day is the limits' matter (engine/limits.py) and stays as it is.

    Parameters
    ----------
    L_per_day : float
        Limewater of a day, L, at least 0.
    doses_per_day : int
        As the pump is set, at least 1.
    largest_dose_L : float or None
        `SafeSetup.dose_L`; None or 0 gives no advice.

    Returns
    -------
    Reason or None
        None where the doses are small enough.
    """
    dose_L = L_per_day / doses_per_day
    if not largest_dose_L or dose_L <= largest_dose_L:
        return None
    numbers = {"dose_mL": dose_L * ML_PER_L, "largest_mL": largest_dose_L * ML_PER_L}
    count = ceil(L_per_day / largest_dose_L)
    if count > MOST_DOSES:
        return hazard_reason(HazardCode.DOSE_NOT_FORGIVEN, **numbers)
    return hazard_reason(HazardCode.DOSE_SPLIT, **numbers, doses_count=float(count))


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
    safe_L = sizes.with_break_L or sizes.litres
    if not safe_L or safe_L >= given:
        return (rule,)
    fills = float(ceil(given / safe_L))
    return (rule, hazard_reason(HazardCode.CONTAINER_FILLS, fills_count=fills, safe_L=safe_L))


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
