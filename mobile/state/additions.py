"""The page of one-off additions: what is typed, what it comes to, what today's part records."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any, Final

from engine.chemistry.salts import COMPOUNDS, effect
from engine.demand.facts import gather
from engine.entry.checks import Accepted, Refused, read_reading
from engine.entry.numbers import EntryFault, parse_number
from engine.log.reading import newest
from engine.plan.additions import (
    NEXT_PART_HOURS,
    RETEST_HOURS,
    AdditionDay,
    AdditionPlan,
    What,
    Wish,
    halt_of,
    plan_additions,
)
from engine.plan.withheld import is_withheld
from engine.records import Addition
from engine.vocabulary import PARAMETERS
from mobile.state.additions_draft import Draft
from mobile.state.faults import fault_sentence
from mobile.state.form_makers import SALTS
from mobile.state.record import reading_of
from mobile.state.sentences import alkalinity, number, sentence, trimmed, when
from mobile.state.snapshot import Snapshot
from mobile.texts.additions import TEXTS as SENTENCES
from mobile.texts.additions_page import TEXTS
from mobile.texts.entry import TEXTS as ENTRY
from mobile.texts.forms import TEXTS as FORMS

# A reading older than this is not taken for what the tank has now; the middle of what is usual.
OLDEST: Final = timedelta(days=3)
_USUAL_MG_PER_L: Final = {What.CALCIUM: 425.0, What.MAGNESIUM: 1330.0}  # common practice
_PH_SPAN: Final = timedelta(days=7)
_ASSAY: Final = (50.0, 100.0)  # %
_BROUGHT: Final = {
    What.ALKALINITY: "alkalinity_meq",
    What.CALCIUM: "calcium_mg",
    What.MAGNESIUM: "magnesium_mg",
}
_PARAMETER: Final = {
    What.ALKALINITY: "total_alkalinity",
    What.CALCIUM: "calcium",
    What.MAGNESIUM: "magnesium",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One number of the page."""

    key: str
    label: str
    hint: str
    offered: str  # what stands for it while nothing is typed; empty where it must be typed
    units: tuple[str, ...]
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What to weigh on some days."""

    title: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What the page answers: faults, or parts with their sentences."""

    faults: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()
    sentences: tuple[str, ...] = ()
    today: AdditionDay | None = None
    today_text: str = ""
    wait: str = ""  # why today's part is not offered


def salt_name(salt: str) -> str:
    """Return a salt in words."""
    return FORMS[f"option_{salt}"]


def figures(snapshot: Snapshot, draft: Draft, what: What) -> tuple[Figure, ...]:
    """Return the numbers that belong to a value to raise."""
    name = TEXTS[what]
    units = PARAMETERS[_PARAMETER[what]].typed_units
    now, hint = _offered_now(snapshot, what)
    about = "from_target" if what is What.ALKALINITY else "from_practice"
    asked = (
        ("now", TEXTS["now"].format(what=name), hint, now),
        ("target", TEXTS["target"].format(what=name), TEXTS[about], _target(snapshot, what)),
    )
    found = [
        Figure(
            key=f"{what}_{key}",
            label=label,
            hint=said,
            offered="" if value is None else _level(what, value, snapshot.alkalinity_unit),
            units=units,
            unit=draft.units.get(f"{what}_{key}", _usual_unit(snapshot, what)),
        )
        for key, label, said, value in asked
    ]
    assay = Figure(
        key=f"{what}_assay",
        label=TEXTS["assay"],
        hint=TEXTS["assay_hint"],
        offered="100 %",
        units=("%",),
        unit="%",
    )
    return (*found, assay)


def result(snapshot: Snapshot, draft: Draft) -> Result:
    """Return what the chosen additions come to, or what stands in the way."""
    setup = snapshot.setup
    if setup is None or not draft.chosen:
        return Result(faults=(TEXTS["nothing_chosen"],))
    if snapshot.failure is not None or (snapshot.decision and is_withheld(snapshot.decision)):
        return Result(faults=(TEXTS["held_back"],))
    wishes: list[Wish] = []
    faults: list[str] = []
    for what in draft.chosen:
        read = {key: _read(snapshot, draft, what, key) for key in ("now", "target", "assay")}
        said = [f"{_label(what, key)}: {v}" for key, v in read.items() if isinstance(v, str)]
        faults += said
        numbers = {key: value for key, value in read.items() if isinstance(value, float)}
        if not said:
            wishes.append(Wish(what=what, salt=SALTS[draft.salts[what]].code, **numbers))
    if faults:
        return Result(faults=tuple(faults))
    facts = gather(snapshot.records, system=snapshot.system, now=snapshot.now)
    plan = plan_additions(
        wishes,
        setup,
        salinity=_last(snapshot, "salinity"),
        pH_nbs=_highest_pH(snapshot),
        halt=halt_of(facts, setup),
    )
    return _told(snapshot, plan)


def today_fields(day: AdditionDay, assay: float) -> dict[str, Any]:
    """Return the fields of the `Addition` that a day's part records."""
    brought = effect(COMPOUNDS[day.salt], day.grams, volume_L=1.0, assay=assay)
    return {
        "alkalinity_meq": brought.alkalinity_meq_per_L,
        "calcium_mg": brought.calcium_mg_per_L or None,
        "magnesium_mg": brought.magnesium_mg_per_L or None,
        "salt": _recorded_name(day.salt),
        "salt_g": day.grams,
    }


def assay_of(draft: Draft, what: What) -> float:
    """Return the share of salt in the product that the page reckons with."""
    found = parse_number(draft.texts.get(f"{what}_assay", "") or "100")
    return 1.0 if isinstance(found, EntryFault) else found / 100.0


def _recorded_name(code: str) -> str:
    return next(name for name, salt in SALTS.items() if salt.code == code)


def _told(snapshot: Snapshot, plan: AdditionPlan) -> Result:
    unit = snapshot.alkalinity_unit
    sentences = tuple(
        sentence(SENTENCES, found.code, found.numbers, unit)
        for found in plan.reasons
        if not found.code.startswith("add_total_")  # the parts say it day by day
    )
    parts = tuple(
        _part(list(days), unit) for _, days in groupby(plan.days, key=lambda day: day.what)
    )
    if not plan.days:
        return Result(sentences=sentences)
    first = plan.days[0]
    grams, salt = number("each_g", first.grams), salt_name(_recorded_name(first.salt)).lower()
    return Result(
        parts=parts,
        sentences=sentences,
        today=first,
        today_text=TEXTS["today"].format(grams=grams, salt=salt),
        wait=_wait(snapshot),
    )


def _part(days: list[AdditionDay], unit: str) -> Part:
    first, last = days[0], days[-1]
    title = TEXTS["one_day" if first is last else "some_days"]
    words = TEXTS["portion_once" if first is last else "portion"].format(
        grams=number("each_g", first.grams),
        salt=salt_name(_recorded_name(first.salt)).lower(),
        rise=_level(first.what, first.rise, unit, fine=True),
    )
    return Part(title=title.format(first=first.day, last=last.day), text=words)


def _wait(snapshot: Snapshot) -> str:
    """Return the sentence that keeps a second part off on the day of the first one."""
    last = newest(snapshot.standing, Addition, snapshot.now)
    if last is None or _is_over(snapshot, last):
        return ""
    return TEXTS["wait"].format(
        when=when(last.at, snapshot.now),
        hours=number("x_hours", RETEST_HOURS),
        day_hours=number("x_hours", NEXT_PART_HOURS),
    )


def _is_over(snapshot: Snapshot, part: Addition) -> bool:
    return snapshot.now - part.at >= timedelta(hours=NEXT_PART_HOURS)


def _came_since(snapshot: Snapshot, what: What, at: datetime) -> bool:
    """Tell whether a part came after a test, so that the test no longer holds.

    While the page waits for the next day it goes on showing what the first part was reckoned from.
    """
    field = _BROUGHT[what]
    return any(
        isinstance(r, Addition)
        and at < r.at <= snapshot.now
        and getattr(r, field)
        and _is_over(snapshot, r)
        for r in snapshot.standing
    )


def _label(what: What, key: str) -> str:
    return TEXTS[key].format(what=TEXTS[what])


def _level(what: What, value: float, unit: str, *, fine: bool = False) -> str:
    if what is What.ALKALINITY:
        return alkalinity(value, unit, fine=fine)
    return f"{trimmed(value, 0)} mg/L"


def _usual_unit(snapshot: Snapshot, what: What) -> str:
    return snapshot.alkalinity_unit if what is What.ALKALINITY else "mg/L"


def _offered_now(snapshot: Snapshot, what: What) -> tuple[float | None, str]:
    """Return the newest reading while it is fresh, and what to say of it."""
    for record in reversed(snapshot.standing):
        reading = reading_of(record, _PARAMETER[what])
        if reading is None:
            continue
        if _came_since(snapshot, what, record.at):
            return None, TEXTS["test_before"]
        if snapshot.now - record.at <= OLDEST:
            said = TEXTS["from_test"].format(when=when(record.at, snapshot.now))
            return reading.value, said
    days = number("x_days", OLDEST.total_seconds() / 86_400.0)
    return None, TEXTS["no_test"].format(days=days)


def _target(snapshot: Snapshot, what: What) -> float | None:
    if what is not What.ALKALINITY:
        return _USUAL_MG_PER_L[what]
    return snapshot.setup.target_total_alkalinity_meq_per_L if snapshot.setup else None


def _read(snapshot: Snapshot, draft: Draft, what: What, key: str) -> float | str:
    """Return a number in the unit of the engine, or the sentence of why there is none."""
    text = draft.texts.get(f"{what}_{key}", "")
    if key == "assay":
        return _read_assay(text or "100")
    if not text:
        offered = _offered_now(snapshot, what)[0] if key == "now" else _target(snapshot, what)
        return ENTRY["entry_empty"] if offered is None else offered
    unit = draft.units.get(f"{what}_{key}", _usual_unit(snapshot, what))
    found = read_reading(_PARAMETER[what], text, unit, at=snapshot.now, previous=())
    if isinstance(found, Accepted):
        return found.reading.value
    fault = found.fault if isinstance(found, Refused) else found.doubts[0]
    said = fault_sentence(fault, text, unit, snapshot.alkalinity_unit)
    return said if isinstance(found, Refused) else f"{said} {TEXTS['doubtful']}"


def _read_assay(text: str) -> float | str:
    found = parse_number(text)
    if isinstance(found, EntryFault):
        return sentence(ENTRY, found.code, found.numbers)
    return found / 100.0 if _ASSAY[0] <= found <= _ASSAY[1] else TEXTS["assay_range"]


def _last(snapshot: Snapshot, parameter: str) -> float | None:
    for record in reversed(snapshot.standing):
        reading = reading_of(record, parameter)
        if reading is not None:
            return reading.value
    return None


def _highest_pH(snapshot: Snapshot) -> float | None:
    found = [
        reading.value
        for record in snapshot.standing
        if snapshot.now - record.at <= _PH_SPAN and (reading := reading_of(record, "pH_nbs"))
    ]
    return max(found, default=None)


def summary(_snapshot: Snapshot) -> str:
    """Return nothing: what the page is for stands on Plan."""
    return ""
