"""The last sound verdict of each system, kept for when no decision can be had."""

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from engine.decision import Decision
from engine.plan.withheld import is_withheld, standing_of
from mobile.commands.books import Books
from mobile.commands.danger import drawn
from mobile.host import Host
from mobile.state.boundary import contained, tried, tried_async
from mobile.state.failed import worst_of
from mobile.state.snapshot import Snapshot
from mobile.state.verdict import Verdict, is_stricter, kept_form, verdict_of
from mobile.storage.repository import Repository

ReadVerdicts = Callable[[], Awaitable[Mapping[str, Mapping[str, Any]]]]


async def no_verdicts() -> Mapping[str, Mapping[str, Any]]:
    """Return that none is kept where the records do not open."""
    return {}


class Verdicts:
    """The store's part for verdicts; of the keeper's own book alone, never of the demo."""

    def __init__(self, books: Books, host: Host, read: ReadVerdicts) -> None:
        self._books = books
        self._host = host
        self._read = read
        self._keeping: asyncio.Task[None] | None = None

    def of(self, system: str) -> Verdict | None:
        """Return the last sound verdict of a system that is kept."""
        kept = self._books.kept
        if kept is None or self._books.demo is not None:
            return None
        return tried("verdict", lambda: verdict_of(kept.repository.verdicts.get(system)), None)

    def without_reading(self, system: str) -> Verdict | None:
        """Return the verdict to go by where the records are open and could not be gone through.

        The worst of all that are kept where none is known of the system.
        """
        kept = self._books.kept
        if kept is None or self._books.demo is not None:
            return None
        return self.of(system) or tried(
            "verdict",
            lambda: worst_of(verdict_of(each) for each in kept.repository.verdicts.values()),
            None,
        )

    async def without_records(self) -> Verdict | None:
        """Return the verdict to go by where the records do not open."""
        found = await tried_async("verdict", self._read, {})
        return tried("verdict", lambda: worst_of(verdict_of(each) for each in found.values()), None)

    def keep_when_told(self, snapshot: Snapshot, *, weighed: bool) -> None:
        """Keep what a decision says, where it is news, once it was sent to the screen.

        While what could go wrong is not `weighed`, or where the decision is withheld, only what is
        stricter than the kept verdict: such a decision may end neither a stop nor a lowering.
        """
        decision, kept = snapshot.decision, self._books.kept
        if decision is None or kept is None or snapshot.demo or snapshot.storage.blocked:
            return
        keep = self._keep(
            kept.repository,
            snapshot.system,
            decision,
            may_end=weighed and not is_withheld(decision),
        )
        self._keeping = asyncio.create_task(keep)

    @contained("verdict")
    async def _keep(
        self, repository: Repository, system: str, decision: Decision, *, may_end: bool
    ) -> None:
        await drawn()
        kept = verdict_of(repository.verdicts.get(system))
        is_news = kept is None or not kept.says_the_same(decision)
        if is_news and (may_end or is_stricter(standing_of(decision), kept)):
            await repository.keep_verdict(system, kept_form(decision, self._host.build_id))
