"""What saving an open entry would do. Pure: draft in, record's fields or a finding out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from engine.demand.facts import gather
from engine.entry.checks import Doubtful, Refused, earlier_readings, read_reading
from engine.entry.expected_amounts import expected_amount
from engine.entry.fields import Amount, read_amount, read_text, read_time
from engine.entry.numbers import EntryFault
from engine.entry.suggestions import Suggestion
from engine.errors import EngineError
from engine.plan.evaporation import most_evaporated_L_per_day
from engine.records import Reading, Record, Setup, WaterTest
from mobile.state.boundary import tried
from mobile.state.entry_draft import Draft
from mobile.state.entry_sentences import labelled, said, shown
from mobile.state.faults import fault_sentence
from mobile.state.form_parts import Around, Field, Form
from mobile.state.second_source import tank_alkalinity_meq_per_L
from mobile.texts.forms import TEXTS as WORDS


@dataclass(frozen=True, slots=True)
class Finding:
    """Why an entry is not saved yet: sentences, and the ways on."""

    field: str
    sentences: tuple[str, ...]
    suggestions: tuple[tuple[str, Suggestion], ...] = ()
    keep_label: str = ""  # words of "keep it as it is"; empty where that is impossible


@dataclass(frozen=True, slots=True)
class Ready:
    """What a save would write."""

    fields: Mapping[str, Any]
    at: datetime
    what: str
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Against:
    """What an entry is judged by."""

    standing: Sequence[Record]  # the log without the record that is being amended
    at: datetime
    confirmed: frozenset[str]
    alkalinity_unit: str
    setup: Setup | None
    amended: Record | None

    @property
    def around(self) -> Around:
        """What a record may be reckoned with."""
        return Around(
            setup=self.setup,
            tank_meq_per_L=tank_alkalinity_meq_per_L(self.standing, self.setup),
            amended=self.amended,
            most_evaporated_L_per_day=self._most_evaporated,
        )

    def _most_evaporated(self) -> float | None:
        if self.setup is None:
            return None
        setup = self.setup
        return tried("entry", lambda: self._evaporated(setup), None)

    def _evaporated(self, setup: Setup) -> float | None:
        facts = gather(self.standing, system=setup.system, now=self.at)
        return most_evaporated_L_per_day(facts, setup)

    def expected(self, entry: str, beside: float | None) -> tuple[float, float] | None:
        """Return the bounds outside which a number is asked about."""
        if self.setup is None:
            return None
        setup = self.setup
        return tried(
            "entry",
            lambda: expected_amount(
                entry, standing=self.standing, setup=setup, now=self.at, beside=beside
            ),
            None,
        )


def check(
    form: Form,
    draft: Draft,
    *,
    standing: Sequence[Record],
    now: datetime,
    confirmed: frozenset[str] = frozenset(),
    alkalinity_unit: str = "dKH",
    setup: Setup | None = None,
) -> Ready | Finding:
    """Return what a save would write, or what stands in its way.

    Parameters
    ----------
    form, draft
        What is being entered.
    standing
        The log of the system with amendments applied, to compare with.
    now
        The phone's clock, aware.
    confirmed
        Fields whose doubtful value the keeper chose to keep.
    alkalinity_unit
        The unit in which the sentences speak of alkalinity.
    setup
        The set-up in force; without one, amounts are not compared with what is expected.
    """
    at = draft.at or now - draft.earlier
    others = tuple(record for record in standing if record.id != draft.amends)
    newest_recorded_at = max((record.recorded_at for record in standing), default=None)
    same = [record.at for record in others if _is_of(form, record)]
    time = read_time(
        at, now=now, newest_recorded_at=newest_recorded_at, last_at=max(same, default=None)
    )
    if isinstance(time, Refused):
        return Finding("", (said(time.fault),))
    remarks = tuple(said(remark) for remark in time.remarks)
    found = (
        _checked_words(draft, time.at)
        if form.words
        else _checked_fields(
            form,
            draft,
            _Against(
                standing=others,
                at=time.at,
                confirmed=confirmed,
                alkalinity_unit=alkalinity_unit,
                setup=setup,
                amended=next((r for r in standing if r.id == draft.amends), None),
            ),
        )
    )
    return replace(found, remarks=remarks) if isinstance(found, Ready) else found


def told(ready: Ready) -> str:
    """Return what was saved and what to say about it, without the full stop at the end."""
    return ". ".join(part.removesuffix(".") for part in (ready.what, *ready.remarks) if part)


def _is_of(form: Form, record: Record) -> bool:
    """Tell whether a record is one of the form's: a test only when it reads the same quantity."""
    if isinstance(record, WaterTest):
        return any(reading.parameter == form.key for reading in record.readings)
    return isinstance(record, form.record)


def reading_ready(reading: Reading, at: datetime) -> Ready:
    """Return what saving a single reading writes, as after a suggestion for another parameter."""
    return Ready({"readings": (reading,)}, at, shown(reading.typed, reading.typed_unit))


def _checked_words(draft: Draft, at: datetime) -> Ready | Finding:
    text = read_text("note.note", draft.words)
    if isinstance(text, EntryFault):
        return Finding("", (said(text),))
    if not text:
        return Finding("", (WORDS["note_empty"],))
    return Ready({"note": text}, at, "")


def _checked_fields(form: Form, draft: Draft, against: _Against) -> Ready | Finding:
    unchosen = [c.label for c in form.choices if draft.answers.get(c.key) not in c.options]
    if unchosen:
        return Finding("", (WORDS["choose_first"].format(what=unchosen[0]),))
    values: dict[str, float] = {}
    typed: dict[str, tuple[str, str]] = {}
    for item in form.fields:
        text = draft.texts.get(item.key, "")
        if not text and item.optional:
            continue
        if not item.entry:
            return _checked_reading(form, item, draft, against)
        # A number is compared with the one typed before it: a pump's run with its setting or run.
        found = _read_amount(item, draft, against, next(reversed(values.values()), None))
        if isinstance(found, Finding):
            return found
        amount = found
        values[item.key] = amount.value
        typed[item.key] = (amount.typed, amount.typed_unit)
    as_typed = "; ".join(f"{key}: {' '.join(filter(None, t))}" for key, t in typed.items())
    try:
        made = form.make(values, draft.answers, against.around)
    except EngineError as error:
        return Finding("", (WORDS.get(error.code, WORDS["not_worked_out"]),))
    fields = {**made, "typed": as_typed} if typed else made
    amounts = [shown(*t) for t in typed.values()]
    alone = [c.option_label(draft.answers[c.key]) for c in form.choices if not amounts]
    what = ", ".join([form.title, *amounts, *alone])
    return Ready(fields, against.at, what)


def _read_amount(
    item: Field, draft: Draft, against: _Against, beside: float | None
) -> Amount | Finding:
    """Return an amount, or what is asked about it: impossible, or not what was expected."""
    text, unit = draft.texts.get(item.key, ""), draft.units[item.key]
    expected = against.expected(item.entry, beside)
    amount = read_amount(item.entry, text, unit, expected=expected)
    if isinstance(amount, Amount):
        return amount
    if isinstance(amount, Refused):
        refused = fault_sentence(amount.fault, text, unit, against.alkalinity_unit)
        return Finding(item.key, (refused,))
    if item.key in against.confirmed:
        return amount.amount
    said = (fault_sentence(amount.doubt, text, unit, against.alkalinity_unit),)
    keep = WORDS["keep"].format(value=shown(text, unit))
    return Finding(item.key, said, keep_label=keep)


def _checked_reading(form: Form, item: Field, draft: Draft, against: _Against) -> Ready | Finding:
    text, unit = draft.texts.get(item.key, ""), draft.units[item.key]
    earlier = earlier_readings(against.standing, item.key)
    found = read_reading(item.key, text, unit, at=against.at, previous=earlier)
    shown_in = against.alkalinity_unit
    if isinstance(found, Refused):
        said = (fault_sentence(found.fault, text, unit, shown_in),)
        return Finding(item.key, said, labelled(item, found.suggestions, shown_in))
    if isinstance(found, Doubtful) and item.key not in against.confirmed:
        return Finding(
            item.key,
            tuple(fault_sentence(doubt, text, unit, shown_in) for doubt in found.doubts),
            labelled(item, found.suggestions, shown_in),
            WORDS["keep"].format(value=shown(text, unit)),
        )
    reading = found.kept if isinstance(found, Doubtful) else found.reading
    beside = bottle_fields(draft) if form.bottle else {}
    if isinstance(beside, Finding):
        return beside
    fields = {"readings": (reading,), **beside}
    return Ready(fields, against.at, f"{item.label} {shown(text, unit)}".strip())


def bottle_fields(draft: Draft) -> dict[str, Any] | Finding:
    """Return the bottle of reagent and the tester of a test, or what is wrong with their words."""
    found: dict[str, Any] = {}
    for name, text in (("reagent_lot", draft.lot), ("tester", draft.tester)):
        read = read_text(f"water_test.{name}", text)
        if isinstance(read, EntryFault):
            return Finding("", (said(read),))
        found[name] = read
    return found
