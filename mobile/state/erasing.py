"""What can be erased, and what that takes away, in sentences."""

from mobile.state.sentences import counted, day_and_time
from mobile.state.snapshot import Snapshot
from mobile.texts.storage_page import TEXTS


def choices(snapshot: Snapshot) -> tuple[tuple[str, str], ...]:
    """Return key and label of each thing that can be erased; one system alone is everything."""
    found = [("all", TEXTS["erase_all"].format(records=_all(snapshot)))]
    if len(snapshot.systems) > 1:
        found = [
            *(
                (
                    f"system-{system}",
                    TEXTS["erase_system"].format(system=name, records=_of(snapshot, system)),
                )
                for system, name in snapshot.systems
            ),
            *found,
        ]
    return tuple(found)


def sure_lines(snapshot: Snapshot, system: str | None) -> tuple[tuple[str, str], ...]:
    """Return (tone, sentence) of what will be gone, and whether an export holds it."""
    name = dict(snapshot.systems).get(system or "", "")
    gone = (
        TEXTS["sure_all"].format(records=_all(snapshot))
        if system is None
        else TEXTS["sure_system"].format(system=name, records=_of(snapshot, system))
    )
    storage = snapshot.storage
    if storage.last_export is None:
        return ("danger", gone), ("warn", TEXTS["sure_never"])
    kept = TEXTS["sure_export"].format(
        when=day_and_time(storage.last_export, snapshot.now),
        records=counted(storage.entered_since, "record"),
    )
    return ("danger", gone), ("warn" if storage.entered_since else "note", kept)


def _all(snapshot: Snapshot) -> str:
    return counted(snapshot.storage.record_count, "record")


def _of(snapshot: Snapshot, system: str) -> str:
    return counted(dict(snapshot.storage.by_system).get(system, 0), "record")
