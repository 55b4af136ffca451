"""What drifts, and why: causes in their order, each with the measurement that would settle it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from engine.diagnosis.codes import Cause, Diagnosis, Finding, Likelihood, Measure
from engine.reasons import Reason
from mobile.procedures import KEYS
from mobile.state.sentences import number, told
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.diagnosis import LIKELIHOOD
from mobile.texts.diagnosis import TEXTS as DIAGNOSIS
from mobile.texts.plan_ahead import TEXTS

_ALL_OF_IT: Final = 1.25  # beyond it a share is no longer told as a number
_WORTH_TELLING: Final = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A button that leads to a measurement."""

    label: str
    route: str


_PROCEDURES: Final = frozenset[str](KEYS)
# Where each measurement is made: its words, its form in Record, which is also the name of its
# guided procedure where Mix has one. What is only looked at has no way.
_WAYS: Final[Mapping[str, tuple[str, str]]] = {
    Measure.STRENGTH: ("go_strength", "strength_dilution"),
    Measure.PUMP: ("go_pump", "pump_check"),
    Measure.SAME_HOUR: ("go_test", "total_alkalinity"),
    Measure.REFILLS: ("go_refill", "refill"),
    Measure.SECOND_SOURCE: ("go_second_source", "second_source"),
    Measure.REFERENCE: ("go_test", "total_alkalinity"),
    Measure.SALINITY: ("go_salinity", "salinity"),
    Measure.NITRATE: ("go_nitrate", "nitrate"),
    Measure.WINDOW: ("go_pH", "pH_nbs"),
    Measure.WINDOW_SHUT: ("go_pH", "pH_nbs"),
    Measure.PROBE: ("go_pH", "pH_nbs"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseView:
    """One cause."""

    likelihood: str
    cause: str
    explains: str
    settles: str
    way: Way | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftView:
    """The page, in the order of reading."""

    tone: Tone
    lead: str
    sentences: tuple[str, ...]
    causes: tuple[CauseView, ...]
    asks_test: bool


def drifts(snapshot: Snapshot) -> Diagnosis | None:
    """Return the diagnosis where something drifts."""
    found = snapshot.ahead.diagnosis if snapshot.ahead else None
    return found if found is not None and found.causes else None


def summary(snapshot: Snapshot) -> str:
    """Return what is seen."""
    found = snapshot.ahead.diagnosis if snapshot.ahead else None
    return "" if found is None else _said(snapshot, found.reasons[-1])


def seen_today(snapshot: Snapshot) -> tuple[str, ...]:
    """Return what drifts, for Today."""
    found = drifts(snapshot)
    return () if found is None else tuple(_said(snapshot, reason) for reason in found.reasons)


def cause_today(snapshot: Snapshot) -> str:
    """Return the likeliest cause of a drift and the measurement that would settle it."""
    found = drifts(snapshot)
    if found is None:
        return ""
    first = found.causes[0]
    return TEXTS["today_cause"].format(
        likelihood=LIKELIHOOD[first.likelihood],
        cause=_said(snapshot, first.reason),
        measure=_said(snapshot, first.measure),
    )


def drift(snapshot: Snapshot) -> DriftView:
    """Return the page."""
    found = snapshot.ahead.diagnosis if snapshot.ahead else None
    if found is None:
        return DriftView(
            tone="note", lead=TEXTS["failed"], sentences=(), causes=(), asks_test=False
        )
    untested = found.finding is Finding.NO_DEMAND
    lead, *rest = (_said(snapshot, reason) for reason in found.reasons)
    return DriftView(
        tone=_tone(found),
        lead=lead,
        sentences=(*rest, *((TEXTS["drift_no_demand"],) if untested else ())),
        causes=tuple(_cause(snapshot, cause) for cause in found.causes),
        asks_test=untested,
    )


def _tone(found: Diagnosis) -> Tone:
    if found.causes:
        return "warn"
    return "good" if found.finding is Finding.STEADY else "note"


def _cause(snapshot: Snapshot, cause: Cause) -> CauseView:
    return CauseView(
        likelihood=LIKELIHOOD[Likelihood(cause.likelihood)],
        cause=_said(snapshot, cause.reason),
        explains=_explains(cause.explains_share),
        settles=TEXTS["drift_settles"].format(measure=_said(snapshot, cause.measure)),
        way=_way(cause.measure.code),
    )


def _way(measure: str) -> Way | None:
    if measure not in _WAYS:
        return None
    words, form = _WAYS[measure]
    place = "mix" if form in _PROCEDURES else "record"
    return Way(label=TEXTS[words], route=f"/{place}/{form}")


def _explains(share: float | None) -> str:
    if share is None or share < _WORTH_TELLING:
        return ""
    if share > _ALL_OF_IT:
        return TEXTS["drift_explains_more"]
    return TEXTS["drift_explains"].format(explains_share=number("x_share", share))


def _said(snapshot: Snapshot, reason: Reason) -> str:
    return told(DIAGNOSIS, reason.code, reason.numbers, snapshot.alkalinity_unit)
