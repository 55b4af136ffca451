"""Every call to the JavaScript side, counted, and what each of them may answer instead.

As SQLite's tests fail its file system at the n-th call: once, or from there on. A failure's kind is

- the name of an error: the call throws or rejects with it, and nothing was done;
- `late` and a name: all of it was done, and the call throws or rejects all the same;
- `torn` and a name: of a write, half of it was done before it threw;
- `short`, `zero`: of a read or write, it took half, or nothing, and says so;
- `code` and a number: Chromium's own code in place of a count of bytes;
- `midway` and a name: an iterator fails after its first half;
- `denied`: of a lock, another page has it;
- `request` and a name: of IndexedDB, the request fails, and its transaction with it;
- `lost` and a name: the connection dies, all its transactions abort with that error;
- `blocked`: of opening a database, another page does not let go of an older one;
- `silent`, `silent late`: no event ever comes, and nothing (or all of it) was done;
- `slow`: it is done, and told only half a minute later;
- `versionchange`: another page wants the database gone.
"""

from dataclasses import dataclass, field

from tests.support.scripted_browser.values import JsException

CHROMIUM_NO_SPACE = -8
CHROMIUM_FAILED = -2
SLOW_S = 30.0

_REQUESTS = (
    "TransactionInactiveError",
    "UnknownError",
    "request UnknownError",
    "request QuotaExceededError",
    "request DataError",
    "lost AbortError",
    "lost UnknownError",
    "silent",
)

KINDS: dict[str, tuple[str, ...]] = {
    "getDirectory": ("SecurityError", "UnknownError"),
    "getDirectoryHandle": (
        "UnknownError",
        "NotFoundError",
        "QuotaExceededError",
        "late UnknownError",
    ),
    "getFileHandle": (
        "UnknownError",
        "NotFoundError",
        "QuotaExceededError",
        "NotAllowedError",
        "late InvalidStateError",
    ),
    "getFile": ("NotFoundError", "NotReadableError"),
    "arrayBuffer": ("NotReadableError", "NotFoundError"),
    "createSyncAccessHandle": (
        "NoModificationAllowedError",
        "NotFoundError",
        "InvalidStateError",
        "UnknownError",
        "QuotaExceededError",
    ),
    "keys": ("UnknownError", "NotFoundError", "midway UnknownError"),
    "removeEntry": (
        "NoModificationAllowedError",
        "NotFoundError",
        "UnknownError",
        "late UnknownError",
    ),
    "Uint8Array": ("RangeError",),
    "read": ("InvalidStateError", "UnknownError", "short", "zero", f"code {CHROMIUM_FAILED}"),
    "write": (
        "InvalidStateError",
        "QuotaExceededError",
        "short",
        "zero",
        f"code {CHROMIUM_NO_SPACE}",
        f"code {CHROMIUM_FAILED}",
        "torn UnknownError",
        "late UnknownError",
    ),
    "flush": ("InvalidStateError", "UnknownError", "QuotaExceededError", "late UnknownError"),
    "truncate": ("InvalidStateError", "QuotaExceededError", "late UnknownError"),
    "getSize": ("InvalidStateError", "UnknownError"),
    "close": ("UnknownError", "late UnknownError"),
    "locks.request": (
        "denied",
        "SecurityError",
        "InvalidStateError",
        "AbortError",
        "silent",
        "slow",
    ),
    "indexedDB.open": (
        "SecurityError",
        "request UnknownError",
        "request QuotaExceededError",
        "request AbortError",
        "request VersionError",
        "blocked",
        "silent",
        "slow",
    ),
    "createObjectStore": ("ConstraintError", "InvalidStateError"),
    "transaction": ("InvalidStateError", "NotFoundError", "UnknownError", "versionchange"),
    "objectStore": ("InvalidStateError", "NotFoundError"),
    "bound": ("DataError",),
    "get": _REQUESTS,
    "getAll": _REQUESTS,
    "getAllKeys": _REQUESTS,
    "put": (*_REQUESTS, "DataCloneError"),
    "delete": _REQUESTS,
    "commit": (
        "QuotaExceededError",
        "UnknownError",
        "AbortError",
        "lost AbortError",
        "silent",
        "silent late",
        "slow",
    ),
}


@dataclass
class Plan:
    """Which calls fail: the `first`-th, counted from 0, with `kind`.

    `lasting` is "once", "same" (from there on each call of that name) or "all" (each call of any
    name; others fail with the first of their own kinds).
    """

    first: int = -1
    kind: str = ""
    lasting: str = "once"
    name: str = ""  # of the call that failed

    def kind_of(self, number, name):
        if self.first < 0 or number < self.first:
            return None
        if number == self.first:
            self.name = name
            return self.kind
        if self.lasting == "once" or (self.lasting == "same" and name != self.name):
            return None
        return self.kind if name == self.name else KINDS[name][0]


@dataclass
class Calls:
    """The calls made so far; `watch` is told of each before it does anything."""

    plan: Plan = field(default_factory=Plan)
    made: list[str] = field(default_factory=list)
    most: int = 200_000
    watch: object = None

    def next(self, name):
        """Count a call; return how it shall fail, or None."""
        number = len(self.made)
        if number >= self.most:
            raise AssertionError("calls without end")
        self.made.append(name)
        if self.watch is not None:
            self.watch(number, name)
        return self.plan.kind_of(number, name)

    def done(self, name, action):
        """Make a call that answers at once."""
        return carried_out(self.next(name), action)


def carried_out(kind, action):
    """Do what a call does, or fail as asked for."""
    if kind is None:
        return action()
    if kind.startswith("late "):
        action()
    raise JsException(kind.split()[-1], "as asked for")
