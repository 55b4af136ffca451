"""What is asked of the host about the records: its promise to keep them, its facts, the card.

None of it is needed to record or to dose: what the host cannot do is left unknown.
"""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import datetime
from typing import Any, Final, TypeVar

from engine.log.record_codec import from_dict
from mobile.host import Host, HostError
from mobile.state.snapshot import StorageState
from mobile.storage.repository import Repository
from mobile.texts.storage import problem_sentence

META_EXPORTED: Final = "exported_at"
META_EXPORTED_COUNT: Final = "exported_count"

IDLE_S: Final = 8.0

T = TypeVar("T")


class Keeping:
    """The host's part in keeping records."""

    def __init__(self, host: Host) -> None:
        self._host = host
        self._asking: asyncio.Task[None] | None = None
        self._tidying: asyncio.Task[None] | None = None

    def ask_to_persist(self, then: Callable[[], Awaitable[None]]) -> None:
        """Ask once that storage is never evicted; a browser may wait for the keeper's answer."""
        if self._asking is None:
            self._asking = asyncio.create_task(self._ask(then))

    async def _ask(self, then: Callable[[], Awaitable[None]]) -> None:
        await _known(self._host.request_persistence())
        await then()

    def tidy_when_idle(self, repository: Repository) -> None:
        """Take a snapshot a while after the last save, when enough was saved since the last."""
        if self._tidying is not None:
            self._tidying.cancel()
        if repository.wants_tidying:
            self._tidying = asyncio.create_task(_tidy_later(repository))

    async def publish(self, figures: dict[str, Any]) -> None:
        """Store the emergency card's figures; the general card is complete without them."""
        await _known(self._host.publish_figures(figures))

    async def state(self, repository: Repository) -> StorageState:
        """Return where records are kept, and how safely."""
        report = repository.report
        estimate = await _known(self._host.storage_estimate())
        exported = repository.meta(META_EXPORTED)
        last = datetime.fromisoformat(exported) if exported else None
        return StorageState(
            backend=report.backend,
            blocked=repository.blocked.code if repository.blocked else "",
            problems=tuple(problem_sentence(problem) for problem in report.problems),
            persisted=await _known(self._host.persisted()),
            used_bytes=estimate[0] if estimate else None,
            quota_bytes=estimate[1] if estimate else None,
            device=repository.device,
            record_count=len(repository.records()),
            by_system=tuple((s, len(repository.records(s))) for s in repository.systems()),
            last_export=last,
            entered_since=_entered_since(repository),
            aside=tuple(from_dict(record) for record in repository.conflicts()),
        )


def _entered_since(repository: Repository) -> int:
    """Return how many records came since the last export; all of them where there was none."""
    return max(0, len(repository.records()) - int(repository.meta(META_EXPORTED_COUNT) or 0))


async def _tidy_later(repository: Repository) -> None:
    await asyncio.sleep(IDLE_S)
    await repository.tidy()


async def _known(answer: Awaitable[T]) -> T | None:
    """Return the host's answer, or None where it failed."""
    try:
        return await answer
    except HostError as error:
        print(f"host: {error}")  # for developers
        return None
