"""The origin private file system: a medium behind it, and the calls of the File System Standard.

Written from the standard, not from the code that uses it. What was written and not flushed is on
the medium after a process is killed; after a power cut any part of it may be.
"""

import asyncio
from dataclasses import dataclass, field

from tests.support.scripted_browser.calls import carried_out
from tests.support.scripted_browser.values import JsException, Uint8Array

WRAP = 2**32


class WorkerStopped(BaseException):
    """The worker stands still for good: it closed the handle of a file that is gone (Chromium)."""


@dataclass(eq=False)
class Node:
    """A file's bytes; `durable` is None until its first flush."""

    content: bytearray = field(default_factory=bytearray)
    durable: bytes | None = None
    pending: list[tuple] = field(default_factory=list)
    is_open: bool = False
    is_gone: bool = False

    def do(self, step):
        apply(self.content, step)
        self.pending.append(step)

    def flush(self):
        self.durable = bytes(self.content)
        self.pending.clear()

    def after_power_cut(self, chance):
        """Return what the medium holds of it: any part of what was not flushed; None: nothing."""
        if self.durable is None and chance.random() < 0.3:
            return None
        content = bytearray(self.durable or b"")
        for step in self.pending:
            way = chance.choice(("all", "all", "none", "start", "end"))
            if way == "all" or (way != "none" and step[0] == "truncate"):
                apply(content, step)
            elif way != "none" and len(step[2]) > 1:
                place = chance.randrange(1, len(step[2]))
                if way == "start":
                    apply(content, (step[0], step[1], step[2][:place]))
                else:
                    apply(content, (step[0], step[1] + place, step[2][place:]))
        return bytes(content)


def apply(content, step):
    """Write or truncate; bytes between the old end and the new ones are zeros."""
    if step[0] == "truncate":
        size = step[1]
        del content[size:]
        content.extend(bytes(size - len(content)))
        return
    _, at, data = step
    content.extend(bytes(max(0, at - len(content))))
    content[at : at + len(data)] = data


@dataclass(eq=False)
class Tree:
    """A directory: nodes and trees by name; removed files whose removal may be forgotten."""

    entries: dict = field(default_factory=dict)
    removed: dict = field(default_factory=dict)
    is_gone: bool = False

    def flushed(self):
        """Earlier removals are on the medium once any later flush is."""
        self.removed.clear()
        for entry in self.entries.values():
            if isinstance(entry, Tree):
                entry.flushed()

    def after_kill(self):
        entries = {}
        for name, entry in self.entries.items():
            if isinstance(entry, Tree):
                entries[name] = entry.after_kill()
            else:
                entries[name] = Node(bytearray(entry.content), entry.durable, list(entry.pending))
        return Tree(entries, dict(self.removed))

    def after_power_cut(self, chance):
        entries = {}
        for name in sorted({*self.entries, *self.removed}):
            entry = self.entries.get(name)
            if isinstance(entry, Tree):
                entries[name] = entry.after_power_cut(chance)
                continue
            left = None if entry is None else entry.after_power_cut(chance)
            was_there = name in self.removed and (entry is None or entry.durable is None)
            if left is None and was_there and chance.random() < 0.5:
                left = self.removed[name]
            if left is not None:
                entries[name] = Node(bytearray(left), left)
        return Tree(entries)

    def contents(self, path=""):
        """Yield each path with its bytes, None for a directory."""
        for name, entry in sorted(self.entries.items()):
            if isinstance(entry, Tree):
                yield f"{path}/{name}", None
                yield from entry.contents(f"{path}/{name}")
            else:
                yield f"{path}/{name}", bytes(entry.content)

    def bytes_used(self):
        return sum(len(data or b"") for _, data in self.contents())

    def clear(self):
        """Lose everything, as when the browser clears its storage under an open page.

        Returns
        -------
        set of tuple of str
            The directories and names of the files that were open.
        """
        were_open = set()
        for name, entry in self.entries.items():
            entry.is_gone = True
            if isinstance(entry, Tree):
                were_open |= {(name, own) for _, own in entry.clear()}
            elif entry.is_open:
                were_open.add(("", name))
        self.entries.clear()
        self.removed.clear()
        return were_open


class FileSystem:
    """navigator.storage.getDirectory and what is reached from it."""

    def __init__(self, calls, root, has_room):
        self.calls = calls
        self.root = root
        self.has_room = has_room
        # Of files that are gone, while this browser lives: their names stay locked (Chromium).
        self.locked = set()

    def clear(self):
        """Lose everything."""
        self.locked |= self.root.clear()

    def promise(self, name, action):
        """Make a call that answers later, in the order of asking."""
        kind = self.calls.next(name)
        loop = asyncio.get_running_loop()
        promise = loop.create_future()

        def perform():
            try:
                promise.set_result(carried_out(kind, action))
            except JsException as error:
                promise.set_exception(error)

        loop.call_soon(perform)
        return promise

    def directory(self):
        return self.promise("getDirectory", lambda: DirectoryHandle(self, self.root, ""))


class DirectoryHandle:
    kind = "directory"

    def __init__(self, system, tree, name):
        self._system = system
        self._tree = tree
        self.name = name

    def getDirectoryHandle(self, name, options=None):
        return self._system.promise(
            "getDirectoryHandle",
            lambda: DirectoryHandle(self._system, self._entry(name, options, Tree), name),
        )

    def getFileHandle(self, name, options=None):
        def find():
            self._entry(name, options, Node)
            return FileHandle(self._system, self._tree, self.name, name)

        return self._system.promise("getFileHandle", find)

    def _entry(self, name, options, kind):
        self._check()
        if name in {"", ".", ".."} or "/" in name:
            raise JsException("TypeError", "Name is not allowed.")
        entry = self._tree.entries.get(name)
        if entry is None:
            if not getattr(options, "create", False):
                raise JsException("NotFoundError")
            entry = self._tree.entries[name] = kind()
        if not isinstance(entry, kind):
            raise JsException("TypeMismatchError")
        return entry

    def removeEntry(self, name, options=None):
        def remove():
            self._check()
            entry = self._tree.entries.get(name)
            if entry is None:
                raise JsException("NotFoundError")
            if isinstance(entry, Tree):
                if entry.entries and not getattr(options, "recursive", False):
                    raise JsException("InvalidModificationError")
                entry.is_gone = True
            else:
                if entry.is_open:
                    raise JsException("NoModificationAllowedError")
                entry.is_gone = True
                # Its last durable bytes may come back, or those of an older file of the name.
                if entry.durable is not None:
                    self._tree.removed[name] = entry.durable
            del self._tree.entries[name]

        return self._system.promise("removeEntry", remove)

    def keys(self):
        return self._names()

    async def _names(self):
        # One call: its answers come one by one, and may end in an error.
        kind = self._system.calls.next("keys")
        await asyncio.sleep(0)
        self._check()
        names = sorted(self._tree.entries)
        if kind is not None:
            for name in names[: len(names) // 2] if kind.startswith("midway") else ():
                yield name
            raise JsException(kind.split()[-1], "as asked for")
        for name in names:
            yield name
            await asyncio.sleep(0)

    def _check(self):
        if self._tree.is_gone:
            raise JsException("NotFoundError")


class FileHandle:
    kind = "file"

    def __init__(self, system, tree, directory, name):
        self._system = system
        self._tree = tree
        self._directory = directory
        self.name = name

    def _node(self):
        node = self._tree.entries.get(self.name)
        if not isinstance(node, Node) or self._tree.is_gone:
            raise JsException("NotFoundError")
        return node

    def getFile(self):
        return self._system.promise(
            "getFile", lambda: File(self._system, self._node(), bytes(self._node().content))
        )

    def createSyncAccessHandle(self):
        def lock():
            node = self._node()
            if node.is_open or (self._directory, self.name) in self._system.locked:
                raise JsException("NoModificationAllowedError")
            node.is_open = True
            return SyncHandle(self._system, node)

        return self._system.promise("createSyncAccessHandle", lock)


class File:
    """What a file held when it was asked for."""

    def __init__(self, system, node, data):
        self._system = system
        self._node = node
        self._data = data
        self.size = len(data)

    def arrayBuffer(self):
        def read():
            if self._node.is_gone:
                raise JsException("NotFoundError")
            return Uint8Array(self._data)

        return self._system.promise("arrayBuffer", read)


class SyncHandle:
    """FileSystemSyncAccessHandle: it has the file alone until it is closed."""

    def __init__(self, system, node):
        self._system = system
        self._node = node
        self._is_open = True

    def _check(self):
        if not self._is_open:
            raise JsException("InvalidStateError", "The access handle was already closed")

    def getSize(self):
        def size():
            self._check()
            return len(self._node.content)

        return self._system.calls.done("getSize", size)

    def read(self, buffer, options=None):
        kind = self._system.calls.next("read")

        def read(most=None):
            self._check()
            at = getattr(options, "at", 0)
            data = self._node.content[at : at + buffer.length][:most]
            buffer.data[: len(data)] = data
            return len(data)

        if kind in {"short", "zero"}:
            return read(buffer.length // 2 if kind == "short" else 0)
        if kind is not None and kind.startswith("code "):
            return int(kind.split()[1]) + WRAP
        return carried_out(kind, read)

    def write(self, buffer, options=None):
        kind = self._system.calls.next("write")

        def write(most=None):
            self._check()
            data = buffer.to_bytes()[:most]
            if not self._system.has_room(len(data)):
                return -8 + WRAP  # Chromium's answer (measured), where the standard throws
            if data:
                self._node.do(("write", getattr(options, "at", 0), data))
            return len(data)

        if kind in {"short", "zero"}:
            return write(buffer.length // 2 if kind == "short" else 0)
        if kind is not None and kind.startswith("code "):
            return int(kind.split()[1]) + WRAP
        if kind is not None and kind.startswith("torn "):
            write(buffer.length // 2)
        return carried_out(kind, write)

    def flush(self):
        def flush():
            self._check()
            self._node.flush()
            self._system.root.flushed()

        self._system.calls.done("flush", flush)

    def truncate(self, size):
        def truncate():
            self._check()
            self._node.do(("truncate", size))

        self._system.calls.done("truncate", truncate)

    def close(self):
        def close():
            if self._is_open and self._node.is_gone:
                raise WorkerStopped
            if self._is_open:
                self._is_open = self._node.is_open = False

        self._system.calls.done("close", close)
