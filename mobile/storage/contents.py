"""What the journal amounts to, in memory: records by id and by time, conflicts, app state."""

import hashlib
from bisect import insort
from collections.abc import Iterable, Mapping
from typing import Any

from engine.log.row import Row
from mobile.storage.batch import Delete, Op, Put
from mobile.storage.problems import Problem
from mobile.storage.restore import Door, Refusal, Refused, canonical, instant_us, split_id
from mobile.storage.tables import Documents, RecordDB

RECORDS = "records"
CONFLICTS = "conflicts"
META = "meta"

_MOST_PUT_IN = 16  # more records at once are put in order anew

_TimeKey = tuple[int, int, str]


class Contents:
    """TinyDB's tables and a time index over them.

    Attributes
    ----------
    db : RecordDB
        Tables `records`, `conflicts` and `meta`; open to any TinyDB query.
    refused : list of Refused
        What the journal holds and the door did not let through, as it was stored.
    problems : list of Problem
        One for each of them.
    """

    def __init__(self, door: Door) -> None:
        self.db = RecordDB()
        self.refused: list[Refused] = []
        self.problems: list[Problem] = []
        self._door = door
        self._by_time: dict[str, list[_TimeKey]] = {}
        self._told: dict[str | None, Row[dict[str, Any]]] = {}  # by system; None: all
        self._not_told: list[dict[str, Any]] = []
        self._highest: dict[str, int] = {}
        self._conflicts: set[str] = set()

    def load(self, ops: Iterable[Op], checked: Iterable[Put] = ()) -> None:
        """Replay a journal; every record passes the door, but for those `checked` before."""
        tables: dict[str, Documents] = {RECORDS: {}, CONFLICTS: {}, META: {}}
        for put in checked:
            tables.setdefault(put.table, {})[put.id] = put.doc
        for op in ops:
            table = tables.setdefault(op.table, {})
            if isinstance(op, Put):
                self._load_one(table, op)
            else:
                table.pop(op.id, None)
        with self.db.live.changing():
            for name, table in tables.items():
                self.db.live_table(name).put(table)
        for record in tables[RECORDS].values():
            self._index(record, keep_sorted=False)
        for keys in self._by_time.values():
            keys.sort()
        self._conflicts.update(map(conflict_key, tables[CONFLICTS].values()))
        for refused in self.refused:
            self._keep_number(refused.raw.get("id"))

    def puts(self) -> tuple[list[Put], list[Put]]:
        """Return changes that amount to all this: what passed the door, and what did not."""
        checked = [
            Put(name, key, document)
            for name in (RECORDS, CONFLICTS, META)
            for key, document in self._documents(name).items()
        ]
        unread = [Put(RECORDS, str(item.raw.get("id", "")), item.raw) for item in self.refused]
        return checked, unread

    def apply(self, ops: Iterable[Op]) -> None:
        """Take in what the journal has just acknowledged."""
        ops = tuple(ops)
        if any(isinstance(op, Delete) and op.table == RECORDS for op in ops):
            self._told.clear()
        with self.db.live.changing():
            for op in ops:
                table = self.db.live_table(op.table)
                if isinstance(op, Put):
                    table.put({op.id: op.doc})
                else:
                    table.drop([op.id])
                if isinstance(op, Put) and op.table == RECORDS:
                    self._index(op.doc, keep_sorted=True)
                elif isinstance(op, Put) and op.table == CONFLICTS:
                    self._conflicts.add(conflict_key(op.doc))

    def follow(self, ops: Iterable[Op]) -> None:
        """Take in what another window has saved: records pass the door as at loading."""
        for op in ops:
            if isinstance(op, Delete) or op.table == META:
                self.apply([op])
                continue
            known = self._documents(op.table).get(op.id)
            table = {} if known is None else {op.id: known}
            self._load_one(table, op)
            if known is None and op.id in table:
                self.apply([Put(op.table, op.id, table[op.id])])

    def record(self, record_id: str) -> dict[str, Any] | None:
        """Return the record of an id, or None. The caller must not change it."""
        return self._documents(RECORDS).get(record_id)

    def records(self, system: str | None) -> Row[dict[str, Any]]:
        """Return records oldest first (by `at`, then by id). The caller must not change them."""
        self._grow()
        if system not in self._told:
            if system is None:
                keys = sorted(key for keys in self._by_time.values() for key in keys)
            else:
                keys = self._by_time.get(system, [])
            stored = self._documents(RECORDS)
            self._told[system] = Row(stored[f"{device}:{n}"] for _, n, device in keys)
        return self._told[system]

    def count_by_time(self) -> int:
        """Return how many records the index by time names."""
        return sum(map(len, self._by_time.values()))

    def systems(self) -> tuple[str, ...]:
        """Return the names of all systems that have a record, sorted."""
        return tuple(sorted(self._by_time))

    def conflicts(self) -> tuple[dict[str, Any], ...]:
        """Return the records whose id was taken by another content, in the order they came."""
        return tuple(self._documents(CONFLICTS).values())

    def holds(self, record: Mapping[str, Any]) -> bool:
        """Whether this very content is stored, as a record or as a conflict."""
        stored = self.record(record["id"])
        return (stored is not None and canonical(stored) == canonical(record)) or (
            conflict_key(record) in self._conflicts
        )

    def meta(self, key: str) -> Any:
        """Return a piece of app state, or None."""
        stored = self._documents(META).get(key)
        return None if stored is None else stored["value"]

    def highest(self, device: str) -> int:
        """Return the highest number among the ids of a device, 0 when it has none."""
        return self._highest.get(device, 0)

    def _documents(self, table: str) -> Documents:
        return self.db.live.documents(table)

    def _load_one(self, table: Documents, op: Put) -> None:
        if op.table == META:
            table[op.id] = op.doc
            return
        try:
            record = self._door.admit(op.doc)
        except Refusal as refusal:
            self._refuse(op.doc, refusal.problem)
            return
        earlier = table.setdefault(op.id, record)
        if earlier is not record and canonical(earlier) != canonical(record):
            self._refuse(op.doc, Problem(code="record_twice", record_id=op.id))

    def _refuse(self, raw: dict[str, Any], problem: Problem) -> None:
        self.refused.append(Refused(raw=raw, problem=problem))
        self.problems.append(problem)

    def _index(self, record: dict[str, Any], *, keep_sorted: bool) -> None:
        self._keep_number(record["id"])
        keys = self._by_time.setdefault(record["system"], [])
        key = _time_key(record)
        if not keep_sorted:
            keys.append(key)
            return
        insort(keys, key)
        self._not_told.append(record)

    def _grow(self) -> None:
        """Put what came since into what was told: when it is asked for, not while it is saved."""
        came, self._not_told = self._not_told, []
        if len(came) > _MOST_PUT_IN:
            self._told.clear()
        for record in came:
            for system in (record["system"], None):
                if told := self._told.pop(system, None):
                    self._told[system] = told.put_by(record, _time_key)

    def _keep_number(self, record_id: Any) -> None:
        """Remember that a number is taken, also by what could not be read."""
        try:
            device, number = split_id(record_id)
        except (TypeError, ValueError):
            return
        self._highest[device] = max(number, self._highest.get(device, 0))


def _time_key(record: Mapping[str, Any]) -> _TimeKey:
    device, number = split_id(record["id"])
    return instant_us(record["at"]), number, device


def conflict_key(record: Mapping[str, Any]) -> str:
    """Return where a conflicting record is kept: its id and a digest of its content."""
    digest = hashlib.sha256(canonical(record).encode()).hexdigest()
    return f"{record['id']}#{digest[:16]}"
