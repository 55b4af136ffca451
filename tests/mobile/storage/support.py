"""Records, openers and a disk that loses power, for the storage tests. Runs without pytest."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from mobile.storage.backend import ByteFile
from mobile.storage.errors import StorageFailed, StorageFull
from mobile.storage.memory import MemoryFolder
from mobile.storage.migrations import SCHEMA_VERSION
from mobile.storage.store import open_repository

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
KINDS = ("note", "water_test")


def record(record_id: str, *, minutes: int = 0, system: str = "main", note: str = "") -> dict:
    time = (START + timedelta(minutes=minutes)).isoformat()
    return {
        "id": record_id,
        "at": time,
        "recorded_at": time,
        "system": system,
        "kind": "note",
        "v": SCHEMA_VERSION,
        "note": note,
    }


def plain_validate(raw: dict) -> dict:
    """Stand in for the engine's codec: known kinds, a textual note."""
    if raw["kind"] not in KINDS:
        raise ValueError(f"unknown kind {raw['kind']}")
    if not isinstance(raw["note"], str):
        raise TypeError("the note is no text")
    return {**raw, "note": raw["note"]}


class DeviceIds:
    """Draws device0001, device0002, ..."""

    def __init__(self) -> None:
        self.drawn = 0

    def __call__(self) -> str:
        self.drawn += 1
        return f"device{self.drawn:04}"


async def open_in(folder, *, device_ids=None, **options):
    """Open a repository in a folder that is already at hand."""

    async def opener():
        return folder

    return await open_repository(
        opener,
        validate=options.pop("validate", plain_validate),
        new_device_id=device_ids or DeviceIds(),
        **options,
    )


def folder_with(journal: bytes) -> MemoryFolder:
    return MemoryFolder(files={"journal": bytearray(journal)})


def codes(repository) -> list[str]:
    return [problem.code for problem in repository.report.problems]


def notes(repository) -> list[str]:
    return [item["note"] for item in repository.records()]


class PowerCut(BaseException):
    """The power is gone; nothing more reaches the disk."""


@dataclass
class Disk:
    """One folder on a disk whose writes are safe only after a flush.

    Attributes
    ----------
    faults : dict
        What happens at the n-th changing call, counted from 0: "short", "full", "fail" or "cut".
        A "short" write takes half the bytes.
    """

    files: dict[str, bytearray] = field(default_factory=dict)
    durable: dict[str, bytes] = field(default_factory=dict)
    pending: list[tuple] = field(default_factory=list)
    faults: dict[int, str] = field(default_factory=dict)
    calls: int = 0
    renewable: bool = False
    most_tears: int | None = None  # of one write; None: torn at each byte
    is_dead: bool = False
    kind: str = "disk"

    async def open(self, name: str, *, writable: bool) -> ByteFile:
        if name not in self.files and writable:
            self.files[name] = bytearray()
        return DiskFile(self, name)

    async def names(self) -> tuple[str, ...]:
        return tuple(sorted(self.files))

    async def remove(self, name: str) -> None:
        del self.files[name]
        self.durable.pop(name, None)

    def next_fault(self) -> str | None:
        if self.is_dead:
            raise PowerCut
        fault = self.faults.get(self.calls)
        self.calls += 1
        if fault == "cut":
            self.is_dead = True
        return fault

    def folders_after_power_loss(self) -> Iterator[dict[str, bytes]]:
        """Every content all files may have; a new file may also be missing altogether."""
        names = sorted({*self.durable, *(step[1] for step in self.pending)})
        for contents in itertools.product(
            *(sorted(set(self.states_after_power_loss(name))) for name in names)
        ):
            yield dict(zip(names, contents, strict=True))

    def states_after_power_loss(self, name: str = "journal") -> Iterator[bytes]:
        """Every content the file may have: any subset of what was not flushed, one write torn.

        Of a large write only a few tears are tried: both ends and some places between.
        """
        todo = [step for step in self.pending if step[1] == name]
        for chosen in itertools.product((False, True), repeat=len(todo)):
            steps = [step for step, wanted in zip(todo, chosen, strict=True) if wanted]
            yield self._apply(name, steps)
            for index, step in enumerate(steps):
                if step[0] == "write":
                    for length in self._tears(len(step[3])):
                        torn = ("write", name, step[2], step[3][:length])
                        yield self._apply(name, [*steps[:index], torn, *steps[index + 1 :]])

    def _tears(self, length: int) -> Iterator[int]:
        if self.most_tears is None or length <= self.most_tears:
            return iter(range(1, length))
        return iter(range(1, length, length // self.most_tears))

    def _apply(self, name: str, steps: list[tuple]) -> bytes:
        content = bytearray(self.durable.get(name, b""))
        for step in steps:
            change(content, step)
        return bytes(content)


def change(content: bytearray, step: tuple) -> None:
    if step[0] == "truncate":
        del content[step[2] :]
        return
    _, _, at, data = step
    if at > len(content):
        content.extend(bytes(at - len(content)))
    content[at : at + len(data)] = data


@dataclass
class DiskFile:
    disk: Disk
    name: str

    async def size(self) -> int:
        return len(self.disk.files[self.name])

    async def read(self, at: int, count: int) -> bytes:
        return bytes(self.disk.files[self.name][at : at + count])

    async def write(self, at: int, data: bytes) -> int:
        fault = self.disk.next_fault()
        if fault == "full":
            raise StorageFull(operation="write")
        if fault == "fail":
            raise StorageFailed(operation="write")
        taken = data[: len(data) // 2] if fault == "short" else data
        self._change(("write", self.name, at, taken))
        if fault == "cut":
            raise PowerCut
        return len(taken)

    async def flush(self) -> None:
        fault = self.disk.next_fault()
        if fault == "cut":
            raise PowerCut
        if fault:
            raise StorageFailed(operation="flush")
        self.disk.durable[self.name] = bytes(self.disk.files[self.name])
        self.disk.pending = [step for step in self.disk.pending if step[1] != self.name]

    async def truncate(self, size: int) -> None:
        fault = self.disk.next_fault()
        if fault and fault != "cut":
            raise StorageFailed(operation="truncate")
        self._change(("truncate", self.name, size))
        if fault == "cut":
            raise PowerCut

    async def renew(self) -> None:
        if self.disk.is_dead:
            raise PowerCut
        if not self.disk.renewable:
            raise StorageFailed(operation="renew")

    async def close(self) -> None:
        """Nothing is held."""

    def _change(self, step: tuple) -> None:
        change(self.disk.files[self.name], step)
        self.disk.pending.append(step)
