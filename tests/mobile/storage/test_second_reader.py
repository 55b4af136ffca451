"""Two readers of one format, by two hands: Python's and the recovery page's say the same.

Over every kind of damage: the same changes, letter for letter, and the same of what is damaged,
lost, torn off or newer. The page alone is asked about version 2 and about several copies.
"""

import base64
import hashlib
import json
import zlib
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from typing import Any

import pytest

from engine.records import KINDS
from mobile.browser.places import place_name
from mobile.storage.batch import Put
from mobile.storage.erasing import begin_erasing, journal_of
from mobile.storage.frames import encode_frame, scan
from mobile.storage.header import DATA_START, SLOT_AT, SLOT_BYTES, Header, first_block
from mobile.storage.memory import MemoryFolder
from mobile.storage.restore import canonical
from tests.mobile.storage import version_two as two
from tests.mobile.storage.second_reader import (
    AT_ONCE,
    SecondReader,
    first_reading,
    second_reader,
    text_of,
)
from tests.mobile.storage.support import DeviceIds, open_in, record
from tests.mobile.storage.test_second_copy import Place, opened, ready

KEPT = Path(__file__).parent / "versions" / "v1"
NOW = datetime(2026, 11, 24, tzinfo=UTC)
FLIPS = 400  # of a journal in the normal run; all of them with --long
CUTS = 300
SEED = 20261127

Files = dict[str, bytes]


@pytest.fixture(scope="module")
def reader():
    with second_reader() as running:
        yield running


@dataclass
class Case:
    """A folder after something happened to it, and how the second reader is told of it."""

    files: Files
    question: dict[str, Any] = field(default_factory=dict)


class Cases:
    """What can happen to the files of one folder."""

    def __init__(self, reader: SecondReader, files: Files) -> None:
        self._reader = reader
        self.files = files
        self._kept = reader.keep(files)
        self.all: list[Case] = []
        self.checked = 0

    def put(self, files: Files) -> None:
        """The folder holds other files."""
        self.all.append(Case(files, {"of": self._reader.keep(files)}))

    def cut(self, name: str, size: int) -> None:
        files = {**self.files, name: self.files[name][:size]}
        self.all.append(Case(files, {"of": self._kept, "cut": [name, size]}))

    def overwrite(self, name: str, at: int, data: bytes) -> None:
        old = self.files[name]
        files = {**self.files, name: old[:at] + data + old[at + len(data) :]}
        change = [name, at, text_of(data)]
        self.all.append(Case(files, {"of": self._kept, "set": [change]}))

    def flip(self, name: str, bit: int) -> None:
        at = bit // 8
        self.overwrite(name, at, bytes([self.files[name][at] ^ 1 << bit % 8]))

    def remove(self, *names: str) -> None:
        files = {name: data for name, data in self.files.items() if name not in names}
        self.all.append(Case(files, {"of": self._kept, "remove": list(names)}))

    async def check(self) -> list[dict[str, Any]]:
        """Both readers say the same of each; return what they said."""
        answers = self._reader.ask({"ask": "read", **case.question} for case in self.all)
        for case, answer in zip(self.all, answers, strict=True):
            folder = MemoryFolder(files={n: bytearray(data) for n, data in case.files.items()})
            folder.files.setdefault("journal", bytearray())
            file = await folder.open("journal", writable=False)
            assert answer == await first_reading(folder, file), case.question
        self.checked += len(answers)
        self.all = []
        return answers

    async def check_many(self) -> None:
        """Check what has come together, once it is much: the files of each are held meanwhile."""
        if len(self.all) >= AT_ONCE:
            await self.check()


def _some(draw: Random, among: range, count: int) -> list[int]:
    return list(among) if len(among) <= count else draw.sample(among, count)


async def _small() -> Files:
    folder = MemoryFolder()
    repository = await open_in(folder)
    for number in range(4):
        made = record(repository.next_id(), minutes=number, note=f'Kalk 8·{number} dKH ✓ \t"x"')
        await repository.append([{**made, "value": [8.0, 1e-7, -0.0, 2**53], "odd": None}])
    await repository.put_meta("draft", {"a": [1.50]})
    await repository.close()
    return _files(folder)


async def _large() -> Files:
    """Commits of one frame and of several, with a piece of app state removed between."""
    folder = MemoryFolder()
    repository = await open_in(folder)
    for sizes in ([10], [9_000] * 8, [40, 50, 60], [18_000] * 3, [5]):
        await repository.append(
            [
                record(repository.next_id(), minutes=n, note="é" * size)
                for n, size in enumerate(sizes)
            ]
        )
        await repository.put_meta("draft", None if sizes == [5] else len(sizes))
    await repository.append(
        [record(repository.next_id(), minutes=n, note="z" * 9_000) for n in range(9)]
    )
    await repository.close()
    return _files(folder)


async def _with_snapshots() -> Files:
    folder = MemoryFolder()
    repository = await open_in(folder)
    for number in range(9):
        await repository.append([record(repository.next_id(), minutes=number, note=f"n {number}")])
        if number in {3, 6}:
            await repository.tidy(force=True)
    await repository.close()
    found = _files(folder)
    assert len([name for name in found if name.startswith("snapshot-")]) == 2
    return found


async def _kept() -> Files:
    return {"journal": (KEPT / "journal").read_bytes()}


JOURNALS = {"small": _small, "large": _large, "snapshots": _with_snapshots, "kept": _kept}
every_journal = pytest.mark.parametrize("name", JOURNALS)


def _files(folder: MemoryFolder) -> Files:
    return {name: bytes(data) for name, data in folder.files.items()}


async def _check_cuts(reader: SecondReader, name: str, count: int) -> int:
    cases = Cases(reader, await JOURNALS[name]())
    draw = Random(SEED)
    for file, data in cases.files.items():
        for size in _some(draw, range(len(data) + 1), count):
            cases.cut(file, size)
            await cases.check_many()
    journal = cases.files["journal"]
    for frame in scan(journal, DATA_START).frames:
        for size in (frame.start, frame.start + 1, frame.end - 1, frame.end):
            cases.cut("journal", size)
    await cases.check()
    return cases.checked


async def _check_flips(reader: SecondReader, name: str, count: int) -> int:
    cases = Cases(reader, await JOURNALS[name]())
    draw = Random(SEED)
    slots = [at + n for at in SLOT_AT for n in range(SLOT_BYTES)]
    for bit in _some(draw, range(2 * 8 * SLOT_BYTES), count // 2):
        cases.flip("journal", 8 * slots[bit // 8] + bit % 8)
    for file, data in cases.files.items():
        first = DATA_START if file == "journal" else 0
        for bit in _some(draw, range(8 * first, 8 * len(data)), count):
            cases.flip(file, bit)
            await cases.check_many()
    await cases.check()
    return cases.checked


@every_journal
async def test_both_read_a_journal_cut_at_any_byte_alike(reader, name):
    assert await _check_cuts(reader, name, 10_000 if name == "small" else CUTS) >= CUTS


@every_journal
async def test_both_read_a_journal_with_a_flipped_bit_alike(reader, name):
    assert await _check_flips(reader, name, 100 if name == "large" else FLIPS) >= 150


@pytest.mark.long
@pytest.mark.parametrize("name", ["small", "snapshots", "kept"])
async def test_both_read_every_cut_and_every_flip_alike(reader, name):
    """Of the kept journal, whose frames are many, a large part."""
    cuts = await _check_cuts(reader, name, 20_000)
    flips = await _check_flips(reader, name, 20_000 if name == "kept" else 100_000)
    print(f"{name}: {cuts:,} cuts and {flips:,} flips")


@every_journal
async def test_both_read_dropped_doubled_and_moved_frames_alike(reader, name):
    cases = Cases(reader, await JOURNALS[name]())
    journal = cases.files["journal"]
    frames = [journal[f.start : f.end] for f in scan(journal, DATA_START).frames]
    draw = Random(SEED)
    for at in range(len(frames)):
        kept = [*frames[:at], *frames[at + 1 :]]
        to = draw.randrange(len(frames))
        for changed in (
            kept,
            [*frames[:at], frames[at], *frames[at:]],
            [*kept[:to], frames[at], *kept[to:]],
            [*frames[:at], *frames[at + 2 :]],
            frames[at:],
            [*kept, frames[at][: len(frames[at]) // 2]],
        ):
            cases.put({**cases.files, "journal": journal[:DATA_START] + b"".join(changed)})
    for _ in range(20):
        shuffled = draw.sample(frames, len(frames))
        cases.put({**cases.files, "journal": journal[:DATA_START] + b"".join(shuffled)})
    answers = await cases.check()
    assert any(answer["lost"] for answer in answers)
    assert any(answer["damaged"] for answer in answers)


@every_journal
async def test_both_read_damaged_heads_and_missing_snapshots_alike(reader, name):
    cases = Cases(reader, await JOURNALS[name]())
    snapshots = [file for file in cases.files if file.startswith("snapshot-")]
    journal = cases.files["journal"]
    for damaged in ([0], [4096], [0, 4096]):
        head = bytearray(journal)
        for at in damaged:
            head[at + 10] ^= 4
        for gone in ([], snapshots[:1], snapshots[1:], snapshots):
            files = {**cases.files, "journal": bytes(head)}
            for file in gone:
                files.pop(file)
            cases.put(files)
            cases.put({**files, "journal": bytes(head[:DATA_START])})
            cases.put({**files, "journal": bytes(head[:100])})
            cases.put({**files, "journal": b""})
            cases.put({**files, "snapshot-77": b'{"generation":77,"replay_from":9000}\n'})
            cases.put({**files, "snapshot-x": b"\xff\n", "other": b""})
    cases.remove(*snapshots)
    cases.put({"journal": bytes(len(journal)), "snapshot-5": b"{}\n", "snapshot-x": b""})
    newer = first_block(Header(schema_version=2, seq=5, device="device0009", format_version=9))
    cases.overwrite("journal", 0, newer[:SLOT_BYTES])
    cases.overwrite("journal", 4096, newer[:SLOT_BYTES])
    answers = await cases.check()
    assert any(answer["unreadable"] for answer in answers)
    assert any(answer["newer"] for answer in answers)
    assert not snapshots or any(answer["basis"] for answer in answers[:-4])


ODD_PAYLOADS = [
    *(b"{}", b"[]", b"{ ", b'{"ops":{}}', b'{"ops":[]} x', b'\xff{"ops":[]}', b'{"ops":[],}'),
    *(b'{"ops":[[]]}', b'{"ops":[5]}', b'{"ops":[[5,"a"]]}', b'{"ops":[["put"]]}'),
    *(b'{"ops":[["put","records","a:1",[]]]}', b'{"ops":[["put","records",1,{}]]}'),
    *(b'{"ops":[["move","records","a:1"]]}', b'{"ops":[["del","records","a:1",1]]}'),
    *(b'{"ops":[],"more":1}', b'{"ops":[],"ops":[5]}', b'{"ops":[5,["move"]]}'),
    *(b'{"ops":[["move"],5]}', b'\xef\xbb\xbf{"ops":[]}', b' {"ops" : [\n] }\t', b"\x0b{}"),
    *(b'{"ops":[["del","records","a:1"]]}', b'{"ops":[],"part":[1,1]}', b'{"ops":[],"part":[9,3]}'),
    *(b'{"ops":[["put","records","a:1",{"n":01}]]}', b'{"ops":[["put","r","a",{"n":"\x01"}]]}'),
    b'{"ops":[["put","records","a:1",' + b'{"a":' * 98 + b"1" + b"}" * 98 + b"]]}",
    b'{"ops":[["put","records","a:1",' + b'{"a":' * 97 + b"1" + b"}" * 97 + b"]]}",
]


async def test_both_read_frames_that_are_sound_and_odd_alike(reader):
    cases = Cases(reader, await _small())
    journal = cases.files["journal"]
    ends = [DATA_START, *(frame.end for frame in scan(journal, DATA_START).frames)]
    for payload in ODD_PAYLOADS:
        for seq in (1, 3, len(ends), len(ends) + 4):
            odd = encode_frame(seq, payload)
            for at in (ends[2], ends[-1]):
                cases.put({"journal": journal[:at] + odd + journal[at:]})
    for junk in (b"\xf5SJ", b"\xf5SJ\xf5SJ1", bytes(30), b"\xf5", journal[ends[0] : ends[1]][:-1]):
        cases.put({"journal": journal[: ends[2]] + junk + journal[ends[2] :]})
    for version in "09Az":
        newer = two.frame(version, len(ends), b'{"ops":[]}')
        cases.put({"journal": journal + newer})
        cases.put({"journal": journal + newer + encode_frame(len(ends) + 1, b'{"ops":[]}')})
    answers = await cases.check()
    assert any(answer["newer"] for answer in answers)
    assert any(answer["damaged"] for answer in answers)
    assert len({answer["ops"] for answer in answers}) > 5


# --- JSON and sums, which the reader has of its own


def test_the_sums_are_those_of_the_standard_library(reader):
    draw = Random(SEED)
    for size in (*range(130), 8192, 100_001):
        data = draw.randbytes(size)
        (found,) = reader.ask([{"ask": "sums", "data": text_of(data)}])
        assert found == [zlib.crc32(data), hashlib.sha256(data).hexdigest()], size


JSON_TEXTS = [
    *("1", "-0", "01", "1.", ".5", "1e5", "1E+05", "+1", "--1", "NaN", "-Infinity", "nul", "true"),
    *('"a"', "'a'", '"\\x"', '"\\u12"', '"\\u00e9"', '"\\ud800"', '"\n"', '"\x7f"', '"a" "b"'),
    *("[]", "[,]", "[1,]", "[1 2]", "{}", '{"a"}', '{"a":}', '{"a":1,}', "{a:1}", '{"a":1 "b":2}'),
    *("", " ", "\ufeff1", "[" * 100 + "]" * 100, "[" * 101 + "]" * 101, "\u00a01", "1\x0c"),
]


@pytest.mark.parametrize("text", JSON_TEXTS)
def test_what_is_json_is_json_to_both(reader, text):
    (found,) = reader.ask([{"ask": "json", "text": text}])
    try:
        json.loads(text)
        is_json = not text.startswith("[" * 101)
    except ValueError:
        is_json = False
    assert (found is not None) == is_json


def test_a_number_keeps_its_spelling_and_a_name_its_place(reader):
    (found,) = reader.ask([{"ask": "json", "text": '{"b": 8.0, "a": [1e-7, "\\u00e9"], "B": 8}'}])
    assert found == '{"B":8,"a":[1e-7,"é"],"b":8.0}'


# --- what the page makes of all stores


async def _imported(data: bytes, repository: Any = None) -> Any:
    repository = repository or await open_in(MemoryFolder(), device_ids=DeviceIds())
    return await repository.preview_import(data)


def _export_of(found: dict[str, Any]) -> bytes:
    return base64.b64decode(found["export"])


@every_journal
async def test_the_page_saves_what_the_app_would_export(reader, name):
    files = await JOURNALS[name]()
    found = reader.gather(("opfs", files))
    folder = MemoryFolder(files={n: bytearray(data) for n, data in files.items()})
    repository = await open_in(folder, validate=lambda raw: raw)
    export = _export_of(found)
    app = [json.loads(line) for line in repository.export(NOW).splitlines()[1:]]
    ours = [json.loads(line) for line in export.splitlines()[1:]]
    if name != "kept":  # whose records the app migrates as it loads them
        assert sorted(map(canonical, ours)) == sorted(map(canonical, app))
    assert len(ours) == len(app)
    again = await repository.preview_import(export)
    assert (again.problems, again.new, again.conflicting, again.same) == ((), (), (), len(app))
    assert (found["losses"], found["remarks"], found["raw"]) == ([[]], [[]], [])


def _records(*numbers: int, note: str = "n", device: str = "device0001") -> list[dict]:
    return [record(f"{device}:{n}", minutes=n, note=f"{note} {n}") for n in numbers]


def _lines(found: dict[str, Any]) -> list[dict]:
    return [json.loads(line) for line in _export_of(found).splitlines()[1:]]


def _ids(found: dict[str, Any]) -> list[str]:
    return [line["id"].split(":")[1] for line in _lines(found)]


async def test_what_cannot_be_understood_goes_out_as_it_is(reader):
    good = record("device0001:1", note="good")
    odd = [{"id": "x"}, {**good, "id": "device0001:2", "at": "yesterday"}, {**good, "v": 0}]
    ops = [["put", "records", f"device0001:{n}", doc] for n, doc in enumerate([good, *odd], 1)]
    twice = two.put({**good, "note": "other"})
    frames = [two.linked(1, None, [*ops, twice, twice, two.put(good)])]
    found = reader.gather(("opfs", {"journal": two.journal(frames)}))
    assert found["counts"] == [1, 1, 3]
    assert _lines(found) == [good, {**good, "note": "other"}, *odd]
    preview = await _imported(_export_of(found))
    assert [new["note"] for new in preview.new] == ["good"]
    assert (len(preview.conflicting), preview.rejected_count) == (1, 3)


async def test_a_record_that_was_written_over_several_lines_is_one_line_of_the_export(reader):
    record_of_two = record("a:1", note="first\nsecond")
    payload = json.dumps({"after": two.NOTHING_BEFORE, "ops": [two.put(record_of_two)]}, indent=1)
    journal = two.journal([two.frame("2", 1, payload.replace("\n", "\r\n").encode())])
    export = _export_of(reader.gather(("opfs", {"journal": journal})))
    preview = await _imported(export)
    assert (preview.problems, preview.new) == ((), (record_of_two,))


async def test_the_export_is_sound_and_empty_of_app_state(reader):
    frames = [
        two.linked(1, None, [["put", "meta", "draft", {"value": 1}], *map(two.put, _records(1))])
    ]
    found = reader.gather(("opfs", {"journal": two.journal(frames)}))
    assert _ids(found) == ["1"]
    assert b"draft" not in _export_of(found)
    assert (await _imported(_export_of(found))).problems == ()


def test_records_of_both_stores_are_united(reader):
    one = two.chain(_records(1, 2))
    other = two.chain([*_records(1), *_records(2, note="other"), *_records(3)])
    found = reader.gather(
        ("opfs", {"journal": two.journal(one)}), ("idb", {"second-copy": two.journal(other)})
    )
    assert found["counts"] == [3, 1, 0]
    assert _ids(found) == ["1", "2", "3", "2"]


def test_the_second_copy_alone_is_enough(reader):
    copy = two.journal(two.chain(_records(1, 2)), epoch=3)
    found = reader.gather(("opfs", {}), ("idb", {"second-copy": copy}))
    assert _ids(found) == ["1", "2"]


@pytest.mark.parametrize(
    ("epoch", "mark_epoch", "kept"), [(4, 4, True), (3, 4, False), (4, 3, False)]
)
def test_a_copy_of_before_an_erasing_never_brings_anything_back(reader, epoch, mark_epoch, kept):
    copied = two.chain(_records(1, 2))
    found = reader.gather(
        ("opfs", {"journal": two.journal(two.chain(_records(7)), epoch=4)}),
        (
            "idb",
            {
                "second-copy": two.journal(copied, epoch=epoch),
                "second-copy-mark": two.marks(copied, 2, epoch=mark_epoch),
            },
        ),
    )
    assert found["left_out"] == [False, not kept]
    assert _ids(found) == (["1", "2", "7"] if kept else ["7"])


def test_a_copy_without_a_head_does_not_count_after_an_erasing(reader):
    copy = bytes(two.FIRST_FRAME) + b"".join(two.chain(_records(1)))
    for epoch, left_out in ((0, False), (1, True)):
        journal = two.journal(two.chain(_records(7)), epoch=epoch)
        found = reader.gather(("opfs", {"journal": journal}), ("idb", {"second-copy": copy}))
        assert found["left_out"] == [False, left_out]


async def _erasing(journal: bytes, following: bytes, **changed: bytes) -> Files:
    folder = MemoryFolder(files={"journal": bytearray(journal)})
    await begin_erasing(folder, following)
    return {**_files(folder), **changed}


async def test_what_a_standing_mark_will_erase_is_not_shown(reader):
    old = (await _with_snapshots()) | {"quarantine-8192-5-00000000": b"12345"}
    only = [Put("records", "a:1", record("a:1"))]
    kept = journal_of(only, device="device0002", schema_version=2, epoch=1, lineage=1)
    files = old | await _erasing(old["journal"], kept)
    copy = {"second-copy": old["journal"]}
    for state in (
        files,
        files | {"journal": kept[:-9]},  # cut while it was put in place
        files | {"journal": b""},
        {name: data for name, data in files.items() if name != "journal-next"} | {"journal": kept},
    ):
        found = reader.gather(("opfs", state), ("idb", copy))
        assert found["erasing"]
        assert _ids(found) == ["1"]
        assert found["raw"] == []


@pytest.mark.parametrize("what", ["mark", "next"])
async def test_an_erasing_that_will_not_be_done_hides_nothing(reader, what):
    old = await _small()
    kept = journal_of([], device="device0002", schema_version=2, epoch=1, lineage=1)
    changed = {"erasing": b'{"for'} if what == "mark" else {"journal-next": kept[:-1]}
    found = reader.gather(("opfs", await _erasing(old["journal"], kept, **changed)))
    assert not found["erasing"]
    assert _ids(found) == ["1", "2", "3", "4"]


def test_no_store_and_blank_stores_are_no_records(reader):
    for stores in ([], [("opfs", {})], [("opfs", {"journal": b"", "kept-in-idb": b""})]):
        found = reader.gather(*stores)
        assert (found["counts"], found["left_out"]) == ([0, 0, 0], [])


def test_every_kind_has_a_word_of_its_own():
    words = (Path(__file__).parents[3] / "mobile/web/recovery_words.js").read_text(encoding="utf-8")
    assert [kind for kind in KINDS if f"\n  {kind}: [" not in words] == []


@pytest.mark.parametrize(
    ("base", "name"),
    [
        ("/", "sumpside-records"),
        ("/sumpside/", "sumpside-records@sumpside"),
        ("/one/two/", "sumpside-records@one~two"),
        ("/on~e/", "sumpside-records@on%7Ee"),
    ],
)
def test_the_folder_has_the_name_of_the_base(reader, base, name):
    assert reader.ask([{"ask": "name", "base": base}]) == [name]
    numbered = [{"ask": "name", "base": base, "number": number} for number in (1, 2, 9)]
    assert reader.ask(numbered) == [place_name(number, base) for number in (1, 2, 9)]


async def test_damage_that_cost_no_entry_is_a_remark_and_no_loss(reader):
    files = await _with_snapshots()
    head = bytearray(files["journal"])
    head[9] ^= 1
    for changed, sentence in (
        ({"journal": bytes(head)}, "One copy of the file’s head"),
        ({"snapshot-2": b"{}"}, "A shortcut for quick opening"),
    ):
        found = reader.gather(("opfs", files | changed))
        assert (found["losses"], found["counts"]) == ([[]], [9, 0, 0])
        assert sentence in found["remarks"][0][0]


async def test_a_snapshot_alone_still_gives_its_entries_and_the_loss_is_told(reader):
    files = await _with_snapshots()
    del files["journal"]
    found = reader.gather(("opfs", files))
    assert found["counts"] == [7, 0, 0]
    assert "The file of records is gone." in found["losses"][0][0]


# --- version 2, by the third hand


def _read(reader: SecondReader, files: Files) -> dict[str, Any]:
    return reader.ask([{"ask": "read", "of": reader.keep(files)}])[0]


def _said(reader: SecondReader, files: Files) -> str:
    return " ".join(reader.gather(("opfs", files))["losses"][0])


async def test_a_journal_goes_on_in_version_2_where_version_1_ends(reader):
    old = (await _kept())["journal"]
    last = scan(old, DATA_START).frames[-1]
    new = two.chain(_records(1, 2), first=last.seq + 1, before=old[last.start :])
    found = _read(reader, {"journal": old + b"".join(new)})
    assert (found["lost"], found["damaged"], found["missing_between"]) == (0, [], [])
    assert (found["newer"], found["last_seq"]) == (False, last.seq + 2)


async def test_parts_of_version_2_are_one_commit(reader):
    first = two.linked(1, None, [two.put(record("a:1"))], part=[1, 2])
    second = two.linked(2, first, [two.put(record("a:2"))], part=[2, 2])
    closing = two.linked(3, second, [])
    whole = [first, second, closing]
    assert _ids(reader.gather(("opfs", {"journal": two.journal(whole)}))) == ["1", "2"]
    torn = reader.gather(("opfs", {"journal": two.journal(whole[:1])}))
    assert _ids(torn) == []
    assert "end of the file cannot be read" in " ".join(torn["losses"][0])


async def test_a_write_that_is_missing_in_the_middle_is_told_and_both_sides_are_kept(reader):
    frames = two.chain(_records(1, 2, 3))
    other = two.linked(2, two.chain(_records(9))[0], [two.put(_records(2, note="other")[0])])
    for journal, place in (
        ([frames[0], other], 1),
        ([two.linked(1, b"something", [two.put(_records(1)[0])])], 0),
    ):
        found = _read(reader, {"journal": two.journal(journal)})
        assert found["missing_between"] == [DATA_START + sum(map(len, journal[:place]))]
        assert "A write is missing at 1 place." in _said(reader, {"journal": two.journal(journal)})
    kept = reader.gather(("opfs", {"journal": two.journal([frames[0], other])}))
    assert _ids(kept) == ["1", "2"]
    assert [name for name, _ in kept["raw"]] == ["opfs-sumpside-records-journal"]


async def test_a_gap_in_the_numbers_is_lost_and_no_broken_link(reader):
    frames = two.chain(_records(1, 2, 3))
    found = _read(reader, {"journal": two.journal([frames[0], frames[2]])})
    assert (found["lost"], found["missing_between"]) == (1, [])


@pytest.mark.parametrize("after", ["", "0" * 31, "G" * 32, 5, None])
async def test_a_frame_that_does_not_say_what_it_follows_is_damaged(reader, after):
    payload = json.dumps({"after": after, "ops": []}).encode()
    journal = two.journal([two.frame("2", 1, payload)])
    assert _read(reader, {"journal": journal})["damaged"] == [[DATA_START, len(journal)]]


async def test_a_later_version_is_newer_and_offered_raw(reader):
    frames = [*two.chain(_records(1)), two.frame("3", 2, b"\x00\x01 anything")]
    found = reader.gather(("opfs", {"journal": two.journal(frames)}))
    assert "newer version" in " ".join(found["losses"][0])
    assert _ids(found) == ["1"]
    assert found["raw"] == [["opfs-sumpside-records-journal", len(two.journal(frames))]]


def test_acknowledged_writes_that_are_missing_at_the_end_are_counted(reader):
    frames = two.chain(_records(1, 2, 3, 4))
    acknowledged = two.marks(frames, 4)
    for kept, tail, missing in ((4, b"", 0), (3, b"", 1), (2, frames[2][:-1], 2)):
        files = {
            "journal": two.journal(frames[:kept]) + tail,
            "acknowledged": acknowledged,
        }
        said = _said(reader, files)
        assert (f"reported as saved: {missing} save" in said) == bool(missing), said
        assert "Perhaps" not in said
        held = reader.ask([{"ask": "held", "of": reader.keep(files)}])[0]
        assert held == {"missing": missing, "differs": False}


def test_a_bad_tail_beyond_what_was_acknowledged_is_perhaps_saved(reader):
    frames = two.chain(_records(1, 2))
    journal = two.journal(frames)[:-3]
    assert "Perhaps an entry" in _said(
        reader, {"journal": journal, "acknowledged": two.marks(frames, 1)}
    )
    assert "may have stood there" in _said(reader, {"journal": journal})


def test_another_frame_in_the_place_of_the_acknowledged_one_is_told(reader):
    frames = two.chain(_records(1, 2))
    other = two.chain([*_records(1), *_records(2, note="other")])
    files = {"journal": two.journal(other), "acknowledged": two.marks(frames, 2)}
    assert "is not the one in the file" in _said(reader, files)


def test_a_mark_of_another_epoch_or_a_damaged_one_says_nothing(reader):
    frames = two.chain(_records(1, 2))
    mark = two.marks(frames, 2)
    bad = bytearray(mark)
    bad[4096 + 21] ^= 1
    for marks, epoch in ((mark, 1), (bytes(bad), 0), (b"", 0)):
        files = {"journal": two.journal(frames[:1], epoch=epoch), "acknowledged": marks}
        assert _said(reader, files) == ""
    both = mark[:4096].replace(bytes(64), two.marks(frames, 1, slot_seq=2)[:64], 1) + mark[4096:]
    files = {"journal": two.journal(frames[:1]), "acknowledged": both}
    assert _said(reader, files) == "", "the slot with the higher number counts"


# --- marks and copies as Python writes them


async def test_both_stores_as_the_app_leaves_them_give_each_entry_once(reader):
    first, second = await ready("one", "two", "three")
    stores = [("opfs", _files(first)), ("idb", _files(second))]
    found = reader.gather(*stores)
    assert (found["counts"], found["losses"]) == ([3, 0, 0], [[], []])
    lone = reader.gather(stores[1])
    assert lone["counts"] == [3, 0, 0]


async def test_what_python_marked_as_acknowledged_and_is_gone_is_told_by_the_page_too(reader):
    first, second = await ready("one", "two", "three")
    files = _files(first)
    last = scan(files["journal"], DATA_START).frames[-1]
    cut = {**files, "journal": files["journal"][: last.start]}
    assert reader.gather(("opfs", cut))["losses"] != [[]]
    assert reader.gather(("opfs", files))["losses"] == [[]]
    both = reader.gather(("opfs", cut), ("idb", _files(second)))
    assert both["counts"] == [3, 0, 0]


async def test_a_copy_that_python_cleared_for_an_erasing_gives_nothing_back(reader):
    first, second = await ready("one", "two")
    older = _files(second)
    repository = await opened((first, second))
    await repository.erase()
    await repository.close()
    assert reader.gather(("opfs", _files(first)), ("idb", older))["counts"] == [0, 0, 0]


async def test_a_copy_cleared_for_an_erasing_gives_nothing_where_the_journal_is_gone(reader):
    first, second = await ready("one", "two")
    older = _files(second)
    repository = await opened((first, second))
    await repository.erase()
    await repository.close()
    cleared = {**older, "second-copy-mark": _files(second)["second-copy-mark"]}
    assert reader.gather(("idb", cleared))["counts"] == [0, 0, 0]


async def test_a_copy_of_another_journal_is_shown_although_something_was_erased_since(reader):
    _first, second = await ready("one", "two")
    lone = Place("opfs")
    repository = await opened((lone,), device_ids=lambda: "device7777")
    await repository.erase()
    await repository.close()
    found = reader.gather(("opfs", _files(lone)), ("idb", _files(second)))
    assert found["counts"] == [2, 0, 0]
