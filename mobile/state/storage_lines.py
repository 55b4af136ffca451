"""What is said of the storage and of a file to import."""

from typing import Final

from mobile.state.sentences import counted, day_and_time
from mobile.state.snapshot import Snapshot
from mobile.storage.transfer import ImportPreview
from mobile.texts.setup import TEXTS
from mobile.texts.storage import problem_sentence

_MIB: Final = 1 << 20


def storage_lines(snapshot: Snapshot) -> tuple[tuple[str, str], ...]:
    """Return (tone, sentence) for each thing to know about the storage."""
    storage = snapshot.storage
    lines = [
        (
            "danger" if storage.backend == "memory" else "good",
            TEXTS[f"storage_{storage.backend}"],
        ),
        _persistence(snapshot),
        (
            "note",
            TEXTS["record_count"].format(
                records=counted(storage.record_count, "record"), device=storage.device
            ),
        ),
    ]
    if storage.used_bytes is not None and storage.quota_bytes is not None:
        used, quota = _size(storage.used_bytes), _size(storage.quota_bytes)
        lines.append(("note", TEXTS["room"].format(used=used, quota=quota)))
    last = storage.last_export
    lines.append(
        ("warn", TEXTS["last_export_never"])
        if last is None
        else ("note", TEXTS["last_export"].format(when=day_and_time(last, snapshot.now)))
    )
    lines += [("warn", text) for text in storage.problems]
    return tuple(lines)


def _persistence(snapshot: Snapshot) -> tuple[str, str]:
    match snapshot.storage.persisted:
        case True:
            return "good", TEXTS["persisted_yes"]
        case False:
            return "warn", TEXTS["persisted_no"]
        case None:
            return "note", TEXTS["persisted_unknown"]


def _size(count: int) -> str:
    return f"{count / _MIB:.0f} MB" if count < 1024 * _MIB else f"{count / _MIB / 1024:.1f} GB"


def import_lines(preview: ImportPreview) -> tuple[str, ...]:
    """Return what a file holds, as sentences."""
    refusal = preview.refusal
    if refusal is not None:
        return (problem_sentence(refusal),)
    lines = [problem_sentence(problem) for problem in preview.problems]
    lines.append(
        TEXTS["import_found"].format(
            new=len(preview.new), same=preview.same, conflicting=len(preview.conflicting)
        )
    )
    if preview.rejected_count:
        lines.append(
            TEXTS["import_rejected"].format(rejected=counted(preview.rejected_count, "line"))
        )
    lines += [
        f"{rejected.line}: {problem_sentence(rejected.problem)}"
        for rejected in preview.rejected[:5]
    ]
    return tuple(lines)
