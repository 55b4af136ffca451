"""Records and openers for the storage tests. Runs without pytest."""

from datetime import UTC, datetime, timedelta

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


async def open_in(*folders, device_ids=None, **options):
    """Open a repository in folders that are already at hand, best first."""

    def opener(folder):
        async def open_folder():
            return folder

        return open_folder

    return await open_repository(
        *map(opener, folders),
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
