"""The what-if of the hazards: other sizes tried, the verdict on them, nothing recorded."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from engine.demand.facts import THROUGH_TOP_OFF, THROUGH_VESSEL, Facts, gather
from engine.errors import EngineError
from engine.hazards.codes import HazardCode
from engine.hazards.hazard import assess
from engine.hazards.safe_setup import verdict
from engine.records import Delivery, Setup
from mobile.state.hazard import verdict_sentences
from mobile.state.sentences import number
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.hazard_page import TEXTS

Tried = Mapping[str, float | None]  # part -> value; a part that is absent stays as it is

_LITRES: Final = (
    0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0,
    50.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0, 1_000.0, 2_000.0, 5_000.0,
)  # fmt: skip
_HOURS: Final = tuple(m / 60.0 for m in (2, 5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 240, 360, 720))
_RATES: Final = (
    0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 20.0, 30.0, 60.0,
    120.0, 300.0, 600.0,
)  # fmt: skip
_LADDERS: Final = {"container": _LITRES, "cut_off": _HOURS, "rate": _RATES}
_NO_BREAK, _BREAK = 0.0, 1.0
_SUFFIX: Final = {"container": "x_L", "cut_off": "x_hours", "rate": "x_L_per_h"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stepper:
    """One size that can be tried."""

    part: str  # of `fields_of`
    label: str
    value: str
    less: float | None  # the next smaller size; None where there is none
    more: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What is tried, and the verdict on it."""

    steppers: tuple[Stepper, ...]
    tone: Tone
    verdict: tuple[str, ...]
    changed: bool


def fields_of(setup: Setup) -> dict[str, str]:
    """Return part -> field of `Setup`: what carries lime in this way of delivery."""
    through = setup.delivery in THROUGH_VESSEL
    found = {
        "container": "fresh_water_container_L" if through else "lime_container_L",
        "break": "siphon_break",
    }
    if setup.delivery in THROUGH_TOP_OFF:
        return {**found, "cut_off": "top_off_cut_off_hours", "rate": "top_off_L_per_h"}
    if setup.delivery is Delivery.DRIP:
        return found
    return {**found, "cut_off": "pump_cut_off_hours", "rate": "pump_L_per_h"}


def what_if(snapshot: Snapshot, tried: Tried) -> WhatIf | None:
    """Return the verdict on the set-up with what is tried; None without a set-up.

    Parameters
    ----------
    snapshot : Snapshot
        With a set-up.
    tried : mapping of str to float or None
        Part -> L, h or L/h; None for a cut-off that is taken away.
    """
    setup = snapshot.setup
    if setup is None:
        return None
    changed = with_tried(setup, tried)
    facts = gather(snapshot.records, system=snapshot.system, now=snapshot.now)
    tone, said = _judged(replace(facts, setup=changed), snapshot.alkalinity_unit)
    return WhatIf(
        steppers=tuple(
            _stepper(part, getattr(changed, name)) for part, name in fields_of(setup).items()
        ),
        tone=tone,
        verdict=said,
        changed=changed != setup,
    )


def with_tried(setup: Setup, tried: Tried) -> Setup:
    """Return the set-up with other sizes."""
    fields = fields_of(setup)
    found: dict[str, Any] = {fields[part]: v for part, v in tried.items() if part in fields}
    if "siphon_break" in found:
        found["siphon_break"] = found["siphon_break"] == _BREAK
    return replace(setup, **found)


def _judged(facts: Facts, unit: str) -> tuple[Tone, tuple[str, ...]]:
    try:
        safe = verdict(assess(facts))
    except EngineError as error:
        print(f"what-if: {error}")  # for developers
        return "warn", (TEXTS["not_worked_out"],)
    known = safe.verdict[0].code == HazardCode.VERDICT_HOLDS
    tone: Tone = "danger" if safe.reaches_band else ("good" if known else "warn")
    return tone, verdict_sentences(safe, unit)


def _stepper(part: str, value: float | None) -> Stepper:
    """Return one size with its neighbours; taking a cut-off away is its largest step."""
    if part == "break":
        return _made(
            part,
            TEXTS["what_if_yes" if value else "what_if_none"],
            less=_NO_BREAK if value else None,
            more=None if value else _BREAK,
        )
    ladder = _LADDERS[part]
    if value is None:
        shown = TEXTS["what_if_none" if part == "cut_off" else "what_if_unknown"]
        first = ladder[-1] if part == "cut_off" else ladder[len(ladder) // 2]
        return _made(part, shown, less=first, more=None)
    below = [each for each in ladder if each < value * (1.0 - 1e-9)]
    above = [each for each in ladder if each > value * (1.0 + 1e-9)]
    shown = number(_SUFFIX[part], value)
    return _made(part, shown, less=below[-1] if below else None, more=above[0] if above else None)


def _made(part: str, shown: str, *, less: float | None, more: float | None) -> Stepper:
    label = TEXTS[f"what_if_{part}"]
    return Stepper(part=part, label=label, value=shown, less=less, more=more)
