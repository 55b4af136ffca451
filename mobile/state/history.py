"""The log as a list, newest first, with what was amended struck out."""

from dataclasses import dataclass
from typing import Final

from engine.records import (
    Amendment,
    Incident,
    IncidentEvent,
    ProcedureEvent,
    ProcedureRun,
    Record,
    Setup,
    WaterTest,
)
from engine.vocabulary import PARAMETERS, can_be_real
from mobile.state.amend import Original, original
from mobile.state.boundary import tried
from mobile.state.recorded import summary, title
from mobile.state.sentences import day_and_time, unit_label
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
    if isinstance(record, Incident):
        return record.event is not IncidentEvent.ACT_DONE
    return not (isinstance(record, Amendment) and record.replacement is None)


def _fates(snapshot: Snapshot) -> dict[str, str]:
    return {
        record.supersedes: TEXTS["amended_mark" if record.replacement else "withdrawn_mark"]
        for record in snapshot.records
        if isinstance(record, Amendment)
    }


def _line(snapshot: Snapshot, record: Record, mark: str) -> Line:
    """Return an entry's line; one that cannot be shown stands there all the same."""
    plain = Line(id=record.id, title=TEXTS["not_shown"], summary="", time="", mark=mark)
    return tried("history", lambda: _shown(snapshot, record, mark), plain)


def _shown(snapshot: Snapshot, record: Record, mark: str) -> Line:
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
    stands: bool
    original: Original | None  # what amending starts from; None where that is not possible
    withdraws: tuple[str, ...]  # what withdrawing supersedes; empty where that is not possible
    about_withdrawal: str


def detail(snapshot: Snapshot, record_id: str) -> Detail | None:
    """Return an entry in full, or None when there is no such entry."""
    record = next((r for r in snapshot.records if r.id == record_id), None)
    if record is None:
        return None
    said = record.replacement if isinstance(record, Amendment) and record.replacement else record
    mark = _fates(snapshot).get(record.id, "")
    withdraws, about = _withdrawal(snapshot, record_id, said)
    return Detail(
        line=_line(snapshot, record, mark),
        sentences=tried("history", lambda: tuple(_sentences(snapshot, record, said)), ()),
        stands=not mark,
        original=tried("history", lambda: original(said, record_id), None),
        withdraws=withdraws,
        about_withdrawal=TEXTS[about],
    )


def _withdrawal(snapshot: Snapshot, record_id: str, said: Record) -> tuple[tuple[str, ...], str]:
    """Return the records that go with an entry, and the code of what that means."""
    if isinstance(said, ProcedureRun):
        runs = (r for r in snapshot.standing if isinstance(r, ProcedureRun) and r.run == said.run)
        return tuple(r.id for r in runs), "withdraw_run"
    if isinstance(said, Setup) and sum(isinstance(r, Setup) for r in snapshot.standing) == 1:
        other_systems = len(snapshot.systems) > 1
        return ((record_id,), "withdraw_only_setup") if other_systems else ((), "setup_kept")
    return (record_id,), "withdraw_about"


def _sentences(snapshot: Snapshot, record: Record, said: Record) -> list[str]:
    now = snapshot.now
    sentences = [TEXTS["happened"].format(when=day_and_time(said.at, now))]
    if isinstance(said, WaterTest) and said.source:
        sentences.append(TEXTS["from_table"])
    else:
        sentences.append(TEXTS["entered"].format(when=day_and_time(record.recorded_at, now)))
    if isinstance(said, WaterTest):
        typed = ", ".join(f"{r.typed} {unit_label(r.typed_unit)}".strip() for r in said.readings)
        sentences.append(TEXTS["typed_as"].format(typed=typed))
        if any(reading.confirmed for reading in said.readings):
            sentences.append(TEXTS["kept_though"])
        if not all(reading.parameter in PARAMETERS for reading in said.readings):
            sentences.append(TEXTS["unknown_quantity"])
        if not all(can_be_real(reading.parameter, reading.value) for reading in said.readings):
            sentences.append(TEXTS["impossible"])
    elif said.typed:
        sentences.append(TEXTS["typed_as"].format(typed=_values(said.typed)))
    if said.note:
        sentences.append(said.note)
    return sentences


def _values(typed: str) -> str:
    """Return the amounts of a record's `typed`, their units written for people."""
    shown = (part.partition(": ")[2].partition(" ") for part in typed.split("; "))
    return ", ".join(f"{text} {unit_label(unit)}".strip() for text, _, unit in shown)
