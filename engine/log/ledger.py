"""A log read once: what stands of it, by kind and by parameter, oldest first.

Each save and each screen asks about the same log with a record more. So the ledgers read last are
kept, and one that only lacks some records is grown instead of read anew. That changes no answer,
only its cost: a ledger grown is the same as one read anew (a property test holds them together).
"""

from bisect import bisect_left, bisect_right
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from heapq import merge
from typing import Final, TypeVar

from engine.log.reading import order_of, read_log
from engine.log.row import Row, put_in
from engine.records import Amendment, Reading, Record, Setup, WaterTest
from engine.vocabulary import can_be_real

# The group of the readings that cannot be real, of whatever quantity: nothing is reckoned from
# them. Longer than any parameter's code may be.
IMPOSSIBLE: Final = "readings that cannot be real, of any quantity"


@dataclass(frozen=True, slots=True)
class Sample:
    """One value of one parameter, in its canonical unit."""

    at: datetime
    value: float
    lot: str = ""  # of the reagent, where given
    tester: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """The log of one system, amendments applied."""

    written: Sequence[Record] = field(repr=False)  # as given, amendments included
    standing: Row[Record]  # oldest first
    setup: Setup | None  # in force
    by_class: Mapping[type[Record], Row[Record]] = field(repr=False)
    samples: Mapping[str, Row[Sample]] = field(repr=False)  # by parameter, or `IMPOSSIBLE`
    entered: Row[datetime] = field(repr=False)  # when what stands was entered, sorted
    # Ids written or superseded, and those superseded; handed on to the ledger grown from this one.
    spoken_of: set[str] = field(repr=False)
    superseded: set[str] = field(repr=False)


# The app shows one system and keeps the card's figures of some more.
_KEPT: Final = 8
_recent: Final[list[Ledger]] = []  # the newest last
_grouped: Final[list[tuple[Row[Record], Mapping[str, Row[Record]]]]] = []
_MOST_GROWN: Final = 16  # more at once are read anew


def ledger_of(records: Iterable[Record]) -> Ledger:
    """Return the ledger of the records of one system, in any order, amendments included."""
    written = records if isinstance(records, (Row, tuple)) else tuple(records)
    for place, known in reversed(list(enumerate(_recent))):
        if known.written is written:
            return known
        where = put_in(known.written, written)
        grown = None if where is None else _grown(known, written, written[where])
        if grown is not None:
            del _recent[place]
            return _kept(grown)
    return _kept(read_ledger(written))


def ledger_of_system(records: Iterable[Record], system: str) -> Ledger:
    """Return the ledger of one system among records of any."""
    for known in reversed(_recent):
        if known.written is records and known.written and known.written[0].system == system:
            return known
    return ledger_of(tuple(record for record in records if record.system == system))


def by_system(records: Iterable[Record]) -> Mapping[str, Row[Record]]:
    """Return the records of each system, in the order given."""
    order = Row.of(records)
    for place, (known, groups) in reversed(list(enumerate(_grouped))):
        if known is order:
            return groups
        where = put_in(known, order)
        if where is not None and where.stop - where.start <= _MOST_GROWN:
            del _grouped[place]
            grown = _with(groups, order, where)
            break
    else:
        grown = _groups(order)
    _grouped.append((order, grown))
    del _grouped[:-_KEPT]
    return grown


def _groups(order: Row[Record]) -> Mapping[str, Row[Record]]:
    found: dict[str, list[Record]] = {}
    for record in order:
        found.setdefault(record.system, []).append(record)
    if len(found) == 1:  # the whole is the log of its one system
        return dict.fromkeys(found, order)
    return {system: Row(own) for system, own in found.items()}


def _with(
    groups: Mapping[str, Row[Record]], order: Row[Record], where: slice
) -> Mapping[str, Row[Record]]:
    """Return groups with the records that were put into the whole, each where it stands there."""
    new = order[where]
    if len({*groups, *(record.system for record in new)}) <= 1:
        return {record.system: order for record in order[:1]}
    grown = dict(groups)
    for system in {record.system for record in new}:
        own = grown.get(system, Row[Record]())
        behind = sum(record.system == system for record in order[where.stop :])
        put = (record for record in new if record.system == system)
        grown[system] = own.put(len(own) - behind, put)
    return grown


def forget() -> None:
    """Forget every ledger: the next one is read anew."""
    _recent.clear()
    _grouped.clear()


def _kept(ledger: Ledger) -> Ledger:
    _recent.append(ledger)
    del _recent[:-_KEPT]
    return ledger


def read_ledger(written: Sequence[Record]) -> Ledger:
    """Return the ledger read anew."""
    standing, setup = read_log(written)
    by_class: dict[type[Record], list[Record]] = {}
    for record in standing:
        by_class.setdefault(type(record), []).append(record)
    superseded = {record.supersedes for record in written if isinstance(record, Amendment)}
    return Ledger(
        written=written,
        standing=Row(standing),
        setup=setup,
        by_class={record_class: Row(group) for record_class, group in by_class.items()},
        samples=_samples(standing),
        entered=Row(sorted(record.recorded_at for record in standing)),
        spoken_of={record.id for record in written} | superseded,
        superseded=superseded,
    )


R = TypeVar("R", bound="Record | Sample")


def since(records: Sequence[R], moment: datetime) -> Sequence[R]:
    """Return those of some records, oldest first, that happened no earlier than a moment."""
    return records[bisect_left(records, moment, key=_at) :]


def until(records: Sequence[R], moment: datetime) -> Sequence[R]:
    """Return those of some records, oldest first, that happened no later than a moment."""
    return records[: bisect_right(records, moment, key=_at)]


def between(records: Sequence[R], start: datetime, end: datetime) -> Sequence[R]:
    """Return those of some records, oldest first, that happened in (start, end]."""
    first = bisect_right(records, start, key=_at)
    return records[first : max(first, bisect_right(records, end, key=_at))]


def merged(*groups: Sequence[Record]) -> tuple[Record, ...]:
    """Return groups of records, each oldest first, as one."""
    return tuple(merge(*groups, key=order_of))


def _at(record: Record | Sample) -> datetime:
    return record.at


T = TypeVar("T")


def _grown(known: Ledger, written: Sequence[Record], new: Sequence[Record]) -> Ledger | None:
    """Return the ledger with plain new records; None where what stands must be found anew."""
    if len(new) == 1 and isinstance(new[0], Amendment):
        return _amended(known, written, new[0])
    ids = [record.id for record in new]
    plain = not any(isinstance(record, (Amendment, Setup)) for record in new)
    if not plain or len(new) > _MOST_GROWN or len(set(ids) - known.spoken_of) < len(ids):
        return None
    standing, entered = known.standing, known.entered
    by_class = dict(known.by_class)
    for record in new:
        standing = standing.put_by(record, order_of)
        entered = entered.put_by(record.recorded_at, _itself)
        group = by_class.get(type(record), Row[Record]())
        by_class[type(record)] = group.put_by(record, order_of)
    known.spoken_of.update(ids)
    tests = by_class.get(WaterTest, ())
    untested = not any(isinstance(record, WaterTest) for record in new)
    return Ledger(
        written=written,
        standing=standing,
        setup=known.setup,
        by_class=by_class,
        samples=known.samples if untested else _samples_with(known, new, tests),
        entered=entered,
        spoken_of=known.spoken_of,
        superseded=known.superseded,
    )


def _itself(moment: datetime) -> datetime:
    return moment


def _amended(known: Ledger, written: Sequence[Record], amendment: Amendment) -> Ledger | None:
    """Return the ledger with one plain record amended; None where more than that changes."""
    amended = amendment.supersedes
    new = amendment.replacement
    if amended in known.superseded or {amended, amendment.id} & known.spoken_of != {amended}:
        return None
    old = next((each for each in reversed(known.standing) if each.id == amended), None)
    if old is None or isinstance(old, Setup) or isinstance(new, (Setup, Amendment)):
        return None
    put = () if new is None else (replace(new, id=amendment.id),)
    entered = _without(known.entered, bisect_left(known.entered, old.recorded_at))
    for record in put:
        entered = entered.put_by(record.recorded_at, _itself)
    known.spoken_of.add(amendment.id)
    known.superseded.add(amended)
    by_class = dict(known.by_class)
    for record_class in {type(old), *map(type, put)}:
        group = by_class.get(record_class, Row[Record]())
        by_class[record_class] = _exchanged(
            group, old, tuple(r for r in put if type(r) is record_class)
        )
    return Ledger(
        written=written,
        standing=_exchanged(known.standing, old, put),
        setup=known.setup,
        by_class={record_class: group for record_class, group in by_class.items() if group},
        samples=_samples_after(known, by_class.get(WaterTest, Row[Record]()), (old, *put)),
        entered=entered,
        spoken_of=known.spoken_of,
        superseded=known.superseded,
    )


def _exchanged(records: Row[Record], old: Record, put: tuple[Record, ...]) -> Row[Record]:
    """Return records without one and with others, oldest first."""
    place = bisect_left(records, order_of(old), key=order_of)
    is_there = place < len(records) and records[place] is old
    kept = _without(records, place) if is_there else records
    for record in put:
        kept = kept.put_by(record, order_of)
    return kept


def _without(row: Row[T], place: int) -> Row[T]:
    return row[:place].put(place, row[place + 1 :])


def _samples_after(
    known: Ledger, tests: Sequence[Record], touched: Iterable[Record]
) -> Mapping[str, Row[Sample]]:
    """Return the samples, those of the parameters of some tests found anew."""
    readings = [r for test in touched if isinstance(test, WaterTest) for r in test.readings]
    parameters = {_group(reading) for reading in readings}
    if not parameters:
        return known.samples
    others = {name: own for name, own in known.samples.items() if name not in parameters}
    return {**others, **_samples(tests, parameters)}


def _samples_with(
    known: Ledger, new: Sequence[Record], tests: Sequence[Record]
) -> Mapping[str, Row[Sample]]:
    """Return the samples with new tests among them."""
    added = tuple(record for record in new if isinstance(record, WaterTest))
    of_new = _samples(sorted(added, key=order_of))
    if set(map(id, tests[-len(added) :])) == set(map(id, added)):  # none is older than one known
        grown = dict(known.samples)
        for name, own in of_new.items():
            before = grown.get(name, Row[Sample]())
            grown[name] = before.put(len(before), own)
        return grown
    return {**known.samples, **_samples(tests, of_new)}


def _samples(
    tests: Iterable[Record], parameters: Container[str] | None = None
) -> dict[str, Row[Sample]]:
    """Return the values of all or of some parameters, oldest first."""
    found: dict[str, list[Sample]] = {}
    for test in tests:
        if not isinstance(test, WaterTest):
            continue
        for reading in test.readings:
            group = _group(reading)
            if parameters is None or group in parameters:
                sample = Sample(test.at, reading.value, test.reagent_lot, test.tester)
                found.setdefault(group, []).append(sample)
    return {parameter: Row(values) for parameter, values in found.items()}


def _group(reading: Reading) -> str:
    """Return what a reading is found under: its quantity, or that it cannot be real."""
    return reading.parameter if can_be_real(reading.parameter, reading.value) else IMPOSSIBLE
