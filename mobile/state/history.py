"""The log as a list, newest first, with what was amended struck out."""

from dataclasses import dataclass
from typing import Final

from engine.entry_fields import Amount, read_amount
from engine.records import Amendment, ProcedureEvent, ProcedureRun, PumpCheck, Record, WaterTest
from engine.vocabulary import PARAMETERS
from mobile.state.entry import Draft, unit_label
from mobile.state.forms import FORMS, Field, Form
from mobile.state.recorded import summary, title
from mobile.state.sentences import day_and_time, trimmed
from mobile.state.snapshot import Snapshot
from mobile.texts.history import TEXTS

PAGE: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One entry of the list."""

    id: str
    title: str
    summary: str
    time: str
    mark: str  # what became of it since; empty while it stands


def lines(snapshot: Snapshot, count: int) -> tuple[Line, ...]:
    """Return the newest entries, amendments left to the entries that they touch."""
    fates = _fates(snapshot)
    shown = [record for record in snapshot.records if _is_listed(record)]
    shown.sort(key=lambda record: (record.at, record.recorded_at, record.id), reverse=True)
    return tuple(_line(snapshot, record, fates.get(record.id, "")) for record in shown[:count])


def _is_listed(record: Record) -> bool:
    if isinstance(record, ProcedureRun):
        return record.event is not ProcedureEvent.STEP_DONE
    return not (isinstance(record, Amendment) and record.replacement is None)


def _fates(snapshot: Snapshot) -> dict[str, str]:
    return {
        record.supersedes: TEXTS["amended_mark" if record.replacement else "withdrawn_mark"]
        for record in snapshot.records
        if isinstance(record, Amendment)
    }


def _line(snapshot: Snapshot, record: Record, mark: str) -> Line:
    said = record.replacement if isinstance(record, Amendment) and record.replacement else record
    return Line(
        id=record.id,
        title=title(said),
        summary=summary(said, snapshot.alkalinity_unit),
        time=day_and_time(said.at, snapshot.now),
        mark=mark,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Detail:
    """One entry, opened."""

    line: Line
    sentences: tuple[str, ...]
    form: Form | None  # the form that amends it, when there is one
    draft: Draft | None
    stands: bool


def detail(snapshot: Snapshot, record_id: str) -> Detail | None:
    """Return an entry in full, or None when there is no such entry."""
    record = next((r for r in snapshot.records if r.id == record_id), None)
    if record is None:
        return None
    said = record.replacement if isinstance(record, Amendment) and record.replacement else record
    mark = _fates(snapshot).get(record.id, "")
    form = _form_of(said)
    return Detail(
        line=_line(snapshot, record, mark),
        sentences=tuple(_sentences(snapshot, record, said)),
        form=form,
        draft=_draft(said, form) if form else None,
        stands=not mark,
    )


def _sentences(snapshot: Snapshot, record: Record, said: Record) -> list[str]:
    now = snapshot.now
    sentences = [TEXTS["happened"].format(when=day_and_time(said.at, now))]
    sentences.append(TEXTS["entered"].format(when=day_and_time(record.recorded_at, now)))
    if isinstance(said, WaterTest):
        typed = ", ".join(f"{r.typed} {unit_label(r.typed_unit)}".strip() for r in said.readings)
        sentences.append(TEXTS["typed_as"].format(typed=typed))
        if any(reading.confirmed for reading in said.readings):
            sentences.append(TEXTS["kept_though"])
    elif said.typed:
        sentences.append(TEXTS["typed_as"].format(typed=_values(said.typed)))
    if said.note:
        sentences.append(said.note)
    return sentences


def _values(typed: str) -> str:
    """Return the amounts of a record's `typed`, their units written for people."""
    shown = (part.partition(": ")[2].partition(" ") for part in typed.split("; "))
    return ", ".join(f"{text} {unit_label(unit)}".strip() for text, _, unit in shown)


def _form_of(record: Record) -> Form | None:
    if isinstance(record, WaterTest):
        return FORMS.get(record.readings[0].parameter) if len(record.readings) == 1 else None
    return next((form for form in FORMS.values() if form.record is type(record)), None)


def _draft(record: Record, form: Form) -> Draft:
    """Return the draft that amending starts from: what was typed, and its time."""
    typed = _typed(record)
    texts: dict[str, str] = {}
    units = {item.key: item.units[0] for item in form.fields}
    for item in form.fields:
        as_typed = typed.get(item.key)
        if as_typed is None or as_typed[1] not in item.units:
            as_typed = _as_kept(record, item)
        if as_typed is not None:
            texts[item.key], units[item.key] = as_typed
    recalled = form.recall(record)
    answers = {
        choice.key: recalled[choice.key]
        if recalled.get(choice.key) in choice.options
        else choice.options[0]
        for choice in form.choices
    }
    return Draft(
        form=form.key,
        texts=texts,
        units=units,
        answers=answers,
        active=form.fields[0].key if form.fields else "",
        words=record.note if form.words else "",
        at=record.at,
        amends=record.id,
    )


def _typed(record: Record) -> dict[str, tuple[str, str]]:
    """Return what was typed for each field: digits and unit."""
    if isinstance(record, WaterTest):
        return {
            reading.parameter: (reading.typed, reading.typed_unit) for reading in record.readings
        }
    parts = (part.partition(": ") for part in record.typed.split("; ") if part)
    amounts = {key: shown.partition(" ") for key, _, shown in parts}
    return {key: (text, unit) for key, (text, _, unit) in amounts.items()}


def _as_kept(record: Record, item: Field) -> tuple[str, str] | None:
    """Return a field of a record that nobody typed here, in the unit in which it is kept."""
    value = _value(record, item)
    for unit in item.units if value is not None else ():
        factor = _factor(item, unit)
        if value is not None and factor in (1.0, 0.01):
            return trimmed(value / factor, 4), unit
    return None


def _value(record: Record, item: Field) -> float | None:
    if isinstance(record, WaterTest):
        return record.readings[0].value
    if isinstance(record, PumpCheck) and item.key.startswith("run_"):
        run = int(item.key[len("run_") :].partition("_")[0]) - 1
        return record.measured_mL[run] if run < len(record.measured_mL) else None
    return getattr(record, item.key, None)


def _factor(item: Field, unit: str) -> float | None:
    """Return what one of a typed unit is in the unit of the record, where that is a factor."""
    if not item.entry:
        return 1.0 if unit == PARAMETERS[item.key].unit else None
    found = read_amount(item.entry, "2", unit)
    return found.value / 2.0 if isinstance(found, Amount) else None
