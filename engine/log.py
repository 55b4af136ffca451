"""Reading the append-only log: amendments applied, newest facts found.

Nothing here depends on the order in which records arrive: they are ordered by when they happened,
then by when they were entered, then by id.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TypeVar

from engine.records import Amendment, Record

R = TypeVar("R", bound=Record)


def in_order(records: Iterable[Record]) -> tuple[Record, ...]:
    """Return the records, oldest first."""
    return tuple(sorted(records, key=_order))


def _order(record: Record) -> tuple[datetime, datetime, str]:
    return record.at, record.recorded_at, record.id


def effective(records: Iterable[Record]) -> tuple[Record, ...]:
    """Return what holds once every amendment is applied, oldest first.

    A replacement stands in the amended record's place under the amendment's id, so that it can be
    amended again. Of several amendments of one record the one entered last wins.
    """
    everything = {record.id: record for record in records}
    amendments = [r for r in everything.values() if isinstance(r, Amendment)]
    superseded = {a.supersedes for a in amendments}
    standing: list[Record] = [
        record
        for record in everything.values()
        if record.id not in superseded and not isinstance(record, Amendment)
    ]
    winners: dict[str, Amendment] = {}
    for amendment in sorted(amendments, key=lambda a: (a.recorded_at, a.id)):
        winners[amendment.supersedes] = amendment
    standing += [
        replace(amendment.replacement, id=amendment.id)
        for amendment in winners.values()
        if amendment.replacement is not None and amendment.id not in superseded
    ]
    return in_order(standing)


def of_kind(records: Iterable[Record], record_class: type[R]) -> tuple[R, ...]:
    """Return the records of one class, in the order given."""
    return tuple(record for record in records if isinstance(record, record_class))


def newest(records: Sequence[Record], record_class: type[R], until: datetime) -> R | None:
    """Return the last record of a class that happened no later than a time, or None."""
    for record in reversed(records):
        if isinstance(record, record_class) and record.at <= until:
            return record
    return None
