"""Export and import: round trip, merge, damaged and hostile files."""

import hashlib
import json
from datetime import UTC, datetime

import pytest

from mobile.storage import batch, transfer
from mobile.storage.errors import ImportRefused, StorageFailed
from mobile.storage.memory import MemoryFolder
from mobile.storage.migrations import SCHEMA_VERSION
from mobile.storage.transfer import MAX_IMPORT_BYTES, MAX_REJECTED_SHOWN, export_bytes
from tests.mobile.storage.disk import Disk
from tests.mobile.storage.support import DeviceIds, notes, open_in, record

WHEN = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)


async def _store(device: str, *texts: str, folder=None):
    repository = await open_in(folder or MemoryFolder(), device_ids=lambda: device)
    for number, text in enumerate(texts):
        await repository.append([record(repository.next_id(), minutes=number, note=text)])
    return repository


def _file(*lines: bytes, **header) -> bytes:
    body = b"".join(line + b"\n" for line in lines)
    fields = {
        "format": "sumpside-records",
        "version": 1,
        "exported_at": WHEN.isoformat(),
        "records": len(lines),
        "sha256": hashlib.sha256(body).hexdigest(),
        **header,
    }
    return json.dumps(fields).encode() + b"\n" + body


def _line(**changes) -> bytes:
    return json.dumps({**record("elsewhere1:1", note="in"), **changes}).encode()


def _problem_codes(preview) -> list[str]:
    return [problem.code for problem in preview.problems]


async def test_the_file_is_as_documented():
    repository = await _store("device000a", "8.1 ₄⁻")
    header, body = repository.export(WHEN).split(b"\n", 1)
    assert json.loads(header) == {
        "format": "sumpside-records",
        "version": 1,
        "exported_at": "2026-11-24T09:30:00+00:00",
        "records": 1,
        "sha256": hashlib.sha256(body).hexdigest(),
    }
    assert body.endswith(b"\n")
    assert json.loads(body) == repository.records()[0]
    assert "₄⁻".encode() in body


async def test_what_is_exported_comes_back_into_an_empty_store():
    source = await _store("device000a", "one", "two", "three")
    target = await _store("device000b")
    preview = await target.preview_import(source.export(WHEN))
    assert (len(preview.new), preview.same, preview.rejected_count) == (3, 0, 0)
    assert (preview.problems, preview.exported_at) == ((), WHEN.isoformat())
    result = await target.apply_import(preview)
    assert (result.added, result.conflicts, result.same) == (3, 0, 0)
    assert target.records() == source.records()
    assert target.export(WHEN) == source.export(WHEN)


async def test_an_import_survives_reopening():
    folder = MemoryFolder()
    target = await _store("device000b", folder=folder)
    source = await _store("device000a", "one")
    await target.apply_import(await target.preview_import(source.export(WHEN)))
    await target.close()
    assert notes(await open_in(folder)) == ["one"]


async def test_importing_twice_is_importing_once():
    source = await _store("device000a", "one", "two")
    target = await _store("device000b", "mine")
    data = source.export(WHEN)
    first = await target.preview_import(data)
    await target.apply_import(first)
    second = await target.preview_import(data)
    assert (len(second.new), len(second.conflicting), second.same) == (0, 0, 2)
    result = await target.apply_import(first)
    assert (result.added, result.conflicts, result.same) == (0, 0, 2)
    assert sorted(notes(target)) == ["mine", "one", "two"]


async def test_the_same_id_with_another_content_is_a_conflict_and_both_are_kept():
    folder = MemoryFolder()
    target = await _store("device000b", folder=folder)
    await target.apply_import(await target.preview_import(_file(_line(note="8.1"))))
    other = _file(_line(note="9.9"))
    preview = await target.preview_import(other)
    assert ([item["note"] for item in preview.conflicting], preview.new) == (["9.9"], ())
    result = await target.apply_import(preview)
    assert (result.added, result.conflicts) == (0, 1)
    assert notes(target) == ["8.1"]
    assert [item["note"] for item in target.conflicts()] == ["9.9"]
    again = await target.preview_import(other)
    assert (again.conflicting, again.same) == ((), 1)
    await target.close()
    reopened = await open_in(folder)
    assert [item["note"] for item in reopened.conflicts()] == ["9.9"]
    assert (await reopened.preview_import(other)).same == 1
    elsewhere = await _store("device000c")
    await elsewhere.apply_import(await elsewhere.preview_import(reopened.export(WHEN)))
    assert (notes(elsewhere), len(elsewhere.conflicts())) == (["8.1"], 1)


async def test_a_record_saved_since_the_preview_is_not_overwritten():
    target = await _store("device000b")
    preview = await target.preview_import(_file(_line(note="from the file")))
    await target.append([{**record("elsewhere1:1"), "note": "saved meanwhile"}])
    result = await target.apply_import(preview)
    assert (result.added, result.conflicts) == (0, 1)
    assert notes(target) == ["saved meanwhile"]


async def test_a_file_with_records_under_our_own_name_makes_us_a_new_device():
    device_ids = DeviceIds()
    target = await open_in(MemoryFolder(), device_ids=device_ids)
    ours = _line(id=f"{target.device}:999999999999999")
    await target.apply_import(await target.preview_import(_file(ours)))
    assert target.device == "device0002"
    assert target.next_id() == "device0002:1"


@pytest.mark.parametrize(
    "change",
    [
        lambda data: b"\xef\xbb\xbf" + data,
        lambda data: data.replace(b"\n", b"\r\n"),
        lambda data: data[:-1],
        lambda data: data.replace(b"\n", b"\r\n").removesuffix(b"\r\n"),
        lambda data: data.replace(b"\n", b"\n\n"),
    ],
    ids=["byte order mark", "CR LF", "no last line feed", "CR LF and no last", "empty lines"],
)
async def test_what_a_text_editor_does_to_a_file_is_no_damage(change):
    source = await _store("device000a", "one", "two")
    target = await _store("device000b")
    preview = await target.preview_import(change(source.export(WHEN)))
    assert (preview.problems, len(preview.new)) == ((), 2)


NEWER = SCHEMA_VERSION + 1
HOSTILE_FILES = {
    "empty": (b"", "import_foreign"),
    "one line feed": (b"\n", "import_foreign"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 50, "import_foreign"),
    "zeros": (bytes(100_000), "import_foreign"),
    "a list": (b"[]\n", "import_foreign"),
    "deep": (b"[" * 1_000_000, "import_foreign"),
    "another format": (_file(format="other"), "import_foreign"),
    "no version": (_file(version=None), "import_foreign"),
    "version true": (_file(version=True), "import_foreign"),
    "version in words": (_file(version="1"), "import_foreign"),
    "header is not a number": (b'{"format":"sumpside-records","version":NaN}', "import_foreign"),
    "newer": (_file(version=2), "import_newer"),
    "newer record": (_file(_line(), _line(id="elsewhere1:2", v=NEWER)), "import_newer"),
    "only line feeds": (_file() + b"\n" * 300_000, "import_too_many_lines"),
    "too many lines": (_file() + b"{}\n" * 200_001, "import_too_many_lines"),
    "too large": (b" " * (MAX_IMPORT_BYTES + 1), "import_too_large"),
}


@pytest.mark.parametrize(("data", "code"), HOSTILE_FILES.values(), ids=HOSTILE_FILES.keys())
async def test_a_file_that_is_refused_changes_nothing(data, code):
    target = await _store("device000b", "mine")
    preview = await target.preview_import(data)
    assert preview.refusal.code == code
    with pytest.raises(ImportRefused) as caught:
        await target.apply_import(preview, accept_damaged=True)
    assert caught.value.context["problem"] == code
    assert notes(target) == ["mine"]


HOSTILE_LINES = {
    "half a line": (_line()[:40], "line_not_json"),
    "not a number": (b'{"id": NaN}', "line_not_json"),
    "huge number": (_line(x=0).replace(b'"x": 0', b'"x": 1e999'), "record_bad_number"),
    "deep": (b'{"id":' + b"[" * 60_000, "line_too_deep"),
    "not UTF-8": (b'{"id": "\xff\xfe"}', "line_not_text"),
    "control character": (_line(note="\x00"), "record_bad_text"),
    "a list": (b"[1, 2]", "record_not_object"),
    "wrong id": (_line(id="../../etc"), "record_bad_id"),
    "wrong type": (_line(note=12), "record_invalid"),
    "long line": (_line(note="x" * 200_000), "record_too_large"),
}


@pytest.mark.parametrize(("line", "code"), HOSTILE_LINES.values(), ids=HOSTILE_LINES.keys())
async def test_a_bad_line_is_rejected_with_its_reason_and_needs_consent(line, code):
    target = await _store("device000b")
    preview = await target.preview_import(_file(_line(id="elsewhere1:7"), line))
    assert [rejected.problem.code for rejected in preview.rejected] == [code]
    assert (preview.rejected[0].line, len(preview.rejected[0].text) <= 160) == (3, True)
    assert preview.rejected[0].text.isprintable()
    assert (preview.refusal, preview.is_damaged) == (None, True)
    with pytest.raises(ImportRefused):
        await target.apply_import(preview)
    assert target.records() == ()
    await target.apply_import(preview, accept_damaged=True)
    assert [item["id"] for item in target.records()] == ["elsewhere1:7"]


@pytest.mark.parametrize(
    ("data", "codes"),
    [
        (_file(_line(), sha256="0" * 64), ["import_checksum"]),
        (_file(_line(), records=2), ["import_count"]),
        (_file(_line(), records="1", sha256=None), ["import_count", "import_checksum"]),
        (_file(_line()).replace(b'"in"', b'"IN"'), ["import_checksum"]),
    ],
)
async def test_a_damaged_file_is_applied_only_with_consent(data, codes):
    target = await _store("device000b")
    preview = await target.preview_import(data)
    assert _problem_codes(preview) == codes
    assert len(preview.new) == 1
    with pytest.raises(ImportRefused):
        await target.apply_import(preview)
    await target.apply_import(preview, accept_damaged=True)
    assert len(target.records()) == 1


async def test_duplicate_ids_in_a_file():
    lines = [_line(), _line(), _line(note="other"), _line(note="other")]
    target = await _store("device000b")
    preview = await target.preview_import(_file(*lines))
    assert (len(preview.new), len(preview.conflicting), preview.same) == (1, 1, 2)


async def test_many_bad_lines_are_counted_and_not_all_kept():
    preview = await (await _store("device000b")).preview_import(_file(*[b"x"] * 5_000))
    assert (preview.rejected_count, len(preview.rejected)) == (5_000, MAX_REJECTED_SHOWN)


async def test_reading_reports_its_progress():
    shares = []
    data = export_bytes([record(f"elsewhere1:{n}") for n in range(1, 1_001)], WHEN)
    target = await _store("device000b")
    await target.preview_import(data, shares.append)
    assert shares == sorted(shares)
    assert len(shares) == 1_001 // transfer._LINES_AT_ONCE
    assert 0 < shares[0] < shares[-1] <= 1


async def test_an_import_that_fails_half_way_leaves_nothing(monkeypatch):
    monkeypatch.setattr(batch, "PART_BYTES", 400)
    data = export_bytes([record(f"elsewhere1:{n}") for n in range(1, 12)], WHEN)
    whole = Disk()
    target = await open_in(whole)
    await target.apply_import(await target.preview_import(data))
    assert whole.calls > 8
    for call in range(2, whole.calls):
        disk = Disk(faults={call: "fail"})
        target = await open_in(disk)
        with pytest.raises(StorageFailed):
            await target.apply_import(await target.preview_import(data))
        assert target.records() == ()
        assert (await open_in(disk)).records() == ()
