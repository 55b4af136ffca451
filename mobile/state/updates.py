"""Pure steps from one snapshot to the next."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Final

from engine.decision import decide
from engine.errors import EngineError
from engine.log import effective, setup_in_force
from engine.records import Record, Setup
from mobile.state.snapshot import Notice, Snapshot, Tone
from mobile.texts.app import TEXTS

UNDO_SECONDS: Final = 10


def with_records(
    snapshot: Snapshot, records: Iterable[Record], system: str, now: datetime
) -> Snapshot:
    """Return the snapshot of one system of the log: all its records and what stands of them."""
    everything = tuple(records)
    of_system = tuple(record for record in everything if record.system == system)
    standing = effective(of_system)
    return replace(
        snapshot,
        now=now,
        systems=names(everything),
        system=system,
        records=of_system,
        standing=standing,
        setup=setup_in_force(of_system),
        ready=True,
    )


def by_system(records: Iterable[Record]) -> list[tuple[Setup, tuple[Record, ...]]]:
    """Return the set-up in force and the records as written of each system that has one."""
    systems: dict[str, list[Record]] = {}
    for record in records:
        systems.setdefault(record.system, []).append(record)
    found = [(setup_in_force(own), tuple(own)) for own in systems.values()]
    return [(setup, own) for setup, own in found if setup is not None]


def names(records: Iterable[Record]) -> tuple[tuple[str, str], ...]:
    """Return (id, name) of every system that was set up, by name."""
    found = [(setup.system, setup.name) for setup, _ in by_system(records)]
    return tuple(sorted(found, key=lambda item: (item[1].casefold(), item[0])))


def decided(snapshot: Snapshot) -> Snapshot:
    """Return the snapshot with what the engine decides; nothing where another tab goes on."""
    if snapshot.setup is None or snapshot.is_elsewhere:
        return replace(snapshot, decision=None, decision_failed=False)
    try:
        decision = decide(snapshot.records, system=snapshot.system, now=snapshot.now)
    except EngineError as error:
        print(f"decide: {error}")
        return replace(snapshot, decision=None, decision_failed=True)
    return replace(snapshot, decision=decision, decision_failed=False)


def with_notice(snapshot: Snapshot, tone: Tone, text: str) -> Snapshot:
    """Return the snapshot with a sentence over the screens."""
    return replace(snapshot, notice=Notice(tone=tone, text=text), saving=False)


def saved_notice(what: str, ids: tuple[str, ...]) -> Notice:
    """Return the notice that a save is done, with the offer to take it back where ids are given."""
    text = TEXTS["saved_what"].format(what=what) if what else TEXTS["saved"]
    return Notice(tone="good", text=text, undo_ids=ids)
