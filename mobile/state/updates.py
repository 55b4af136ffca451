"""Pure steps from one snapshot to the next."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from engine.log import effective, newest
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
    setup = newest(standing, Setup, now + timedelta(days=1))
    return replace(
        snapshot,
        now=now,
        systems=names(everything, now),
        system=system,
        records=of_system,
        standing=standing,
        setup=setup,
        ready=True,
    )


def names(records: Sequence[Record], now: datetime) -> tuple[tuple[str, str], ...]:
    """Return (id, name) of every system that was set up, by name."""
    systems = {record.system for record in records}
    found = [
        (system, setup.name)
        for system in systems
        if (
            setup := newest(
                effective(r for r in records if r.system == system), Setup, now + timedelta(days=1)
            )
        )
    ]
    return tuple(sorted(found, key=lambda item: (item[1].casefold(), item[0])))


def with_notice(snapshot: Snapshot, tone: Tone, text: str) -> Snapshot:
    """Return the snapshot with a sentence over the screens."""
    return replace(snapshot, notice=Notice(tone=tone, text=text), saving=False)


def saved_notice(what: str, ids: tuple[str, ...], now: datetime) -> Notice:
    """Return the notice that a save is done, with the offer to take it back."""
    return Notice(
        tone="good",
        text=TEXTS["saved_what"].format(what=what) if what else TEXTS["saved"],
        undo_ids=ids,
        undo_until=now + timedelta(seconds=UNDO_SECONDS),
    )
