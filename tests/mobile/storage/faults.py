"""Fails the calls of a keeper's history, one by one, and compares what is left.

Whatever fails, the app's own call succeeds or raises an `AppError`, and ends. Afterwards, with
nothing failing any more, the store opens and holds what was acknowledged; of the one change under
way all or nothing; nothing that was erased; and nothing is told as damaged or lost that is not.
"""

from collections import Counter
from dataclasses import dataclass, field, replace
from functools import partial

from tests.mobile.storage.faulty_history import ERASED, History, has_erased, opened
from tests.mobile.storage.histories import view_of
from tests.mobile.storage.support import DeviceIds, record
from tests.support.scripted_browser import Browser, Plan, Stage
from tests.support.scripted_browser.files import WorkerStopped

# What may be told although everything acknowledged is there: the rest of a write that never was.
TRUE_AFTER_A_FAILURE = frozenset(
    {"journal_tail_torn", "journal_tail_perhaps", "journal_snapshot_unread"}
)
# The browser took away one store under a window that went on writing to it.
TRUE_AFTER_A_CLEARING = frozenset({"copy_damaged", "copy_healed", "journal_acknowledged_lost"})
TRUE_BEFORE_A_STORE_STANDS = frozenset({"journal_header_damaged"})


async def check(left, browser, lacks):
    """Open what is left, compare, go on with it, and open it again."""
    ids = DeviceIds()
    ids.drawn = 5000
    first = await opened(ids)
    told = [problem.code for problem in first.report.problems]
    true = TRUE_AFTER_A_FAILURE | lacks
    if left.was_cleared:
        true |= TRUE_AFTER_A_CLEARING
    if not left.stands:
        true |= TRUE_BEFORE_A_STORE_STANDS
    assert set(told) <= true, told
    assert first.report.writable, first.report.blocked
    found = view_of(first)
    assert found in left.allowed, _difference(found, left.allowed)
    if left.had_erased and not has_erased(found):
        if hasattr(first, "settle"):
            await first.settle()
        assert not holds(browser.medium, ERASED.encode()), "erased bytes"
    new = record(first.next_id(), minutes=99_999, note="afterwards")
    assert new["id"] not in found.records
    await first.append([new])
    await first.tidy(force=True)
    await first.close()
    again = await opened(ids)
    assert view_of(again) == replace(found, records=found.records | {new["id"]: new})
    codes = {problem.code for problem in again.report.problems if not problem.known}
    assert codes <= lacks, codes
    await again.close()
    return set(told) - lacks


def _difference(found, allowed):
    return [
        {
            "missing": sorted(view.records.keys() - found.records.keys()),
            "invented": sorted(found.records.keys() - view.records.keys()),
            "conflicts": found.conflicts == view.conflicts,
            "draft": (view.draft, found.draft),
        }
        for view in allowed
    ]


def holds(medium, words):
    """Whether any byte of the words lies anywhere on the medium, what a cut may bring back too."""
    rows = (rows for db in medium.databases.values() for rows in db.stores.values())
    return any(words in piece for piece in _pieces(medium.files)) or any(
        words in value for each in rows for value in each.values if isinstance(value, bytes)
    )


def _pieces(tree):
    yield from tree.removed.values()
    for entry in tree.entries.values():
        if hasattr(entry, "entries"):
            yield from _pieces(entry)
        else:
            yield bytes(entry.content)
            yield entry.durable or b""


@dataclass
class Census:
    """Counts what was tried."""

    runs: int = 0
    reopened: int = 0
    longest_s: float = 0.0
    told: Counter = field(default_factory=Counter)  # while calls failed
    found: Counter = field(default_factory=Counter)  # at opening again

    def __str__(self):
        told, found = (
            ", ".join(f"{name} {count:,}" for name, count in sorted(counter.items()))
            for counter in (self.told, self.found)
        )
        return (
            f"{self.runs:,} histories, {self.reopened:,} stores reopened, "
            f"longest call {self.longest_s:.0f} s; told: {told}; found later: {found}"
        )


@dataclass
class Faults:
    """Runs histories on the scripted browser of a stage, and reopens what is left of them.

    Attributes
    ----------
    backend : str
        "opfs" for a browser with both stores, "idb" for one without files.
    """

    stage: Stage
    backend: str
    compact: bool = False
    census: Census = field(default_factory=Census)

    @property
    def _without(self):
        return () if self.backend == "opfs" else ("storage",)

    def history(self, plan=None, watch=None, quota=None):
        """Run one history, with failures where a plan or a quota asks for them."""
        browser = self.stage.browser = Browser(plan=plan, quota=quota, without=self._without)
        history = History(compact=self.compact)
        if watch is not None:
            browser.calls.watch = partial(watch, history)
        browser.run(history.run())
        browser.calls.watch = None
        self.census.runs += 1
        self.census.told.update(history.told)
        self.census.longest_s = max(self.census.longest_s, history.longest_s)
        return history

    def calls(self):
        """Return the names of all calls of one history in which nothing fails."""
        history = self.history()
        assert (history.errors, self.stage.browser.uncaught) == ([], [])
        return list(self.stage.browser.calls.made)

    def fail(self, number, kind, lasting="once", seeds=(None, 1)):
        """Fail a call; reopen what is left at the end, by seed after a power cut, None: without."""
        self._ended(f"call {number}: {kind}, {lasting}", seeds, plan=Plan(number, kind, lasting))

    def clear(self, number, seeds=(None, 1)):
        """Let the browser clear its storage at a call; reopen what is left at the end."""

        def watch(history, at, _name):
            if at == number:
                history.clear()
                self.stage.browser.clear_storage()

        self._ended(f"cleared at call {number}", seeds, watch=watch)

    def fill(self, quota, seeds=(None, 1)):
        """Let the storage be full at so many bytes; reopen what is left with more room."""
        self._ended(f"{quota} bytes", seeds, quota=quota)

    def _ended(self, what, seeds, **options):
        """Run a history to its end; reopen what is left, by seed after a power cut or without."""
        try:
            history = self.history(**options)
            browser = self.stage.browser
            # What an upgrade's handler throws aborts the upgrade, and is told in the console.
            uncaught = [each for each in browser.uncaught if "onupgradeneeded" not in each]
            assert uncaught == []
            for seed in seeds:
                medium = browser.killed() if seed is None else browser.power_cut(seed)
                self.reopen(history.left(medium))
        except (Exception, WorkerStopped) as error:
            raise AssertionError(what) from error

    def reopen(self, left):
        """Open what is left on a browser that does not fail."""
        browser = self.stage.browser = Browser(left.medium, without=self._without)
        lacks = {"backend_unavailable"} if self._without else set()
        self.census.found.update(browser.run(check(left, browser, lacks)))
        self.census.reopened += 1
        assert browser.uncaught == []
