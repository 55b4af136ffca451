"""Pure steps from one snapshot to the next."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final

from engine.decision import decide
from engine.errors import EngineError
from engine.log.ledger import by_system as grouped
from engine.log.ledger import ledger_of
from engine.log.row import Row
from engine.records import Record, Setup
from mobile.state.ahead import Ahead
from mobile.state.snapshot import Notice, Snapshot, Tone
from mobile.texts.app import TEXTS

UNDO_SECONDS: Final = 10


def with_records(
    snapshot: Snapshot, records: Iterable[Record], system: str, now: datetime
) -> Snapshot:
    """Return the snapshot of one system of the log: all its records and what stands of them."""
    everything = Row.of(records)
    log = ledger_of(grouped(everything).get(system, ()))
    return replace(
        snapshot,
        now=now,
        systems=names(everything),
        system=system,
        records=log.written,
        standing=log.standing,
        setup=log.setup,
        ready=True,
    )


def by_system(records: Iterable[Record]) -> list[tuple[Setup, Sequence[Record]]]:
    """Return the set-up in force and the records as written of each system that has one."""
    found = [ledger_of(own) for own in grouped(records).values()]
    return [(log.setup, log.written) for log in found if log.setup is not None]


def names(records: Iterable[Record]) -> tuple[tuple[str, str], ...]:
    """Return (id, name) of every system that was set up, by name."""
    found = [(setup.system, setup.name) for setup, _ in by_system(records)]
    return tuple(sorted(found, key=lambda item: (item[1].casefold(), item[0])))


def decided(snapshot: Snapshot) -> Snapshot:
    """Return the snapshot with what the engine decides.

    Nothing where another tab goes on, and nothing from a build that is recalled.
    """
    if snapshot.setup is None or snapshot.is_elsewhere or snapshot.recalled:
        return replace(snapshot, decision=None, ahead=None, decision_failed=False)
    try:
        decision = decide(snapshot.records, system=snapshot.system, now=snapshot.now)
    except EngineError as error:
        print(f"decide: {error}")
        return replace(snapshot, decision=None, ahead=None, decision_failed=True)
    ahead = Ahead(decision, snapshot.records, snapshot.system).prepare()
    return replace(snapshot, decision=decision, ahead=ahead, decision_failed=False)


def with_notice(snapshot: Snapshot, tone: Tone, text: str) -> Snapshot:
    """Return the snapshot with a sentence over the screens."""
    return replace(snapshot, notice=Notice(tone=tone, text=text), saving=False)


def saved_notice(what: str, ids: tuple[str, ...]) -> Notice:
    """Return the notice that a save is done, with the offer to take it back where ids are given."""
    text = TEXTS["saved_what"].format(what=what) if what else TEXTS["saved"]
    return Notice(tone="good", text=text, undo_ids=ids)
