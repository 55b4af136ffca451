"""Whole stores of older versions: their journal opens, their export comes in, newer data is safe.

`versions/v1` was written by the app's own code as it stood at commit cc6f69c (schema version 1):
every kind of record twice, once with nothing but its required fields and once with all of them.
"""

import json
import shutil
from pathlib import Path

import pytest

from engine.records import KINDS
from mobile.storage import store
from mobile.storage.errors import DataNewerThanApp, StoreReadOnly
from mobile.storage.file import disk_folder
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.memory import memory_folder
from mobile.storage.migrations import SCHEMA_VERSION, migrate
from mobile.storage.restore import Door
from mobile.storage.store import open_repository
from mobile.texts.app import TEXTS
from mobile.validation import VALIDATION
from tests.mobile.storage.support import DeviceIds, codes
from tests.support.app import START, Phone

VERSIONS = Path(__file__).parent / "versions"
OLD = [VERSIONS / f"v{number}" for number in range(1, SCHEMA_VERSION)]
KINDS_V1 = {
    *("addition", "amendment", "delivery_setting", "event", "limewater_strength", "note"),
    *("powder_stock", "procedure_run", "pump_check", "recharge", "refill"),
    *("second_source_setting", "setup", "water_change", "water_test"),
}


async def _open(path: Path):
    return await open_repository(disk_folder(path), new_device_id=DeviceIds(), **VALIDATION)


def _copy(version: Path, tmp_path: Path) -> Path:
    shutil.copy(version / "journal", tmp_path / JOURNAL_NAME)
    return tmp_path


def _as_kept(version: Path) -> list[dict]:
    return [json.loads(line) for line in (version / "export.jsonl").read_bytes().splitlines()[1:]]


def test_every_older_version_is_kept_with_every_kind_it_had():
    assert all(path.is_dir() for path in OLD)
    assert {record["kind"] for record in _as_kept(VERSIONS / "v1")} == KINDS_V1
    assert set(KINDS) >= KINDS_V1, "a kind was removed: a keeper's log holds such records"


@pytest.mark.parametrize("version", OLD, ids=lambda path: path.name)
async def test_a_journal_of_an_older_version_opens_whole_and_is_written_on(version, tmp_path):
    before = (version / "journal").read_bytes()
    repository = await _open(_copy(version, tmp_path))
    assert (codes(repository), repository.blocked) == ([], None)
    kept = _as_kept(version)
    stored = repository.records()
    assert [record["id"] for record in stored] == [record["id"] for record in kept]
    for old, new in zip(kept, stored, strict=True):
        assert new["v"] == SCHEMA_VERSION
        assert _holds(new, old), "nothing is lost"
    assert repository.meta("alkalinity_unit") == "meq/L"
    assert repository.next_id() == "phonev1000000001:32"
    await repository.append([{**stored[0], "id": repository.next_id()}])
    await repository.close()
    after = (tmp_path / JOURNAL_NAME).read_bytes()
    assert after[8192 : len(before)] == before[8192:], "what was written is never rewritten"
    again = await _open(tmp_path)
    assert (codes(again), len(again.records())) == ([], len(kept) + 1)
    await again.close()


def _holds(new: dict, old: dict) -> bool:
    """Whether a migrated record still says all that the old one said."""
    return all(
        _holds(new[key], value) if isinstance(value, dict) else new[key] == value
        for key, value in old.items()
        if key != "v"
    )


@pytest.mark.parametrize("version", OLD, ids=lambda path: path.name)
async def test_an_export_of_an_older_version_comes_in_as_its_journal_does(version, tmp_path):
    repository = await _open(_copy(version, tmp_path))
    other = await open_repository(memory_folder, new_device_id=DeviceIds(), **VALIDATION)
    preview = await other.preview_import((version / "export.jsonl").read_bytes())
    assert (preview.problems, preview.rejected_count) == ((), 0)
    await other.apply_import(preview)
    assert other.records() == repository.records()
    again = await repository.preview_import((version / "export.jsonl").read_bytes())
    assert (again.new, again.conflicting, again.same) == ((), (), len(repository.records()))
    await repository.close()


async def test_data_of_a_newer_app_opens_read_only_and_is_left_as_it_is(tmp_path, monkeypatch):
    """The app of today writes; an older one, as after a rollback, may only read it."""
    repository = await _open(tmp_path)
    record = {**migrate(_as_kept(VERSIONS / "v1")[-1]), "id": repository.next_id()}
    await repository.append([record])
    await repository.close()
    written = (tmp_path / JOURNAL_NAME).read_bytes()
    _pretend_older(monkeypatch)
    older = await _open(tmp_path)
    assert isinstance(older.blocked, DataNewerThanApp)
    assert "newer version" in TEXTS[f"read_only_{older.blocked.code}"]
    with pytest.raises(StoreReadOnly):
        await older.put_meta("alkalinity_unit", "dKH")
    assert record["id"].encode() in older.export(START)
    await older.close()
    assert (tmp_path / JOURNAL_NAME).read_bytes() == written
    monkeypatch.undo()
    newer = await _open(tmp_path)
    assert (newer.blocked, [r["id"] for r in newer.records()]) == (None, [record["id"]])
    await newer.close()


def _pretend_older(monkeypatch) -> None:
    class OldDoor(Door):
        def __init__(self, **options):
            super().__init__(**options, schema_version=SCHEMA_VERSION - 1)

    monkeypatch.setattr(store, "Door", OldDoor)


async def test_the_screen_says_that_the_records_are_of_a_newer_version(tmp_path, monkeypatch):
    phone = Phone(tmp_path)
    app = await phone.open()
    await phone.close()
    _pretend_older(monkeypatch)
    older = await Phone(tmp_path, app.clock).open()
    assert older.says(TEXTS["read_only_data_newer_than_app"])
    await older.close()
