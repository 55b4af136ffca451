"""Reading the append-only log: amendments applied, newest facts found.

Nothing here depends on the order in which records arrive: they are ordered by when they happened,
then by when they were entered, then by id.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from engine.records import Amendment, Record, Setup

R = TypeVar("R", bound=Record)


def in_order(records: Iterable[Record]) -> tuple[Record, ...]:
    """Return the records, oldest first."""
    return tuple(sorted(records, key=order_of))


def order_of(record: Record) -> tuple[datetime, datetime, str]:
    """Return what a record is sorted by."""
    return record.at, record.recorded_at, record.id


def effective(records: Iterable[Record]) -> tuple[Record, ...]:
    """Return what holds once every amendment is applied, oldest first.

    A replacement stands in the amended record's place under the amendment's id, so that it can be
    amended again. Two devices may have amended the same record, one of them twice: every amendment
    is followed to the record that it is about, and of those that nothing supersedes the one
    entered last holds for it.
    """
    return in_order(record for _, record in _standing(records))


def setup_in_force(records: Iterable[Record]) -> Setup | None:
    """Return the set-up that holds: the last one entered, whatever time it is said to be of.

    Parameters
    ----------
    records : iterable of Record
        The records of one system, with its amendments or with them applied already.

    Notes
    -----
    A device numbers its records, so that a clock which was wrong once hides nothing: of each
    device the highest number counts, between devices the time of entry. A set-up that was amended
    keeps its place; that is known only where its amendments are among the records.
    """
    return _last_entered(_standing(records))


def read_log(records: Iterable[Record]) -> tuple[tuple[Record, ...], Setup | None]:
    """Return `effective` and `setup_in_force` of the records of one system."""
    standing = _standing(records)
    return in_order(record for _, record in standing), _last_entered(standing)


def _last_entered(standing: Iterable[tuple[Record, Record]]) -> Setup | None:
    """Return the set-up in force among pairs of a record and the one that it goes back to."""
    last: dict[str, tuple[_Entry, Setup]] = {}
    for root, record in standing:
        if not isinstance(record, Setup):
            continue
        entry = _entry(root)
        held = last.get(entry.device)
        if held is None or held[0].number < entry.number:
            last[entry.device] = entry, record
    newest_first = sorted(last.values(), key=lambda pair: pair[0].at, reverse=True)
    return newest_first[0][1] if newest_first else None


@dataclass(frozen=True, slots=True)
class _Entry:
    """When and where a record came into the log, its amendments apart."""

    device: str
    number: int
    at: tuple[datetime, str]


def _entry(record: Record) -> _Entry:
    device, _, number = record.id.rpartition(":")
    at = record.recorded_at, record.id
    return _Entry(device, int(number), at) if number.isdecimal() else _Entry(record.id, 0, at)


def _standing(records: Iterable[Record]) -> list[tuple[Record, Record]]:
    """Return each record that holds, after the record that it goes back to."""
    everything = {record.id: record for record in records}
    amendments = {r.id: r for r in everything.values() if isinstance(r, Amendment)}
    superseded = {amendment.supersedes for amendment in amendments.values()}
    winners: dict[str, Amendment] = {}
    for amendment in sorted(amendments.values(), key=lambda a: (a.recorded_at, a.id)):
        if amendment.id not in superseded:
            winners[_root(amendment, amendments)] = amendment
    standing = [
        (record, record)
        for record in everything.values()
        if record.id not in superseded and not isinstance(record, Amendment)
    ]
    standing += [
        (everything.get(root, winner), replace(winner.replacement, id=winner.id))
        for root, winner in winners.items()
        if winner.replacement is not None
    ]
    return standing


def _root(amendment: Amendment, amendments: Mapping[str, Amendment]) -> str:
    """Return the id of the record that an amendment goes back to."""
    met = {amendment.id}
    root = amendment.supersedes
    while root in amendments and root not in met:
        met.add(root)
        root = amendments[root].supersedes
    return min(met) if root in met else root


def newest(records: Sequence[Record], record_class: type[R], until: datetime) -> R | None:
    """Return the last record of a class that happened no later than a time, or None."""
    for record in reversed(records):
        if isinstance(record, record_class) and record.at <= until:
            return record
    return None
