"""Amending an entry: what was changed goes over the entry as it stands; all else of it is kept."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from typing import Any, Final

from engine.entry.checks import Refused
from engine.entry.fields import Amount, read_amount, read_time
from engine.records import ProcedureRun, PumpCheck, Reading, Record, Setup, WaterTest
from engine.vocabulary import PARAMETERS
from mobile.state import entry
from mobile.state.entry import Finding, Ready
from mobile.state.entry_draft import Draft
from mobile.state.form_parts import Field, Form
from mobile.state.forms import FORMS
from mobile.state.sentences import sentence, trimmed
from mobile.texts.entry import TEXTS as ENTRY
from mobile.texts.history import TEXTS

_WHEN: Final = "%Y-%m-%d %H:%M"
Judged = Callable[[Form], Ready | Finding]


@dataclass(frozen=True, slots=True)
class Original:
    """An entry as it stands, and the draft that its amendment opens with."""

    record: Record
    form: Form
    start: Draft


def original(record: Record, amends: str) -> Original | None:
    """Return what amending an entry starts from, or None where that would break its meaning.

    Parameters
    ----------
    record
        The entry as it stands: the record, or the replacement of an amendment.
    amends
        The id under which it stands in the log. Its time is typed in the zone that it carries.
    """
    if isinstance(record, ProcedureRun):
        return None  # the order of a run's steps is what they say
    form = _form_of(record)
    return Original(record, form, _draft(record, form, amends))


def check(
    start: Original,
    draft: Draft,
    *,
    standing: Sequence[Record],
    now: datetime,
    confirmed: frozenset[str] = frozenset(),
    alkalinity_unit: str = "dKH",
    setup: Setup | None = None,
) -> Ready | Finding:
    """Return the fields that an amendment changes and its time, or what stands in its way."""
    at = _time(start, draft, now)
    if isinstance(at, Finding):
        return at
    if not _is_changed(start, draft):
        return Ready({}, at, "")

    def judged(form: Form) -> Ready | Finding:
        return entry.check(
            form,
            replace(draft, at=at),
            standing=standing,
            now=now,
            confirmed=confirmed,
            alkalinity_unit=alkalinity_unit,
            setup=setup,
        )

    if isinstance(start.record, WaterTest):
        return _checked_readings(start, start.record, draft, at, judged)
    found = judged(start.form)
    return replace(found, fields=_over(start, draft, found)) if isinstance(found, Ready) else found


def _time(start: Original, draft: Draft, now: datetime) -> datetime | Finding:
    """Return when the entry happened: as typed, or to the second as it was when left alone."""
    at = start.record.at
    if draft.when != start.start.when:
        try:
            at = datetime.strptime(draft.when.strip(), _WHEN).replace(tzinfo=at.tzinfo)
        except ValueError:
            return Finding("", (TEXTS["when_fault"].format(example=now.strftime(_WHEN)),))
    found = read_time(at, now=now)
    if isinstance(found, Refused):
        return Finding("", (sentence(ENTRY, found.fault.code, found.fault.numbers),))
    return found.at


def _is_changed(start: Original, draft: Draft) -> bool:
    before = start.start
    return (draft.texts, draft.units, draft.answers, draft.words, draft.lot, draft.tester) != (
        before.texts,
        before.units,
        before.answers,
        before.words,
        before.lot,
        before.tester,
    )


def _checked_readings(
    start: Original, test: WaterTest, draft: Draft, at: datetime, judged: Judged
) -> Ready | Finding:
    """Return the readings, those that were changed judged anew."""
    readings: list[Reading] = []
    for reading in test.readings:
        key = reading.parameter
        typed = draft.texts.get(key), draft.units.get(key)
        if typed == (start.start.texts.get(key), start.start.units.get(key)):
            readings.append(reading)
            continue
        found = judged(FORMS[key])
        if isinstance(found, Finding):
            own = tuple(pair for pair in found.suggestions if pair[1].parameter == key)
            return replace(found, suggestions=own)
        readings += found.fields["readings"]
    beside = entry.bottle_fields(draft)
    if isinstance(beside, Finding):
        return beside
    return Ready({"readings": tuple(readings), **beside}, at, "")


def _over(start: Original, draft: Draft, found: Ready) -> dict[str, Any]:
    """Return the changed fields: what was emptied is None, what else was typed is kept."""
    own = {item.key for item in start.form.fields}
    kept = {field.name for field in fields(start.record)}
    emptied = {
        item.key: None
        for item in start.form.fields
        if item.optional and item.key in kept and not draft.texts.get(item.key)
    }
    changed = {**emptied, **found.fields}
    if "typed" in changed:
        parts = [p for p in start.record.typed.split("; ") if p.partition(": ")[0] not in own]
        changed["typed"] = "; ".join(filter(None, (*parts, changed["typed"])))
    return changed


def _form_of(record: Record) -> Form:
    """Return the form of an entry; one without figures for what is entered in another way."""
    if isinstance(record, WaterTest):
        # what this version does not know stays as it is
        codes = [r.parameter for r in record.readings if r.parameter in PARAMETERS]
        if len(codes) == len(record.readings) == 1:
            return FORMS[codes[0]]
        if codes and len(set(codes)) == len(codes):
            return _figures("water_test", record, tuple(Field(key=code) for code in codes))
    fitting = (f for f in FORMS.values() if f.record is type(record) and f.fits(record))
    found = None if isinstance(record, WaterTest) else next(fitting, None)
    return found or _figures("time_only", record, ())


def _figures(key: str, record: Record, own: tuple[Field, ...]) -> Form:
    return Form(
        key=key,
        record=type(record),
        fields=own,
        make=lambda _values, _answers, _around: {},
        bottle=any(FORMS[item.key].bottle for item in own),
    )


def _draft(record: Record, form: Form, amends: str) -> Draft:
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
    return Draft(
        form=form.key,
        texts=texts,
        units=units,
        answers={choice.key: str(recalled.get(choice.key, "")) for choice in form.choices},
        active=form.fields[0].key if form.fields else "",
        words=record.note if form.words else "",
        at=record.at,
        amends=amends,
        when=record.at.strftime(_WHEN),
        lot=record.reagent_lot if isinstance(record, WaterTest) else "",
        tester=record.tester if isinstance(record, WaterTest) else "",
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
        return next(r.value for r in record.readings if r.parameter == item.key)
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
