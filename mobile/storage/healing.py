"""Taking back from the second copy what the journal has lost: a union of records, by their ids.

Nothing in the journal is changed for it: what is missing is added in one commit, through the door,
and another content under an id that is taken is kept aside, as in an import.
"""

from dataclasses import dataclass

from mobile.storage.batch import Op, Put
from mobile.storage.changes import import_puts
from mobile.storage.contents import CONFLICTS, META, RECORDS, Contents
from mobile.storage.journal import Journal
from mobile.storage.restore import Door, Refusal, canonical
from mobile.storage.second_copy import CopyContents


@dataclass(slots=True, kw_only=True)
class _Missing:
    records: list[dict[str, object]]
    unread: list[Op]  # what does not pass the door, and is kept as it is


async def heal(journal: Journal, contents: Contents, copy: CopyContents, door: Door) -> int:
    """Add to the journal what the copy has and it has not; return how many records came back.

    Raises
    ------
    StoreReadOnly, StorageFull, StorageFailed, JournalStopped
        Nothing was added.
    """
    tables = folded(copy.found.ops)
    missing = _missing(tables, contents, door)
    added, conflicts = import_puts(missing.records, contents.record)
    state = [Put(META, key, doc) for key, doc in tables[META].items() if contents.meta(key) is None]
    ops = [*added, *conflicts, *missing.unread, *state]
    if ops:
        contents.follow(await journal.commit(ops))
    return len(added) + len(conflicts) + len(missing.unread)


def folded(ops: list[Op]) -> dict[str, dict[str, dict[str, object]]]:
    """Return the documents of each table that changes amount to; the first of a record counts."""
    tables: dict[str, dict[str, dict[str, object]]] = {RECORDS: {}, CONFLICTS: {}, META: {}}
    for op in ops:
        table = tables.setdefault(op.table, {})
        if not isinstance(op, Put):
            table.pop(op.id, None)
        elif op.table == META:
            table[op.id] = op.doc
        else:
            table.setdefault(op.id, op.doc)
    return tables


def _missing(
    tables: dict[str, dict[str, dict[str, object]]], contents: Contents, door: Door
) -> _Missing:
    known = {canonical(refused.raw) for refused in contents.refused}
    found = _Missing(records=[], unread=[])
    for key, raw in (*tables[RECORDS].items(), *tables[CONFLICTS].items()):
        try:
            record = door.admit(raw)
        except Refusal:
            if canonical(raw) not in known:
                found.unread.append(Put(RECORDS, key, raw))
            continue
        if not contents.holds(record):
            found.records.append(record)
    return found
