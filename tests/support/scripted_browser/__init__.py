"""A scripted JavaScript side: the real code of mobile/browser runs on it, without a browser.

`installed()` puts modules `js` and `pyodide.ffi` in their places and takes them away again; which
`Browser` stands behind them is `stage.browser`. A browser that was killed, or whose power went,
begins another one on what the medium then holds.
"""

import sys
from contextlib import contextmanager
from dataclasses import dataclass, field
from random import Random
from types import ModuleType, SimpleNamespace

from tests.support.scripted_browser import clock
from tests.support.scripted_browser.calls import Calls, Plan
from tests.support.scripted_browser.files import FileSystem, Tree
from tests.support.scripted_browser.indexed import Factory, bound
from tests.support.scripted_browser.indexed_store import Database
from tests.support.scripted_browser.locks import LockManager
from tests.support.scripted_browser.values import (
    JsException,
    Uint8Array,
    create_proxy,
    from_entries,
    new_promise,
    to_js,
)


@dataclass
class Medium:
    """What is on the device: files and databases."""

    files: Tree = field(default_factory=Tree)
    databases: dict[str, Database] = field(default_factory=dict)

    def after_kill(self, chance):
        """Return it after the browser's processes were killed: all that was written is there."""
        left = {name: db.left(chance, power=False) for name, db in self.databases.items()}
        return Medium(self.files.after_kill(), left)

    def after_power_cut(self, chance):
        """Return it after the power went: of what was not flushed any part may be there."""
        left = {name: db.left(chance, power=True) for name, db in self.databases.items()}
        return Medium(self.files.after_power_cut(chance), left)

    def fingerprint(self):
        """Return a number that tells media with other contents apart."""
        rows = (
            (name, store, tuple(each.keys), tuple(each.values))
            for name, db in self.databases.items()
            for store, each in db.stores.items()
        )
        return hash((tuple(self.files.contents()), *rows))

    def bytes_used(self):
        rows = (rows for db in self.databases.values() for rows in db.stores.values())
        return self.files.bytes_used() + sum(each.size() for each in rows)


class Browser:
    """One run of a browser with one page, on a medium.

    Parameters
    ----------
    medium : Medium
        What is on the device; a new one where there is none.
    plan : Plan
        Which calls fail.
    quota : int or None
        Bytes that all of it may take.
    without : collection of str
        What this browser does not have: "locks", "storage", "indexedDB".
    """

    def __init__(self, medium=None, *, plan=None, quota=None, without=()):
        self.medium = medium or Medium()
        self.calls = Calls(plan or Plan())
        self.quota = quota
        self.uncaught = []
        self.files = FileSystem(self.calls, self.medium.files, self._has_room)
        self.indexed = Factory(self.calls, self.medium.databases, self._has_room)
        navigator = SimpleNamespace(
            storage=SimpleNamespace(getDirectory=self.files.directory),
            locks=LockManager(self.calls),
        )
        self.window = SimpleNamespace(
            navigator=navigator,
            indexedDB=self.indexed,
            IDBKeyRange=SimpleNamespace(bound=bound(self.calls)),
            Uint8Array=SimpleNamespace(new=self._new_array),
            Object=SimpleNamespace(fromEntries=from_entries),
            Promise=SimpleNamespace(new=new_promise),
        )
        for name in without:
            delattr(self.window if name == "indexedDB" else navigator, name)

    def run(self, work):
        """Run a coroutine on this browser to its end."""
        return clock.run(work, uncaught=self.uncaught)

    def killed(self, seed=0):
        """Return what the medium holds if all processes of the browser die now."""
        return self.medium.after_kill(Random(seed))

    def power_cut(self, seed):
        """Return what the medium may hold if the power goes now."""
        return self.medium.after_power_cut(Random(seed))

    def clear_storage(self, *, files=True, databases=True):
        """Lose what is kept, as browsers do when they need room or are asked to."""
        if files:
            self.files.clear()
        if databases:
            self.indexed.clear()

    def _new_array(self, length):
        return self.calls.done("Uint8Array", lambda: Uint8Array(bytes(length)))

    def _has_room(self, more):
        return self.quota is None or self.medium.bytes_used() + more <= self.quota


class Stage:
    """Which browser stands behind the modules now."""

    def __init__(self):
        self.browser = Browser()


class _Window(ModuleType):
    def __init__(self, stage):
        super().__init__("js")
        self._stage = stage

    def __getattr__(self, name):
        return getattr(self._stage.browser.window, name)


@contextmanager
def installed():
    """Let `import js` and `pyodide.ffi` find a scripted browser; afterwards all is as before."""
    stage = Stage()
    ffi = ModuleType("pyodide.ffi")
    ffi.JsException, ffi.create_proxy, ffi.to_js = JsException, create_proxy, to_js
    pyodide = ModuleType("pyodide")
    pyodide.ffi = ffi
    ours = {"js": _Window(stage), "pyodide": pyodide, "pyodide.ffi": ffi}
    if set(ours) & set(sys.modules):
        raise AssertionError("there is a JavaScript side already")
    sys.modules.update(ours)
    try:
        yield stage
    finally:
        users = [name for name, each in sys.modules.items() if vars(each).get("js") is ours["js"]]
        for name in users:
            package, _, own = name.rpartition(".")
            vars(sys.modules[package]).pop(own, None)
            del sys.modules[name]
        for name in ours:
            del sys.modules[name]
