"""The page "What could go wrong": every accident, what would settle it, how sure that is."""

from dataclasses import dataclass
from typing import Final

from engine.hazards.bands import LIMIT_OF, Band, rank
from engine.hazards.case import BandTime, HazardCase, Times
from engine.hazards.codes import HazardCode, Kind
from engine.hazards.rise import Rise
from engine.hazards.safe_alternatives import Alternative
from engine.hazards.safe_setup import SafeSetup
from engine.reasons import Reason
from mobile.state.dangers import Dangers
from mobile.state.sentences import told, trimmed
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.hazard import BANDS, KINDS, PRECIPITATION
from mobile.texts.hazard import TEXTS as SAID
from mobile.texts.hazard_page import IF_KINDS, TEXTS

_TONES: Final[dict[Band, Tone]] = {
    Band.BELOW: "good",
    Band.STOP_LIME: "note",
    Band.ACT_NOW: "warn",
    Band.EMERGENCY: "danger",
    Band.EXPECT_LOSSES: "danger",
}
_SCALE: Final = (HazardCode.SYSTEM_SCALE, HazardCode.CONTAINER_RULE, HazardCode.CONTAINER_FILLS)
_WANT_TEST: Final = (HazardCode.ALKALINITY_MISSING, HazardCode.ALKALINITY_OLD)
_CALM_OMEGA: Final = 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseView:
    """One accident: what happens, when, and how bad it gets."""

    key: str
    title: str
    band: str
    tone: Tone
    lead: str
    times: tuple[str, ...]
    figures: tuple[str, ...]  # worst point, and what it rests on


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeView:
    """One change to the set-up and what it settles."""

    text: str
    settles: str
    enough: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardView:
    """The page in the order of reading."""

    tone: Tone
    verdict: tuple[str, ...]
    band: str
    ready: str
    is_known: bool  # whether there is any figure
    wants_test: bool  # whether an alkalinity test would give the figures
    scale: tuple[str, ...]
    changes: tuple[ChangeView, ...]
    sizes: tuple[str, ...]
    size_bands: tuple[str, ...]
    advice: tuple[str, ...]
    cases: tuple[CaseView, ...]
    unknown: tuple[str, ...]
    basis: tuple[str, ...]


def said(found: Reason, alkalinity_unit: str = "dKH") -> str:
    """Return the sentence of a hazard's reason in the keeper's units."""
    return told(SAID, found.code, found.numbers, alkalinity_unit)


def words(key: str, alkalinity_unit: str = "dKH", **numbers: float | str) -> str:
    """Return a sentence of the page."""
    return told(TEXTS, key, numbers, alkalinity_unit)


def verdict_sentences(safe: SafeSetup, alkalinity_unit: str = "dKH") -> tuple[str, ...]:
    """Return the verdict: what happens, and what would stop it."""
    first, *rest = (said(found, alkalinity_unit) for found in safe.verdict)
    if safe.worst is not None:
        first = words("if_kind", kind=IF_KINDS[safe.worst.kind], said=first)
    return (first, *rest)


def warning(dangers: Dangers | None, alkalinity_unit: str = "dKH") -> tuple[str, ...]:
    """Return Today's lines; none while no single fault can reach the chosen band."""
    if dangers is None or not dangers.safe.reaches_band:
        return ()
    first = " ".join(verdict_sentences(dangers.safe, alkalinity_unit))
    return (first, *container_lost(dangers, alkalinity_unit))


def container_lost(dangers: Dangers | None, unit: str) -> tuple[str, ...]:
    """Return what all of the lime container at once would do, where that reaches the band."""
    if dangers is None:
        return ()
    cases = dangers.hazards.cases
    case = next((c for c in cases if c.kind is Kind.CONTAINER_EMPTIED), None)
    if case is None or rank(case.band_bad) < rank(dangers.safe.band):
        return ()
    good, middle, bad = case.worst_good, case.worst_middle, case.worst_bad
    passed = LIMIT_OF[middle.band].pH_nbs if rank(middle.band) else None
    found = words(
        "container_lost",
        unit,
        container_L=middle.brought_L,
        low_meq_per_L=good.brought_meq_per_L,
        high_meq_per_L=bad.brought_meq_per_L,
    )
    tail = words("container_salinity", salinity_PSU=middle.salinity)
    at = () if passed is None else (words("container_pH", band_pH=passed),)
    return (" ".join((found, *at, tail, _container_change(dangers.safe))),)


def _container_change(safe: SafeSetup) -> str:
    if safe.with_break_L:
        size = words("container_size_break", container_L=safe.with_break_L)
        return f"{TEXTS['container_change']} {size}"
    if not safe.container_L:
        return TEXTS["container_change"]
    return f"{TEXTS['container_change']} {words('container_size', container_L=safe.container_L)}"


def hazard(snapshot: Snapshot, dangers: Dangers) -> HazardView:
    """Return the page of a snapshot with a set-up, whose dangers are worked out."""
    unit = snapshot.alkalinity_unit
    safe, hazards = dangers.safe, dangers.hazards
    scale = [said(r, unit) for r in safe.reasons if r.code in _SCALE]
    advice = [said(r, unit) for r in safe.reasons if r.code not in _SCALE]
    known = hazards.start is not None
    return HazardView(
        tone=_verdict_tone(safe, known=known),
        verdict=verdict_sentences(safe, unit),
        band=words("band_now", band=BANDS[safe.band], band_pH=LIMIT_OF[safe.band].pH_nbs),
        ready=said(dangers.ready, unit) if dangers.ready else "",
        is_known=known,
        wants_test=any(r.code in _WANT_TEST for r in hazards.reasons),
        scale=(*scale, TEXTS["scale_half"]) if known else (),
        changes=tuple(_change(each, unit) for each in safe.alternatives),
        sizes=_sizes(safe),
        size_bands=_size_bands(safe),
        advice=tuple(advice) if known else (),
        cases=(
            *(case_view(case, unit) for case in hazards.cases),
            *(_rise_view(rise, unit) for rise in hazards.rises),
        ),
        unknown=tuple(
            f"{KINDS[each.kind]}. {said(reason, unit)}"
            for each in hazards.unknown
            for reason in each.reasons
        ),
        basis=(*(said(found, unit) for found in hazards.reasons), TEXTS["basis_practice"])
        if known
        else (),
    )


def _verdict_tone(safe: SafeSetup, *, known: bool) -> Tone:
    if safe.reaches_band:
        return "danger"
    unsure = not known or safe.verdict[0].code == HazardCode.VERDICT_PARTLY_UNKNOWN
    return "warn" if unsure else "good"


def _change(each: Alternative, unit: str) -> ChangeView:
    settles = words("settles", kinds=_kinds(each.settles))
    left = words("leaves", kinds=_kinds(each.leaves)) if each.leaves else TEXTS["enough"]
    return ChangeView(text=said(each.reason, unit), settles=f"{settles} {left}", enough=each.enough)


def _kinds(kinds: tuple[Kind, ...]) -> str:
    named = [KINDS[kind] for kind in kinds]
    return ", ".join([named[0], *(f"{name[0].lower()}{name[1:]}" for name in named[1:])])


def _sizes(safe: SafeSetup) -> tuple[str, ...]:
    largest = safe.with_break_L or safe.container_L
    if largest is None:
        return ()
    if largest <= 0.0:
        return (TEXTS["size_none"],)
    found = list(_container_sizes(safe))
    if safe.cut_off_h:
        found.append(words("size_cut_off", x_hours=safe.cut_off_h))
    if safe.dose_L:
        found.append(words("size_dose", x_mL=safe.dose_L * 1000.0))
    if safe.charge_g:
        key = "size_charge_break" if safe.with_break_L else "size_charge"
        found.append(words(key, x_g=safe.charge_g))
    return tuple(found)


def _container_sizes(safe: SafeSetup) -> tuple[str, ...]:
    """Return the container; where a siphon lifts the bed also the one with a siphon break."""
    if not safe.with_break_L:
        return (words("size_container", x_L=safe.container_L or 0.0),)
    with_break = words("size_container_break", x_L=safe.with_break_L)
    if not safe.container_L:
        return (with_break,)
    return (with_break, words("size_container_now", x_L=safe.container_L))


def _size_bands(safe: SafeSetup) -> tuple[str, ...]:
    return tuple(
        words("size_bands", band=BANDS[s.band], low_L=s.guaranteed, middle_L=_two_digits(s.middle))
        if s.guaranteed > 0.0
        else words("size_bands_none", band=BANDS[s.band])
        for s in safe.containers
    )


def _two_digits(value: float) -> float:
    return float(f"{value:.2g}")


def case_view(case: HazardCase, unit: str = "dKH") -> CaseView:
    """Return one accident in words."""
    lead, *rest = (said(found, unit) for found in case.reasons)
    band = case.band_bad
    return CaseView(
        key=str(case.kind),
        title=KINDS[case.kind],
        band=BANDS[band].lower(),
        tone=_TONES[band],
        lead=lead,
        times=_times(case.times) if rank(band) else (),
        figures=(*_worst(case, unit), *rest),
    )


def _rise_view(rise: Rise, unit: str) -> CaseView:
    """Return an accident of which only the rise of alkalinity is known."""
    lead, *rest = (said(found, unit) for found in rise.reasons)
    known = rank(rise.at_least) > 0
    return CaseView(
        key=str(rise.kind),
        title=KINDS[rise.kind],
        band=words("at_least", band=BANDS[rise.at_least].lower()) if known else TEXTS["pH_unknown"],
        tone=_TONES[rise.at_least] if known else "note",
        lead=lead,
        times=(),
        figures=tuple(rest),
    )


def _times(times: tuple[BandTime, ...]) -> tuple[str, ...]:
    """Return when each band is reached; of those reached at once only the worst is told."""
    at_once = [time for time in times if time.by_any.middle_h == 0.0]
    return tuple(_time_line(time) for time in (*at_once[-1:], *times[len(at_once) :]))


def _time_line(time: BandTime) -> str:
    when = _when(time.by_any)
    return words("time_band", band=BANDS[time.band], band_pH=time.pH_nbs, when=when)


def _when(times: Times) -> str:
    early, middle, late = times
    if early is None:
        return TEXTS["time_never"]
    if middle is None:
        return words("time_maybe", early_hours=early) if early else TEXTS["time_maybe_at_once"]
    if not middle:
        return TEXTS["time_at_once"]
    if late is None:
        return words("time_likely", early_hours=early, middle_hours=middle)
    return words("time_between", early_hours=early, late_hours=late)


def _worst(case: HazardCase, unit: str) -> tuple[str, ...]:
    """Return the middle's worst point; past the model its band in words."""
    worst = case.worst_middle
    falls_out = PRECIPITATION[worst.precipitation]
    if (
        worst.pH_nbs is None
        or worst.total_alkalinity_meq_per_L is None
        or worst.calcium_mg_per_L is None
        or worst.dic_mmol_per_L is None
        or worst.omega_aragonite is None
    ):
        return (words("worst_band", band=BANDS[worst.band], precipitation=falls_out),)
    point = words(
        "worst_point",
        unit,
        worst_pH=worst.pH_nbs,
        worst_meq_per_L=worst.total_alkalinity_meq_per_L,
        calcium_mg_per_L=worst.calcium_mg_per_L,
        salinity_PSU=worst.salinity,
    )
    omega = words(
        "worst_omega", omega_times=round(worst.omega_aragonite, 1), precipitation=falls_out
    )
    carbon = words("worst_carbon", carbon_mmol=trimmed(worst.dic_mmol_per_L, 2))
    calm = worst.omega_aragonite <= _CALM_OMEGA
    return (point, f"{omega} {TEXTS['omega_calm']}" if calm else omega, carbon)
