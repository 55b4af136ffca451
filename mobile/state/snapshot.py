"""Everything the screens show, in one frozen value that is always replaced as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from engine.decision import Decision
from engine.records import Record, Setup
from mobile.state.ahead import Ahead
from mobile.state.boundary import Failure
from mobile.state.dangers import Dangers
from mobile.state.sheet.page import Sheet
from mobile.state.verdict import Verdict
from mobile.storage.problems import Problem
from mobile.storage.self_check import CheckReport
from mobile.storage.transfer import ImportPreview

Tone = Literal["good", "note", "warn", "danger"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """A sentence over the screens until it is put away or replaced."""

    tone: Tone
    text: str
    undo_ids: tuple[str, ...] = ()  # records that one tap withdraws


@dataclass(frozen=True, slots=True, kw_only=True)
class StorageState:
    """Where records are kept, and how safely."""

    backend: str = ""  # "opfs", "idb", "file", "memory"
    second: str = ""  # where a second copy is kept: "opfs" or "idb"; empty where there is none
    blocked: str = ""  # the code of why nothing can be saved; empty while it can
    problems: tuple[str, ...] = ()  # sentences
    persisted: bool | None = None
    used_bytes: int | None = None
    quota_bytes: int | None = None
    device: str = ""
    record_count: int = 0
    by_system: tuple[tuple[str, int], ...] = ()  # records of each
    last_export: datetime | None = None
    entered_since: int = 0  # records entered after the last export
    aside: tuple[Record, ...] = ()  # whose id was taken by another content
    unseen: tuple[Problem, ...] = ()  # what may have cost records and was not yet confirmed
    unread: tuple[str, ...] = ()  # ids of records that this build cannot read; they are kept
    unread_seen: bool = False  # the keeper has confirmed those
    persist_put_off: datetime | None = None  # when the line about eviction was put away last
    check: CheckReport | None = None  # of the self-check, while its page shows it
    checking: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """The state of the app at one moment."""

    now: datetime
    ready: bool = False
    not_opened: str = ""  # the sentence of why the records could not be opened
    may_begin_anew: bool = False  # nothing of them can be read: to begin without them is offered
    storage: StorageState = StorageState()
    systems: tuple[tuple[str, str], ...] = ()  # (id, name)
    system: str = ""
    demo: bool = False
    records: Sequence[Record] = ()  # of the system, as written
    standing: Sequence[Record] = ()  # amendments applied, oldest first
    setup: Setup | None = None
    log_read: bool = True  # the log was read in order; else it is shown as written
    decision: Decision | None = None
    recalled: str = ""  # why this build must give no dose; empty while nothing recalls it
    failure: Failure | None = None  # why there is no decision although there should be one
    verdict: Verdict | None = None  # of the last decision that could be worked out
    # what follows from the decision, worked out when asked for
    ahead: Ahead | None = field(default=None, compare=False, repr=False)
    dangers: Dangers | None = None  # None until they are worked out, a moment after the decision
    alkalinity_unit: str = "dKH"
    notice: Notice | None = None
    update_ready: bool = False
    saving: bool = False
    preview: ImportPreview | None = None
    sheet: Sheet | None = None  # the keeper's own table, looked at

    @property
    def entries_missing(self) -> bool:
        """Whether the keeper's log may lack entries, and the keeper has not confirmed it."""
        storage = self.storage
        unread = bool(storage.unread) and not storage.unread_seen
        return not self.demo and (bool(storage.unseen) or unread)

    @property
    def is_elsewhere(self) -> bool:
        """Whether another tab or window goes on with the records: what is here may be old."""
        return self.storage.blocked == "store_busy" and not self.demo
