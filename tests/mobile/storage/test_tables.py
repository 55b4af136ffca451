"""TinyDB in place: its queries, at a cost that does not grow with the log."""

from copy import deepcopy

import pytest
from tinydb import TinyDB, where
from tinydb.storages import MemoryStorage
from tinydb.table import Document

from mobile.storage.errors import StoreReadOnly
from mobile.storage.tables import RecordDB
from tests.mobile.storage.disk import Disk
from tests.mobile.storage.support import open_in, record

DOCUMENTS = {
    f"a:{n}": {"system": "main" if n % 3 else "nursery", "n": n, "tags": [n % 5]}
    for n in range(1, 41)
}


def _live() -> RecordDB:
    db = RecordDB()
    with db.live.changing():
        db.live_table("records").put(deepcopy(DOCUMENTS))
    return db


@pytest.mark.parametrize(
    "query",
    [
        where("system") == "nursery",
        (where("n") > 10) & (where("n") <= 20),
        where("tags").any([3]),
        where("absent").exists(),
        where("n").test(lambda n: n % 7 == 0),
    ],
)
def test_a_query_finds_what_stock_tinydb_finds(query):
    stock = TinyDB(storage=MemoryStorage)
    stock.insert_multiple(DOCUMENTS.values())
    db = _live()
    assert [dict(found) for found in db.search(query)] == [dict(f) for f in stock.search(query)]
    assert db.count(query) == stock.count(query)
    assert db.contains(query) == stock.contains(query)


def test_documents_are_found_by_the_records_own_id():
    db = _live()
    found = db.table("records").get(doc_id="a:7")
    assert (found.doc_id, found["n"]) == ("a:7", 7)
    assert db.table("records").get(doc_id="a:99") is None
    assert len(db) == 40


def test_a_change_is_seen_by_a_query_asked_before():
    db = _live()
    query = where("n") == 7
    assert db.count(query) == 1
    with db.live.changing():
        db.live_table("records").drop(["a:7"])
    assert db.count(query) == 0


def test_an_update_that_fails_half_way_changes_nothing():
    db = _live()

    def spoil(found):
        found["tags"].append("spoiled")
        if found["n"] == 20:
            raise ZeroDivisionError

    with db.live.changing(), pytest.raises(ZeroDivisionError):
        db.table("records").update(spoil)
    assert {found.doc_id: dict(found) for found in db.all()} == DOCUMENTS


def test_inserting_over_an_id_is_refused_and_changes_nothing():
    db = _live()
    new = [Document({"n": 100}, "b:1"), Document({"n": 101}, "a:1")]
    with db.live.changing(), pytest.raises(ValueError, match="already exists"):
        db.table("records").insert_multiple(new)
    assert {found.doc_id: dict(found) for found in db.all()} == DOCUMENTS


def test_update_upsert_and_remove_work_as_in_tinydb():
    db = _live()
    table = db.table("records")
    with db.live.changing():
        assert table.update({"seen": True}, where("system") == "nursery") == [
            key for key in DOCUMENTS if DOCUMENTS[key]["system"] == "nursery"
        ]
        assert table.upsert(Document({"n": -1}, "a:1")) == ["a:1"]
        assert table.upsert(Document({"n": -2}, "b:1")) == ["b:1"]
        assert table.remove(where("n") > 2) == [f"a:{n}" for n in range(3, 41)]
    assert [(found.doc_id, found["n"]) for found in db.all()] == [
        ("a:1", -1),
        ("a:2", 2),
        ("b:1", -2),
    ]


def test_nothing_is_written_past_the_journal():
    db = _live()
    for write in (
        lambda: db.insert(Document({"n": 1}, "b:1")),
        lambda: db.update({"n": 1}),
        lambda: db.table("records").truncate(),
        db.drop_tables,
    ):
        with pytest.raises(StoreReadOnly):
            write()
    assert {found.doc_id: dict(found) for found in db.all()} == DOCUMENTS


async def test_one_more_record_touches_the_same_in_any_log():
    disk = Disk()
    repository = await open_in(disk)
    costs = []
    for size in (10, 1_000, 4_000):
        missing = size - len(repository.records())
        batch = [record(repository.next_id(), minutes=n, note="x") for n in range(missing)]
        await repository.append(batch)
        touched, calls = repository.db.live.touched, disk.calls
        length = len(disk.files["journal"])
        await repository.append([record(repository.next_id(), minutes=size, note="x")])
        costs.append(
            (
                repository.db.live.touched - touched,
                disk.calls - calls,
                len(disk.files["journal"]) - length < 400,
            )
        )
    assert costs == [(1, 2, True)] * 3
