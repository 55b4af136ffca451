"""Pure steps from one snapshot to the next."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final

from engine.decision import Decision, decide
from engine.errors import EngineError
from engine.log.ledger import by_system as grouped
from engine.log.ledger import ledger_of
from engine.log.row import Row
from engine.plan.withheld import WITHHOLDS, withheld
from engine.reasons import Code
from engine.records import Amendment, Record, Setup
from mobile.state.ahead import Ahead
from mobile.state.boundary import caught, noted, tried
from mobile.state.snapshot import Notice, Snapshot, Tone
from mobile.texts.app import TEXTS

UNDO_SECONDS: Final = 10


def with_records(
    snapshot: Snapshot, records: Iterable[Record], system: str, now: datetime
) -> Snapshot:
    """Return the snapshot of one system of the log: all its records and what stands of them.

    A log that cannot be read in order is shown as it was written, and nothing is decided of it.
    """
    everything = Row.of(records)
    log = tried("log", lambda: ledger_of(grouped(everything).get(system, ())), None)
    shown = replace(snapshot, now=now, system=system, ready=True, log_read=log is not None)
    if log is None:
        written = tuple(each for each in everything if each.system == system)
        gone = {each.supersedes for each in written if isinstance(each, Amendment)}
        return replace(
            shown,
            systems=tuple(_plain_names(everything).items()),
            records=written,
            standing=tuple(
                each for each in written if not isinstance(each, Amendment) and each.id not in gone
            ),
            setup=next((each for each in reversed(written) if isinstance(each, Setup)), None),
        )
    return replace(
        shown,
        systems=names(everything),
        records=log.written,
        standing=log.standing,
        setup=log.setup,
    )


def by_system(records: Iterable[Record]) -> list[tuple[Setup, Sequence[Record]]]:
    """Return the set-up in force and the records as written of each system that has one."""
    found = [ledger_of(own) for own in grouped(records).values()]
    return [(log.setup, log.written) for log in found if log.setup is not None]


def names(records: Iterable[Record]) -> tuple[tuple[str, str], ...]:
    """Return (id, name) of every system that was set up, by name."""
    everything = Row.of(records)
    found = tried(
        "log",
        lambda: {setup.system: setup.name for setup, _ in by_system(everything)},
        None,
    )
    known = _plain_names(everything) if found is None else found
    return tuple(sorted(known.items(), key=lambda item: (item[1].casefold(), item[0])))


def _plain_names(records: Iterable[Record]) -> dict[str, str]:
    """Return the name of each system as its last set-up in the log gives it."""
    return {record.system: record.name for record in records if isinstance(record, Setup)}


def decided(snapshot: Snapshot) -> Snapshot:
    """Return the snapshot with what the engine decides.

    Nothing where another tab goes on, and nothing from a build that is recalled. A decision that
    could be worked out in part only, or that rests on a log which may lack entries, raises nothing;
    one that failed is none.
    """
    none = replace(snapshot, decision=None, ahead=None, failure=None)
    if snapshot.setup is None or snapshot.is_elsewhere or snapshot.recalled:
        return none
    if not snapshot.log_read:
        return replace(none, failure=noted("log", EngineError("log_unread")))
    try:
        decision = decide(snapshot.records, system=snapshot.system, now=snapshot.now)
    except EngineError as error:
        print(f"decide: {error}")
        return replace(none, failure=noted("decision", error))
    except Exception as error:  # noqa: BLE001 - a boundary: a decision that fails is none
        return replace(none, failure=caught("decision", error))
    why = (Code.RECORDS_MISSING,) if snapshot.entries_missing else ()
    return _with_ahead(snapshot, kept_back(snapshot, decision, *why))


def kept_back(snapshot: Snapshot, decision: Decision, *why: Code) -> Decision:
    """Return a decision that raises nothing for these reasons; the last sound verdict stands."""
    stood = snapshot.verdict.standing if snapshot.verdict else None
    return withheld(decision, why, stood)


def _with_ahead(snapshot: Snapshot, decision: Decision) -> Snapshot:
    ahead = Ahead(decision, snapshot.records, snapshot.system).prepare()
    if ahead.failed:
        decision = kept_back(snapshot, decision, *_reasons_with(decision, Code.PARTS_FAILED))
        ahead = Ahead(decision, snapshot.records, snapshot.system, failed=ahead.failed)
    return replace(snapshot, decision=decision, ahead=ahead, failure=None)


def with_dangers_failed(snapshot: Snapshot) -> Snapshot:
    """Return the snapshot where what could go wrong could not be worked out: nothing is raised."""
    decision, ahead = snapshot.decision, snapshot.ahead
    if decision is None or ahead is None:
        return snapshot
    held = kept_back(snapshot, decision, *_reasons_with(decision, Code.PARTS_FAILED))
    known = Ahead(held, snapshot.records, snapshot.system, failed=(*ahead.failed, "dangers"))
    return replace(snapshot, dangers=None, decision=held, ahead=known)


def _reasons_with(decision: Decision, code: Code) -> tuple[Code, ...]:
    """Return what keeps a decision back already, and one reason more."""
    known = [each for each in WITHHOLDS if any(r.code == each for r in decision.plan.reasons)]
    return tuple(dict.fromkeys((*known, code)))


def with_notice(snapshot: Snapshot, tone: Tone, text: str) -> Snapshot:
    """Return the snapshot with a sentence over the screens."""
    return replace(snapshot, notice=Notice(tone=tone, text=text), saving=False)


def saved_notice(what: str, ids: tuple[str, ...]) -> Notice:
    """Return the notice that a save is done, with the offer to take it back where ids are given."""
    text = TEXTS["saved_what"].format(what=what) if what else TEXTS["saved"]
    return Notice(tone="good", text=text, undo_ids=ids)
