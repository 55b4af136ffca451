"""What is asked of the host about the records: its promise to keep them, its facts, the card.

None of it is needed to record or to dose: what the host cannot do is left unknown.
"""

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace
from datetime import datetime
from typing import Any, Final, TypeVar

from engine.log.record_codec import from_dict
from mobile.commands.books import Book
from mobile.host import Host, HostError
from mobile.state.boundary import tried, tried_async
from mobile.state.snapshot import StorageState
from mobile.storage.problems import Problem
from mobile.storage.repository import Repository
from mobile.texts.storage import problem_sentence

META_EXPORTED: Final = "exported_at"
META_EXPORTED_COUNT: Final = "exported_count"
META_PERSIST_PUT_OFF: Final = "persist_put_off"
META_UNREAD_SEEN: Final = "unread_seen"

SETTLE_S: Final = 0.4  # after a save: what was shown as saved is on the screen by then
IDLE_S: Final = 8.0

T = TypeVar("T")


class Keeping:
    """The host's part in keeping records."""

    def __init__(self, host: Host) -> None:
        self._host = host
        self._asking: asyncio.Task[None] | None = None
        self._resting: asyncio.Task[None] | None = None

    def ask_to_persist(self, then: Callable[[], Awaitable[None]]) -> None:
        """Ask once that storage is never evicted; a browser may wait for the keeper's answer."""
        if self._asking is None:
            self._asking = asyncio.create_task(self._ask(then))

    async def _ask(self, then: Callable[[], Awaitable[None]]) -> None:
        await _known(self._host.request_persistence)
        await then()

    def rest_when_idle(self, repository: Repository) -> None:
        """Soon after a save mark and copy what is acknowledged; later take a snapshot if due."""
        if self._resting is not None:
            self._resting.cancel()
        self._resting = asyncio.create_task(self._rest(repository))

    async def _rest(self, repository: Repository) -> None:
        await asyncio.sleep(SETTLE_S)
        # Never called off: a copy that is made anew would not be ended while saves go on.
        self._settling = asyncio.ensure_future(repository.settle())
        await asyncio.shield(self._settling)
        if repository.wants_tidying:
            await asyncio.sleep(IDLE_S)
            await repository.tidy()

    async def publish(self, figures: dict[str, Any]) -> None:
        """Store the emergency card's figures; the general card is complete without them."""
        await _known(lambda: self._host.publish_figures(figures))

    async def state(self, book: Book) -> StorageState:
        """Return where records are kept, and how safely; what cannot be had is left unknown."""
        repository = book.repository
        report = repository.report
        estimate = await _known(self._host.storage_estimate)
        state = StorageState(
            backend=report.backend,
            second=report.second,
            blocked=repository.blocked.code if repository.blocked else "",
            problems=tuple(problem_sentence(problem) for problem in report.problems),
            persisted=await _known(self._host.persisted),
            used_bytes=estimate[0] if estimate else None,
            quota_bytes=estimate[1] if estimate else None,
            device=repository.device,
            record_count=len(repository.records()),
            by_system=tuple((s, len(repository.records(s))) for s in repository.systems()),
            last_export=_moment(repository, META_EXPORTED),
            entered_since=tried("storage", lambda: _entered_since(repository), 0),
            aside=tuple(
                record
                for data in repository.conflicts()
                if (record := tried("record", lambda data=data: from_dict(data), None))
            ),
            persist_put_off=_moment(repository, META_PERSIST_PUT_OFF),
        )
        return with_missing(state, book)


def with_missing(state: StorageState, book: Book) -> StorageState:
    """Return the facts with what may be missing; where that cannot be told, it may be anything."""
    repository = book.repository
    tried("records", book.records, ())  # what it cannot read is known once it was read
    unread = book.unread
    return replace(
        state,
        unseen=tried("unseen", lambda: repository.unseen, (Problem(code="unseen_unknown"),)),
        unread=unread,
        unread_seen=bool(unread)
        and set(unread) <= tried("unseen", lambda: _seen(repository), set[str]()),
    )


def _moment(repository: Repository, key: str) -> datetime | None:
    """Return a time of the app's own state; None where there is none that can be read."""
    kept = repository.meta(key)
    if not kept:
        return None
    moment = tried("storage", lambda: datetime.fromisoformat(kept), None)
    return moment if moment is not None and moment.tzinfo else None


def _seen(repository: Repository) -> set[str]:
    """Return the records that cannot be read and of which the keeper knows."""
    kept = repository.meta(META_UNREAD_SEEN)
    return {str(each) for each in kept} if isinstance(kept, list) else set()


def _entered_since(repository: Repository) -> int:
    """Return how many records came since the last export; all of them where there was none."""
    return max(0, len(repository.records()) - int(repository.meta(META_EXPORTED_COUNT) or 0))


async def _known(ask: Callable[[], Awaitable[T]]) -> T | None:
    """Return the host's answer, or None where it failed."""
    return await tried_async("host", ask, None, refusals=(HostError,))
