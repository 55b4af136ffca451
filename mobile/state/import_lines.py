"""What is said of a backup to import, before anything is changed."""

from typing import Any, Final

from engine.log.record_codec import from_dict
from mobile.state.recorded import summary, title
from mobile.state.sentences import counted, day_and_time
from mobile.state.snapshot import Snapshot
from mobile.storage.transfer import ImportPreview
from mobile.texts.setup import TEXTS
from mobile.texts.storage import problem_sentence

MOST_LINES: Final = 5


def import_lines(snapshot: Snapshot, preview: ImportPreview) -> tuple[str, ...]:
    """Return what a file holds, as sentences: counts first, then what stays out, and why."""
    refusal = preview.refusal
    if refusal is not None:
        return (problem_sentence(refusal),)
    lines = [problem_sentence(problem) for problem in preview.problems]
    lines.append(
        TEXTS["import_found"].format(
            new=len(preview.new), same=preview.same, conflicting=len(preview.conflicting)
        )
    )
    lines += _conflicts(snapshot, preview)
    lines += _rejected(preview)
    return tuple(lines)


def _conflicts(snapshot: Snapshot, preview: ImportPreview) -> list[str]:
    if not preview.conflicting:
        return []
    lines = [TEXTS["import_conflicts"]]
    lines += [_told(snapshot, record) for record in preview.conflicting[:MOST_LINES]]
    return lines + _more(len(preview.conflicting))


def _told(snapshot: Snapshot, data: dict[str, Any]) -> str:
    record = from_dict(data)
    return TEXTS["import_conflict"].format(
        title=title(record),
        summary=summary(record, snapshot.alkalinity_unit),
        when=day_and_time(record.at, snapshot.now),
    )


def _rejected(preview: ImportPreview) -> list[str]:
    if not preview.rejected_count:
        return []
    rejected = counted(preview.rejected_count, "line")
    lines = [TEXTS["import_rejected"].format(rejected=rejected)]
    lines += [
        TEXTS["import_line"].format(line=found.line, why=problem_sentence(found.problem))
        for found in preview.rejected[:MOST_LINES]
    ]
    return lines + _more(preview.rejected_count)


def _more(count: int) -> list[str]:
    return [TEXTS["import_more"].format(count=count - MOST_LINES)] if count > MOST_LINES else []
