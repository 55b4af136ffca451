"""Files mutated by what they mean and by their bytes: never an exception, never half an import."""

import gzip
import hashlib
import json
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from random import Random

import pytest

from mobile.storage.errors import ImportRefused, StorageFailed
from mobile.storage.memory import MemoryFolder
from mobile.storage.restore import Door, canonical, parse_line
from mobile.validation import VALIDATION
from tests.mobile.storage.disk import Disk
from tests.mobile.storage.support import START, open_in, record

VERSIONS = Path(__file__).parents[1] / "mobile/storage/versions"
WHEN = datetime(2026, 11, 24, tzinfo=UTC)
SOME_FILES = 1_000
MANY_FILES = 10_000
FAILING_DISKS = 10  # one file in so many is imported on a disk that fails

DEEP = "[" * 5_000 + "]" * 5_000
HOSTILE = (
    "null", "true", "-0", "1e999", "-1e308", "NaN", "Infinity", "9" * 400, "1" + "0" * 5_000,
    "0.1e-999", '""', '"\\u0000"', '"\\ud800"', '"\\u202eabc\\u2066"', '"\\u05d0\\u200f 8.1"',
    '"\\u001b[31m"', '"' + "x" * 30_000 + '"', "[]", "{}", "[[[[1]]]]", DEEP, '{"a":' * 3_000,
    '"9999-12-31T23:59:59.999999-23:59"', '"0001-01-01T00:00:00+23:59"', '"2026-02-30T00:00:00Z"',
    '"2026-03-01"', '"1e5"', '"\\ud83d\\udc20"', "[null]", '{"":""}', '"constructor"', "1.5",
    "2147483648", '"elsewhere1:1"', '"elsewhere1:999999999999999"', '"mine000001:1"', "0",
)  # fmt: skip


class Mutator:
    """Changes a sound export, the same for the same seed."""

    def __init__(self, seed: int, lines: list[bytes]) -> None:
        self.rng = Random(seed)
        self.lines = list(lines)

    def file(self) -> bytes:
        rng = self.rng
        for _ in range(rng.randrange(4)):
            if self.lines:
                rng.choice((self.value, self.value, self.fields, self.order, self.bytes_of_line))()
        data = self._with_head()
        for _ in range(rng.choice((0, 0, 1, 3))):
            data = self._bytes(data)
        return data if rng.random() > 0.03 else self._whole(data)

    def value(self) -> None:
        """Put a hostile value at a random place of a line, as text: JSON knows no NaN."""
        at = self.rng.randrange(len(self.lines))
        text = self.lines[at].decode("utf-8", "replace")
        try:
            item = json.loads(text)
        except (ValueError, RecursionError):
            return
        place = self._place(item)
        if place is not None:
            holder, key = place
            holder[key] = "@hostile@"
            changed = json.dumps(item, ensure_ascii=False)
            changed = changed.replace('"@hostile@"', self.rng.choice(HOSTILE))
            self.lines[at] = changed.encode("utf-8", "replace")

    def fields(self) -> None:
        """Drop, add, rename or double a field."""
        at = self.rng.randrange(len(self.lines))
        try:
            item = json.loads(self.lines[at])
        except (ValueError, RecursionError):
            return
        if not isinstance(item, dict) or not item:
            return
        name = self.rng.choice(list(item))
        what = self.rng.randrange(4)
        if what == 3:
            doubled = json.dumps(item).rstrip("}") + f",{json.dumps(name)}:1}}"
            self.lines[at] = doubled.encode()
            return
        value = item.pop(name)
        if what == 1:
            item = {**item, name: value, "unheard_of": value}
        elif what == 2:
            item["\u202e" + name] = value
        self.lines[at] = json.dumps(item).encode()

    def order(self) -> None:
        """Repeat, swap, drop or contradict a line, or give it another's id."""
        rng = self.rng
        at = rng.randrange(len(self.lines))
        what = rng.randrange(5)
        if what == 0:
            self.lines.insert(at, self.lines[at])
        elif what == 1:
            self.lines.append(self.lines.pop(at))
        elif what == 2:
            del self.lines[at]
        elif what == 3:
            self.lines.append(self.lines[at].replace(b"2027", b"2026", 1))
        else:
            self.lines.insert(at, b"" if rng.random() < 0.5 else b"{}")

    def bytes_of_line(self) -> None:
        at = self.rng.randrange(len(self.lines))
        self.lines[at] = self._bytes(self.lines[at]).replace(b"\n", b" ")

    def _place(self, item) -> tuple | None:
        if not isinstance(item, dict | list) or not item:
            return None
        key = (
            self.rng.choice(list(item)) if isinstance(item, dict) else self.rng.randrange(len(item))
        )
        inner = self._place(item[key]) if self.rng.random() < 0.7 else None
        return inner or (item, key)

    def sound(self) -> bytes:
        """The file without any change."""
        head, body = self._parts()
        return json.dumps(head).encode() + b"\n" + body

    def _parts(self) -> tuple[dict, bytes]:
        body = b"".join(line + b"\n" for line in self.lines)
        head = {
            "format": "sumpside-records",
            "version": 1,
            "exported_at": WHEN.isoformat(),
            "records": sum(map(bool, self.lines)),
            "sha256": hashlib.sha256(body).hexdigest(),
        }
        return head, body

    def _with_head(self) -> bytes:
        head, body = self._parts()
        text = json.dumps(head)
        if self.rng.random() < 0.15:
            name = self.rng.choice(list(head))
            text = text.replace(json.dumps(head[name]), self.rng.choice(HOSTILE), 1)
        elif self.rng.random() < 0.05:
            return body
        return text.encode("utf-8", "replace") + b"\n" + body

    def _bytes(self, data: bytes) -> bytes:
        rng = self.rng
        changed = bytearray(data or b"x")
        at = rng.randrange(len(changed))
        what = rng.randrange(5)
        if what == 0:
            changed[at] ^= 1 << rng.randrange(8)
        elif what == 1:
            del changed[at : at + rng.randrange(1, 60)]
        elif what == 2:
            changed[at:at] = rng.choice([b"\n", b"[" * 99, b'"', b"NaN", b"\x00", b"\\u202e"])
        elif what == 3:
            changed[at:at] = changed[at : at + rng.randrange(1, 200)]
        else:
            del changed[at:]
        return bytes(changed)

    def _whole(self, data: bytes) -> bytes:
        """Another encoding or a packed file; archives are not taken in."""
        text = data.decode("utf-8", "replace")
        return self.rng.choice(
            (gzip.compress(data), text.encode("utf-16"), b"\xef\xbb\xbf" + data, data * 2, b"")
        )


def _lines() -> list[bytes]:
    """Sound lines of every kind that was kept, and a few notes."""
    kept = (VERSIONS / "records_v1.jsonl").read_bytes().splitlines()
    door = Door(**VALIDATION)
    sound = [canonical(door.admit(parse_line(line))).encode() for line in kept]
    return sound + [canonical(record(f"elsewhere1:{n}", note=f"n{n}")).encode() for n in (1, 2, 3)]


def _texts(items) -> list[str]:
    return sorted(map(canonical, items))


async def _check(data: bytes, seed: int, told: Counter) -> None:
    rng = Random(seed)
    disk = Disk() if seed % FAILING_DISKS == 0 else MemoryFolder()
    target = await open_in(disk, device_ids=lambda: "mine000001", **VALIDATION)
    mine = record(target.next_id(), note="mine")
    await target.append([mine])
    before = _texts(target.records())
    preview = await target.preview_import(data)
    assert all(line.text.isprintable() and line.problem.code for line in preview.rejected)
    if preview.refusal or preview.is_damaged:
        told["refused" if preview.refusal else "damaged"] += 1
        with pytest.raises(ImportRefused):
            await target.apply_import(preview, accept_damaged=bool(preview.refusal))
        assert (_texts(target.records()), target.conflicts()) == (before, ())
    else:
        told["sound"] += 1
    if preview.refusal:
        return
    if isinstance(disk, Disk):
        disk.faults = {disk.calls + rng.randrange(3): "fail"}
    try:
        await target.apply_import(preview, accept_damaged=True)
    except StorageFailed:
        told["failed on the disk"] += 1
        wanted, aside = before, []
    else:
        wanted = sorted([*before, *_texts(preview.new)])
        aside = _texts(preview.conflicting)
    assert (_texts(target.records()), _texts(target.conflicts())) == (wanted, aside)
    await target.close()
    if isinstance(disk, Disk):
        disk.faults = {}
    if seed % 3 == 0:
        again = await open_in(disk, **VALIDATION)
        assert (_texts(again.records()), _texts(again.conflicts())) == (wanted, aside)
        assert again.report.problems == ()
        assert (await again.preview_import(again.export(START))).problems == ()


async def _fuzz(count: int) -> None:
    lines = _lines()
    told: Counter = Counter()
    seen = {hash(Mutator(0, lines).sound())}
    seed = 0
    while len(seen) <= count:
        seed += 1
        data = Mutator(seed, lines).file()
        if hash(data) not in seen:
            seen.add(hash(data))
            await _check(data, seed, told)
    print(f"{len(seen) - 1:,} mutated files, each of them different: {dict(told)}")
    assert min(told["refused"], told["damaged"], told["sound"], told["failed on the disk"]) > 0


async def test_a_thousand_mutated_files_never_raise_and_are_never_half_imported():
    await _fuzz(SOME_FILES)


@pytest.mark.long
async def test_ten_thousand_mutated_files_never_raise_and_are_never_half_imported():
    await _fuzz(MANY_FILES)
