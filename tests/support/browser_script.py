"""One script of calls to storage, whose answers a real browser and the scripted one must share.

Runs inside a browser's worker, too: no pytest here. Each case tells what it got: values, lengths,
names of errors, and the order in which events came.
"""

import asyncio

import js
from pyodide.ffi import JsException, create_proxy, to_js

FOLDER = "a-script-of-calls"


def options(**fields):
    return to_js(fields, dict_converter=js.Object.fromEntries)


def bytes_in(data):
    buffer = js.Uint8Array.new(len(data))
    buffer.assign(data)
    return buffer


def tried(work, *arguments):
    """Return what a call answers, or the name of its error."""
    try:
        answer = work(*arguments)
    except JsException as error:
        return error.name
    return answer if answer is None or isinstance(answer, int | str) else "done"


async def awaited(promise):
    try:
        return await promise
    except JsException as error:
        return error.name


# ---- files


async def folder():
    root = await js.navigator.storage.getDirectory()
    return await root.getDirectoryHandle(FOLDER, options(create=True))


async def made(name):
    place = await folder()
    entry = await place.getFileHandle(name, options(create=True))
    return place, entry, await entry.createSyncAccessHandle()


def read(handle, at, count):
    buffer = js.Uint8Array.new(count)
    taken = tried(handle.read, buffer, options(at=at))
    return [taken, buffer.to_bytes().hex()]


def write(handle, at, data):
    return tried(handle.write, bytes_in(data), options(at=at))


async def reading_and_writing():
    _, _, handle = await made("a")
    found = [handle.getSize(), write(handle, 0, b"hello"), write(handle, 8, b"xy")]
    found += [handle.getSize(), read(handle, 0, 12), read(handle, 8, 2), read(handle, 10, 4)]
    found += [read(handle, 99, 4), write(handle, 3, b"123"), read(handle, 0, 10)]
    handle.truncate(4)
    found += [handle.getSize(), read(handle, 0, 9)]
    handle.truncate(7)
    found += [handle.getSize(), read(handle, 0, 9), handle.flush()]
    handle.close()
    return found


async def a_handle_is_a_lock():
    _, entry, handle = await made("b")
    write(handle, 0, b"seen")
    found = [await awaited(entry.createSyncAccessHandle())]
    other = await (await folder()).getFileHandle("b")
    found.append(await awaited(other.createSyncAccessHandle()))
    handle.flush()
    content = await (await other.getFile()).arrayBuffer()
    found.append(content.to_bytes().hex())
    handle.close()
    again = await awaited(other.createSyncAccessHandle())
    found.append(again.getSize())
    again.close()
    return found


async def a_closed_handle():
    _, _, handle = await made("c")
    found = [handle.close(), handle.close(), tried(handle.getSize), tried(handle.flush)]
    found += [tried(handle.truncate, 0), read(handle, 0, 1), write(handle, 0, b"x")]
    return found


async def what_is_not_there():
    place, _, handle = await made("d")
    handle.close()
    entry = await place.getFileHandle("d")
    found = [await awaited(place.getFileHandle("nothing"))]
    found.append(await awaited(place.removeEntry("nothing")))
    found.append(await awaited(place.getDirectoryHandle("nothing")))
    found.append(await awaited(place.getDirectoryHandle("d")))
    found.append(await awaited(place.getFileHandle("a/b")))
    await place.removeEntry("d")
    found.append(await awaited(entry.getFile()))
    found.append(await awaited(entry.createSyncAccessHandle()))
    return found


async def removing():
    place, _, handle = await made("e")
    found = [await awaited(place.removeEntry("e"))]
    handle.close()
    found.append(await awaited(place.removeEntry("e")))
    return found


async def names():
    place = await folder()
    for name in ("zz", "journal", "journal-next"):
        await place.getFileHandle(name, options(create=True))
    return sorted([name for name in await names_in(place) if name in NAMED])


async def names_in(place):
    keys = place.keys()  # an asynchronous iterator: this is no dict
    return [str(name) async for name in keys]


NAMED = ("zz", "journal", "journal-next")


async def a_directory_with_something_in_it():
    root = await js.navigator.storage.getDirectory()
    refused = await awaited(root.removeEntry(FOLDER))
    whole = await awaited(root.removeEntry(FOLDER, options(recursive=True)))
    return [refused, whole, FOLDER in await names_in(root)]


# ---- locks


async def locks():
    told = []

    def answer(lock):
        told.append(getattr(lock, "name", None))
        return js.Promise.new(lambda resolve, _reject: held.append(resolve)) if lock else None

    held = []
    taken = create_proxy(answer)
    ask = js.navigator.locks.request
    first = asyncio.ensure_future(ask("a-lock", options(ifAvailable=True), taken))
    await asyncio.sleep(0.05)
    second = await awaited(ask("a-lock", options(ifAvailable=True), taken))
    other = asyncio.ensure_future(ask("b-lock", options(ifAvailable=True), taken))
    await asyncio.sleep(0.05)
    found = [first.done(), second, len(held)]
    held[0]("let go")
    found.append(await first)
    third = asyncio.ensure_future(ask("a-lock", options(ifAvailable=True), taken))
    await asyncio.sleep(0.05)
    for resolve in held[1:]:
        resolve(None)
    await asyncio.wait({third, other})
    return [*found, told]


# ---- IndexedDB


class Events:
    """What happened, in its order."""

    def __init__(self):
        self.log = []

    def on(self, target, label, *names):
        for name in names:
            setattr(target, f"on{name}", create_proxy(self._noter(f"{label} {name}")))
        return target

    def _noter(self, what):
        def note(event):
            target = event.target
            error = ""
            if what.endswith(("error", "abort")):
                error = getattr(target.error, "name", "none")
                event.preventDefault()
            self.log.append(f"{what} {error}".strip())

        return note

    async def until(self, what, seconds=5):
        for _ in range(seconds * 100):
            if any(line.startswith(what) for line in self.log):
                return
            await asyncio.sleep(0.01)
        self.log.append(f"no {what}")


async def opened(events, version=1, stores=("rows", "files"), label="open", wait=True):
    request = js.indexedDB.open(FOLDER, version)

    def upgrade(event):
        events.log.append(f"{label} upgrade {event.oldVersion} {event.newVersion}")
        for name in stores:
            request.result.createObjectStore(name)

    request.onupgradeneeded = create_proxy(upgrade)
    events.on(request, label, "success", "error", "blocked")
    if wait:
        await events.until(f"{label} success")
        return request.result
    return request


async def erased(events):
    events.on(js.indexedDB.deleteDatabase(FOLDER), "delete", "success", "error", "blocked")
    await events.until("delete success")


def key(name, at):
    return to_js([name, float(at)])


def begun(events, database, label, stores=("rows", "files"), mode="readwrite"):
    transaction = database.transaction(to_js(list(stores)), mode, options(durability="strict"))
    return events.on(transaction, label, "complete", "abort")


async def rows_and_ranges():
    events = Events()
    database = await opened(events)
    found = [sorted(str(name) for name in database.objectStoreNames), database.version]
    change = begun(events, database, "change")
    rows = change.objectStore("rows")
    for name, at in (("b", 1), ("a", 10), ("a", 2), ("a", 0), ("ab", 0), ("a", 1e14)):
        rows.put(to_js(f"{name}{at}".encode()), key(name, at))
    change.objectStore("files").put("mark", "a")
    change.objectStore("files").put("other", "a")
    await events.until("change complete")
    look = begun(events, database, "look", mode="readonly")
    span = js.IDBKeyRange.bound(key("a", 0), key("a", 1e15))
    asked = [
        look.objectStore("rows").getAllKeys(span),
        look.objectStore("rows").getAll(span),
        look.objectStore("rows").getAllKeys(),
        look.objectStore("files").get("a"),
        look.objectStore("files").get("none"),
        look.objectStore("files").getAllKeys(),
    ]
    found.append(tried(lambda: asked[0].result))
    await events.until("look complete")
    found += [asked[0].result.to_py(), [row.to_bytes().hex() for row in asked[1].result]]
    found += [asked[2].result.to_py(), asked[3].result, asked[4].result, asked[5].result.to_py()]
    remove = begun(events, database, "remove")
    remove.objectStore("rows").delete(span)
    left = remove.objectStore("rows").getAllKeys()
    await events.until("remove complete")
    found += [left.result.to_py(), tried(lambda: remove.objectStore("rows"))]
    database.close()
    await erased(events)
    return [*found, events.log]


async def what_is_refused():
    events = Events()
    database = await opened(events)
    found = [tried(lambda: begun(events, database, "x", stores=("none",)))]
    found.append(tried(lambda: begun(events, database, "x", stores=())))
    found.append(tried(database.createObjectStore, "third"))
    look = begun(events, database, "look", mode="readonly", stores=("files",))
    found.append(tried(lambda: look.objectStore("rows")))
    found.append(tried(look.objectStore("files").put, "mark", "a"))
    found.append(tried(look.objectStore("files").get, None))
    await events.until("look complete")
    change = begun(events, database, "change")
    store = change.objectStore("files")
    found.append(tried(store.put, "mark", to_js([True])))
    found.append(tried(js.IDBKeyRange.bound, key("b", 1), key("a", 1)))
    store.put("mark", "a")
    await asyncio.sleep(0.05)
    found.append(tried(store.put, "late", "a"))
    found.append(tried(change.abort))
    database.close()
    found.append(tried(lambda: begun(events, database, "closed")))
    same = events.on(js.indexedDB.open(FOLDER), "same", "success", "error")
    await events.until("same success")
    found.append(same.result.version)
    same.result.close()
    await erased(events)
    return [*found, events.log]


async def aborting_undoes_all():
    events = Events()
    database = await opened(events)
    keep = begun(events, database, "keep")
    keep.objectStore("files").put("kept", "a")
    await events.until("keep complete")
    undo = begun(events, database, "undo")
    events.on(undo.objectStore("files").put("undone", "a"), "put", "success", "error")
    events.on(undo.objectStore("files").delete("a"), "delete row", "success", "error")
    undo.abort()
    await events.until("undo abort")
    look = begun(events, database, "look", mode="readonly")
    asked = look.objectStore("files").get("a")
    await events.until("look complete")
    database.close()
    found = asked.result
    await erased(events)
    return [found, events.log]


async def requests_come_in_order():
    events = Events()
    database = await opened(events)
    first, second = (begun(events, database, name) for name in ("first", "second"))
    other = begun(events, database, "reads", stores=("files",), mode="readonly")
    asked = events.on(other.objectStore("files").get("a"), "reads get", "success")
    events.on(second.objectStore("files").put("2", "a"), "second put", "success")
    events.on(first.objectStore("files").put("1", "a"), "first put", "success")
    events.on(first.objectStore("files").get("a"), "first get", "success")
    await events.until("reads complete")
    found = asked.result
    database.close()
    await erased(events)
    return [found, events.log]


async def a_callback_that_asks_for_more():
    events = Events()
    database = await opened(events)
    change = begun(events, database, "change")
    store = change.objectStore("files")
    made = store.put("1", "a")
    results = []

    def more(_event):
        results.append(made.result)
        events.on(store.get("a"), "get", "success")

    made.onsuccess = create_proxy(more)
    await events.until("change complete")
    refuse = begun(events, database, "refuse")
    asked = refuse.objectStore("files").get("a")
    asked.onsuccess = create_proxy(lambda _event: refuse.abort())
    await events.until("refuse abort")
    database.close()
    await erased(events)
    return [results, events.log]


async def a_callback_that_throws():
    events = Events()
    database = await opened(events)
    change = begun(events, database, "change")
    store = change.objectStore("files")
    gone = create_proxy(lambda _event: None)
    store.put("1", "a").onsuccess = gone
    gone.destroy()  # to call it now throws in JavaScript
    await events.until("change abort")
    look = begun(events, database, "look", mode="readonly")
    asked = look.objectStore("files").get("a")
    await events.until("look complete")
    found = asked.result
    database.close()
    await erased(events)
    return [found, events.log]


async def versions():
    events = Events()
    database = await opened(events, version=2)
    lower = js.indexedDB.open(FOLDER, 1)
    events.on(lower, "lower", "success", "error")
    await events.until("lower error")
    events.on(database, "old", "versionchange", "close")
    higher = await opened(events, version=3, stores=(), label="higher", wait=False)
    await events.until("higher blocked")
    database.close()
    await events.until("higher success")
    found = [higher.result.version, higher.result.name == FOLDER]
    higher.result.close()
    await erased(events)
    return [*found, events.log]


FILES = (
    reading_and_writing,
    a_handle_is_a_lock,
    a_closed_handle,
    what_is_not_there,
    removing,
    names,
    a_directory_with_something_in_it,
)
ROWS = (
    locks,
    rows_and_ranges,
    what_is_refused,
    aborting_undoes_all,
    requests_come_in_order,
    a_callback_that_asks_for_more,
    a_callback_that_throws,
    versions,
)


async def answers(cases):
    """Return what each case got, by its name."""
    found = {}
    for case in cases:
        try:
            found[case.__name__] = await case()
        except JsException as error:
            found[case.__name__] = f"it ended with {error.name}"
    return found
