"""What is said of the storage: where records are, how safe, how old the last export is."""

from datetime import timedelta
from typing import Final

from engine.records import Setup
from mobile.state.recorded import summary, title
from mobile.state.sentences import counted, day_and_time, days
from mobile.state.snapshot import Snapshot
from mobile.texts.setup import TEXTS
from mobile.texts.storage import problem_sentence
from mobile.texts.storage_page import TEXTS as PAGE

Line = tuple[str, str]
"""A tone and a sentence."""

_MIB: Final = 1 << 20
_LOW_ROOM: Final = 50 * _MIB
_REMIND_DAYS: Final = 30.0
_REMIND_RECORDS: Final = 10
_MOST_ASIDE: Final = 8
_PUT_OFF: Final = timedelta(days=30)


def records_lines(snapshot: Snapshot) -> tuple[Line, ...]:
    """Return the few things that Setup says of the records."""
    storage = snapshot.storage
    lines = [_where(snapshot), _last_export(snapshot)]
    lines += [("warn", text) for text in storage.problems]
    return tuple(lines)


def storage_sections(snapshot: Snapshot) -> tuple[tuple[str, tuple[Line, ...]], ...]:
    """Return heading and lines of each part of the storage's page."""
    return (
        (PAGE["where"], (_where(snapshot), _count(snapshot))),
        (PAGE["safety"], (_persistence(snapshot), _second_copy(snapshot))),
        *([(PAGE["room_title"], room)] if (room := _room(snapshot)) else []),
        (PAGE["backup"], (_last_export(snapshot), *_aside(snapshot))),
        (PAGE["health"], _health(snapshot)),
    )


def _where(snapshot: Snapshot) -> Line:
    backend = snapshot.storage.backend
    return "danger" if backend == "memory" else "good", TEXTS[f"storage_{backend}"]


def _count(snapshot: Snapshot) -> Line:
    storage = snapshot.storage
    records = counted(storage.record_count, "record")
    return "note", TEXTS["record_count"].format(records=records, device=storage.device)


def _persistence(snapshot: Snapshot) -> Line:
    match snapshot.storage.persisted:
        case True:
            return "good", TEXTS["persisted_yes"]
        case False:
            return "warn", TEXTS["persisted_no"]
        case None:
            return "note", TEXTS["persisted_unknown"]


def _second_copy(snapshot: Snapshot) -> Line:
    second = snapshot.storage.second
    return ("good", PAGE[f"second_{second}"]) if second else ("note", PAGE["second_none"])


def _room(snapshot: Snapshot) -> tuple[Line, ...]:
    used, quota = snapshot.storage.used_bytes, snapshot.storage.quota_bytes
    if used is None or quota is None:
        return ()
    told: Line = ("note", TEXTS["room"].format(used=_size(used), quota=_size(quota)))
    return (told, ("warn", PAGE["low_room"])) if quota - used < _LOW_ROOM else (told,)


def _last_export(snapshot: Snapshot) -> Line:
    storage = snapshot.storage
    if storage.last_export is None:
        return "warn" if storage.record_count else "note", TEXTS["last_export_never"]
    told = PAGE["days_since"].format(
        when=day_and_time(storage.last_export, snapshot.now),
        days=_since_export(snapshot),
        records=counted(storage.entered_since, "record"),
    )
    return "warn" if export_is_due(snapshot) else "note", told


def _since_export(snapshot: Snapshot) -> str:
    last = snapshot.storage.last_export
    return "" if last is None else days((snapshot.now - last).total_seconds() / 86_400.0)


def export_is_due(snapshot: Snapshot) -> bool:
    """Tell whether records stand in no export for so long that Today says so."""
    storage = snapshot.storage
    if snapshot.demo or not storage.entered_since:
        return False
    if storage.last_export is None:
        return storage.record_count >= _REMIND_RECORDS
    age_days = (snapshot.now - storage.last_export).total_seconds() / 86_400.0
    return age_days >= _REMIND_DAYS


def export_reminder(snapshot: Snapshot) -> str:
    """Return what Today says of the last export, or nothing while there is no need."""
    if not export_is_due(snapshot):
        return ""
    records = counted(snapshot.storage.entered_since, "record")
    key = "today_never" if snapshot.storage.last_export is None else "today_export"
    return PAGE[key].format(days=_since_export(snapshot), records=records)


def persistence_reminder(snapshot: Snapshot) -> bool:
    """Tell whether Today says that the browser may clear the records: once a month."""
    storage = snapshot.storage
    if snapshot.demo or storage.persisted is not False or not storage.record_count:
        return False
    if storage.blocked or storage.backend == "memory":  # a banner says worse
        return False
    put_off = storage.persist_put_off
    return put_off is None or not timedelta(0) <= snapshot.now - put_off < _PUT_OFF


def _aside(snapshot: Snapshot) -> list[Line]:
    aside = snapshot.storage.aside
    if not aside:
        return [("note", PAGE["aside_none"])]
    lines: list[Line] = [("warn", PAGE["aside"].format(records=counted(len(aside), "record")))]
    for record in aside[:_MOST_ASIDE]:
        told = PAGE["aside_one"].format(
            title=title(record),
            summary=record.name
            if isinstance(record, Setup)
            else summary(record, snapshot.alkalinity_unit),
            when=day_and_time(record.at, snapshot.now),
        )
        lines.append(("note", told))
    return lines


def _health(snapshot: Snapshot) -> tuple[Line, ...]:
    storage = snapshot.storage
    lines: list[Line] = [("warn", text) for text in storage.problems]
    if storage.blocked:
        lines.append(("warn", PAGE["blocked"]))
    return tuple(lines) or (("good", PAGE["health_good"]),)


def check_lines(snapshot: Snapshot) -> tuple[Line, ...]:
    """Return what the self-check found."""
    found = snapshot.storage.check
    if found is None:
        return ()
    records = counted(found.records, "record")
    if not found.problems:
        saves = counted(found.saves, "save")
        size = _size(found.size_bytes)
        return (("good", PAGE["check_good"].format(records=records, saves=saves, size=size)),)
    told = [("danger", PAGE["check_bad"].format(records=records))]
    return (*told, *(("warn", problem_sentence(problem)) for problem in found.problems[:8]))


def _size(count: int) -> str:
    if count < _MIB:
        return f"{max(1, round(count / 1024))} KB"
    return f"{count / _MIB:.0f} MB" if count < 1024 * _MIB else f"{count / _MIB / 1024:.1f} GB"
