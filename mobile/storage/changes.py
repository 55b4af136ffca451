"""What a save or an import adds to the journal, as changes to its tables."""

from collections.abc import Callable, Collection, Sequence
from typing import Any

from mobile.storage.batch import Delete, Op, Put
from mobile.storage.contents import CONFLICTS, META, RECORDS, conflict_key
from mobile.storage.errors import RecordConflict, RecordRefused
from mobile.storage.problems import Problem
from mobile.storage.restore import MAX_RECORD_BYTES, Refusal, canonical, check_value

Lookup = Callable[[str], dict[str, Any] | None]


def new_puts(records: Sequence[dict[str, Any]], stored: Lookup) -> list[Op]:
    """Return what is not stored yet; raises RecordConflict for an id of another content."""
    batch: dict[str, dict[str, Any]] = {}
    for record in records:
        earlier = batch.get(record["id"]) or stored(record["id"])
        if earlier is None:
            batch[record["id"]] = record
        elif canonical(earlier) != canonical(record):
            raise RecordConflict(record_id=record["id"])
    return [Put(RECORDS, record_id, record) for record_id, record in batch.items()]


def import_puts(records: Sequence[dict[str, Any]], stored: Lookup) -> tuple[list[Op], list[Op]]:
    """Return what an import adds, and what it keeps aside because its id is taken."""
    added: dict[str, Op] = {}
    conflicts: dict[str, Op] = {}
    for record in records:
        record_id = record["id"]
        if record_id in added or stored(record_id):
            key = conflict_key(record)
            conflicts[key] = Put(CONFLICTS, key, record)
        else:
            added[record_id] = Put(RECORDS, record_id, record)
    return list(added.values()), list(conflicts.values())


def meta_op(key: str, value: Any) -> Op:
    """Return the change of a piece of app state; raises RecordRefused."""
    if value is None:
        return Delete(META, key)
    try:
        check_value({key: value})
    except Refusal as refusal:
        raise RecordRefused(refusal.problem) from refusal
    if len(canonical(value).encode()) > MAX_RECORD_BYTES:
        raise RecordRefused(Problem(code="record_too_large", detail=key[:80]))
    return Put(META, key, {"value": value})


def without_system(ops: Sequence[Op], system: str, forget: Collection[str] = ()) -> list[Op]:
    """Return changes but for the records of a system, its amendments and conflicts among them.

    `forget` names the pieces of app state that go with it.
    """

    def goes(op: Op) -> bool:
        if op.table == META:
            return op.id in forget
        return isinstance(op, Put) and op.doc.get("system") == system

    return [op for op in ops if not goes(op)]
