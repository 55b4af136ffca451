"""Export and import from Setup: everything comes back; a bad file changes nothing and says why."""

import hashlib
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from mobile.storage.migrations import SCHEMA_VERSION
from mobile.storage.transfer import MAX_IMPORT_BYTES
from tests.support.app import START, Phone, Running, scenario_records


async def exported(app: Running) -> bytes:
    await app.go("/setup")
    await app.tap("export")
    (data,) = app.files.saved.values()
    return data


async def picked(app: Running, data: bytes) -> None:
    await app.go("/setup")
    await app.store.transfer.picked(data)
    await app.screen.settle()


def said(app: Running) -> str:
    return " ".join(app.all_texts("import-line"))


async def test_export_is_named_by_its_time_counted_and_remembered(app: Running):
    await app.record("calcium", "420")
    await app.go("/setup")
    assert app.says("Never exported.")
    await app.tap("export")
    assert list(app.files.saved) == ["sumpside-2026-11-24-0900.jsonl"]
    assert app.notice.startswith("Export ready: 3 records.")
    assert app.says(
        "Last export: Tue 24 Nov, 09:00, less than an hour ago. Entered since: 0 records."
    )


async def test_what_is_saved_while_the_picker_is_open_is_not_counted_as_exported(
    app: Running, monkeypatch
):
    async def slow(_name: str, _data: bytes) -> None:
        (made,) = [r for r in app.stored() if r["kind"] == "water_test"][:1]
        await app.repository.append([{**made, "id": app.repository.next_id()}])

    await app.record("calcium", "420")
    monkeypatch.setattr(app.files, "save", slow)
    await app.go("/setup")
    await app.tap("export")
    assert len(app.stored()) == 4
    assert app.notice.startswith("Export ready: 3 records.")
    assert app.repository.meta("exported_count") == 3


async def test_records_come_back_on_another_phone(phone: Phone, app: Running, tmp_path: Path):
    await app.record("calcium", "420")
    await app.go("/record/note")
    await app.write("words", "Zwei Ableger 🐠\nlinks")
    await app.tap("save")
    await app.go(f"/history/{app.stored('water_test')[0]['id']}")
    await app.tap("withdraw", "withdraw-sure")
    data = await exported(app)
    other = Phone(tmp_path / "other", app.clock)
    new = await other.open()
    assert new.has("start-setup")
    await new.tap("bring-records")
    assert not new.failed
    await new.store.transfer.picked(data)
    await new.screen.settle()
    assert said(new) == "In this file: 5 new, 0 already here, 0 in conflict."
    assert new.stored() == [], "looking changes nothing"
    await new.tap("import-apply")
    assert new.notice == "Import done: 5 new records. In conflict and kept aside: 0."
    assert new.stored() == app.stored()
    assert new.says("My reef")
    await new.place("history")
    assert new.says("withdrawn later")
    new = await other.reopen(new)
    assert new.stored() == app.stored()
    await picked(new, data)
    assert said(new) == "In this file: 0 new, 5 already here, 0 in conflict."
    assert not new.has("import-apply")
    await new.tap("import-leave")
    assert not new.has("import-preview")
    await new.record("calcium", "430")
    assert len(new.stored()) == 6
    await other.close()


async def test_import_without_evaporation_gives_no_dose_and_the_reason(phone: Phone, app: Running):
    setup, *others = (dict(record) for record in app.stored())
    setup["evaporation_low_L_per_day"] = setup["evaporation_high_L_per_day"] = None
    data = file_of([{**setup, "id": "elsewhere0000001:1", "system": "other"}])
    await picked(app, data)
    await app.tap("import-apply")
    await app.tap("system-other")
    await app.place("today")
    assert app.text("decision") == "Leave the pump as it is. Raise nothing untested."
    assert app.says("evaporation is not known") or app.says("alkalinity was never tested")
    await app.place("plan")
    assert not app.has("plan-dose")
    assert others[0]["kind"] == "delivery_setting"


def file_of(records: list[dict], **header: object) -> bytes:
    body = b"".join(json.dumps(record).encode() + b"\n" for record in records)
    head = {
        "format": "sumpside-records",
        "version": 1,
        "exported_at": START.isoformat(),
        "records": len(records),
        "sha256": hashlib.sha256(body).hexdigest(),
        **header,
    }
    return json.dumps(head).encode() + b"\n" + body


NOTE = {
    "v": SCHEMA_VERSION,
    "kind": "note",
    "id": "elsewhere0000001:1",
    "at": START.isoformat(),
    "recorded_at": START.isoformat(),
    "system": "reef",
    "note": "from elsewhere",
}
REFILL = {**NOTE, "kind": "refill", "id": "elsewhere0000001:2", "note": "", "volume_L": 5.0}

REFUSED: dict[str, tuple[Callable[[], bytes], str]] = {
    "empty": (lambda: b"", "This is not a file of Sumpside records. Nothing was changed."),
    "picture": (lambda: b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 9, "This is not a file of"),
    "foreign_json": (lambda: b'{"tests": [1, 2]}', "This is not a file of Sumpside records."),
    "table": (lambda: b"date;dKH\n1.1.2026;8,2\n", "This is not a file of Sumpside records."),
    "newer_format": (lambda: file_of([NOTE], version=2), "written by a newer version of the app"),
    "newer_record": (lambda: file_of([{**NOTE, "v": 99}]), "written by a newer version of the app"),
    "too_large": (lambda: b" " * (MAX_IMPORT_BYTES + 1), "This file is too large to be an export."),
}


@pytest.mark.parametrize("name", REFUSED)
async def test_file_that_is_none_of_ours_is_refused_in_words(app: Running, name: str):
    make, sentence = REFUSED[name]
    before = app.stored()
    await picked(app, make())
    assert sentence in said(app)
    assert not app.has("import-apply")
    await app.tap("import-leave")
    assert not app.has("import-preview")
    assert app.stored() == before
    await app.record("calcium", "420")
    assert len(app.stored()) == len(before) + 1


DAMAGED: dict[str, tuple[Callable[[], bytes], str, list[str]]] = {
    "cut_off": (
        lambda: file_of([NOTE, REFILL]).rpartition(b"{")[0],
        "it may be cut off",
        [NOTE["id"]],
    ),
    "changed": (
        lambda: file_of([NOTE, REFILL]).replace(b"from elsewhere", b"from somewhere"),
        "The file was changed after the export.",
        [NOTE["id"], REFILL["id"]],
    ),
    "huge_number": (
        lambda: file_of([NOTE, {**REFILL, "volume_L": 1e300}]),
        "Cannot be read, and stays out: 1 line.",
        [NOTE["id"]],
    ),
    "endless_number": (
        lambda: file_of([NOTE, REFILL]).replace(b"5.0", b"9" * 400),
        "Cannot be read, and stays out: 1 line.",
        [NOTE["id"]],
    ),
    "not_a_number": (
        lambda: file_of([NOTE, REFILL]).replace(b"5.0", b"NaN"),
        "Cannot be read, and stays out: 1 line.",
        [NOTE["id"]],
    ),
    "garbage_line": (
        lambda: file_of([NOTE]) + b"\xff\xfe{{{\n",
        "Cannot be read, and stays out: 1 line.",
        [NOTE["id"]],
    ),
}


@pytest.mark.parametrize("name", DAMAGED)
async def test_damaged_file_is_taken_only_when_agreed_and_only_its_sound_lines(
    app: Running, name: str
):
    make, sentence, sound = DAMAGED[name]
    before = app.stored()
    await picked(app, make())
    assert sentence in said(app)
    assert app.stored() == before
    assert app.text("import-apply") == "Import what is readable"
    await app.tap("import-apply")
    new = [record["id"] for record in app.stored() if record["id"].startswith("elsewhere")]
    assert sorted(new) == sorted(sound)


async def test_same_number_with_other_content_is_kept_aside(app: Running):
    own = app.stored("delivery_setting")[0]
    await picked(app, file_of([{**own, "limewater_L_per_day": 50.0}]))
    assert said(app).startswith("In this file: 0 new, 0 already here, 1 in conflict.")
    await app.tap("import-apply")
    assert app.notice == "Import done: 0 new records. In conflict and kept aside: 1."
    assert app.stored("delivery_setting") == [own]


async def test_import_that_cannot_be_written_changes_nothing_and_can_be_tried_again(
    phone: Phone, app: Running
):
    second = await phone.open()
    before = second.stored()
    await picked(second, file_of([NOTE]))
    await second.tap("import-apply")
    assert second.notice.startswith("NOT saved: this window can only read.")
    assert second.has("import-preview")
    assert second.stored() == before


async def test_import_offers_no_second_tap(app: Running):
    await picked(app, file_of([NOTE]))
    apply = app.screen.find("import-apply")
    for _ in range(2):
        await app.screen.session.dispatch_event(apply._i, "click", None)
    await app.screen.settle()
    assert app.notice == "Import done: 1 new record. In conflict and kept aside: 0."
    assert len(app.stored("note")) == 1


async def test_large_log_is_exported_whole(phone: Phone):
    app = await phone.open(records=scenario_records("demo_system", START))
    data = await exported(app)
    header, *lines = data.splitlines()
    assert json.loads(header)["records"] == len(lines) == 45
    assert {json.loads(line)["id"] for line in lines} == {r["id"] for r in app.stored()}
