"""What is said while entries may be missing and the keeper has not confirmed it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from mobile.state.sentences import counted, day_and_time
from mobile.state.snapshot import Snapshot
from mobile.storage.problems import Problem
from mobile.texts.failed import TEXTS
from mobile.texts.history import TEXTS as KINDS
from mobile.texts.storage import problem_sentence

_MOST: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class UnseenView:
    """The banner: what happened, what it may have cost, and until when nothing is raised."""

    lines: tuple[str, ...]
    may_confirm: bool  # else nothing can be saved here, and the last line says what ends it


def unseen(snapshot: Snapshot) -> UnseenView | None:
    """Return the banner; None while there is nothing to confirm."""
    if not snapshot.entries_missing:
        return None
    storage = snapshot.storage
    found = [problem_sentence(problem) for problem in storage.unseen]
    if storage.unseen:
        found.append(_held(storage.unseen, snapshot.now))
    if storage.unread and not storage.unread_seen:
        records = counted(len(storage.unread), "record")
        found.append(TEXTS["unseen_unread"].format(records=records))
    return UnseenView(
        lines=(*dict.fromkeys(found), _until(storage.blocked)), may_confirm=not storage.blocked
    )


def _until(blocked: str) -> str:
    """Return what ends it that nothing is raised, by what keeps this window from saving."""
    if not blocked:
        return TEXTS["unseen_until"]
    return TEXTS.get(f"unseen_until_{blocked}", TEXTS["unseen_until_read_only"])


def _held(problems: Iterable[Problem], now: datetime) -> str:
    """Return what the lost bytes may have held, by kind and time, the newest first."""
    held = sorted({pair for problem in problems for pair in problem.held}, key=_by_time)
    if not held:
        return TEXTS["unseen_unknown"]
    shown = [_one(kind, at, now) for kind, at in held[:_MOST]]
    more = len(held) - len(shown)
    tail = [TEXTS["held_more"].format(records=counted(more, "record"))] if more else []
    return TEXTS["unseen_held"].format(what=", ".join([*shown, *tail]))


def _by_time(pair: tuple[str, str]) -> tuple[float, str]:
    moment = _moment(pair[1])
    return (-moment.timestamp() if moment else 0.0, pair[0])


def _one(kind: str, at: str, now: datetime) -> str:
    what = KINDS.get(f"kind_{kind}", KINDS["kind_other"])
    moment = _moment(at)
    if moment is None:
        return what
    return TEXTS["held_one"].format(what=what, when=day_and_time(moment, now))


def _moment(at: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return None
    return moment if moment.tzinfo else None
