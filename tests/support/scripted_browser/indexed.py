"""IndexedDB's calls, events and transactions, from the Indexed Database standard.

Requests are answered in their order, one a turn of the loop. A transaction is active only in the
turn that made it and in its own callbacks, and commits by itself when nothing is asked of it any
more. Those whose stores overlap wait for each other as their modes ask.
"""

import asyncio
from types import SimpleNamespace

from tests.support.scripted_browser.calls import SLOW_S, carried_out
from tests.support.scripted_browser.indexed_store import (
    Database,
    KeyRange,
    Rows,
    decoded,
    encoded,
    query_of,
)
from tests.support.scripted_browser.values import NULL, JsArray, JsException, Uint8Array


def fire(target, name, **fields):
    """Call a handler; return the event, with whether the handler threw."""
    event = SimpleNamespace(type=name, target=target, is_prevented=False, threw=None, **fields)
    event.preventDefault = lambda: setattr(event, "is_prevented", True)
    handler = getattr(target, "on" + name)
    if handler:
        try:
            handler(event)
        except Exception as error:  # noqa: BLE001 - whatever it throws ends in the console
            event.threw = error
            asyncio.get_running_loop().call_exception_handler(
                {"message": f"on{name}", "exception": error}
            )
    return event


class Request:
    def __init__(self, source, transaction):
        self.source = source
        self.transaction = transaction or NULL
        self.onsuccess = self.onerror = self.onblocked = self.onupgradeneeded = None
        self.onversionchange = None
        self.readyState = "pending"
        self._result = self._error = None

    @property
    def result(self):
        if self.readyState == "pending":
            raise JsException("InvalidStateError")
        return self._result

    @property
    def error(self):
        if self.readyState == "pending":
            raise JsException("InvalidStateError")
        return NULL if self._error is None else self._error

    def settle(self, result=None, error=None):
        self.readyState = "done"
        self._result, self._error = result, error


class Factory:
    """indexedDB: opening and deleting, one after the other for each database."""

    def __init__(self, calls, databases, has_room):
        self.calls = calls
        self.databases = databases
        self.has_room = has_room
        self.connections = []
        self.live = []  # transactions, in the order they were made
        self._queues = {}

    def open(self, name, version=None):
        kind = self.calls.next("indexedDB.open")
        if kind is not None and " " not in kind and kind not in {"blocked", "silent", "slow"}:
            raise JsException(kind, "as asked for")
        request = Request(NULL, None)
        self._enqueue(name, lambda: self._open(request, name, version, kind))
        return request

    def deleteDatabase(self, name):
        request = Request(NULL, None)
        self._enqueue(name, lambda: self._delete(request, name))
        return request

    def _enqueue(self, name, work):
        queue = self._queues.setdefault(name, [])
        queue.append(work)
        if len(queue) == 1:
            asyncio.get_running_loop().call_soon(self._work_on, name)

    def _work_on(self, name):
        task = asyncio.get_running_loop().create_task(self._queues[name][0]())
        task.add_done_callback(lambda task: task.cancelled() or self._next(name))

    def _next(self, name):
        self._queues[name].pop(0)
        if self._queues[name]:
            self._work_on(name)

    async def _others_closed(self, request, name, version):
        others = [c for c in self.connections if c.name == name and not c.is_closing]
        for connection in others:
            fire(connection, "versionchange", oldVersion=connection.version, newVersion=version)
        await asyncio.sleep(0)
        if any(not c.is_closing for c in others):
            fire(request, "blocked")
        while not all(c.is_closing for c in others):
            await _a_moment()
        while any(t.connection.name == name for t in self.live):
            await _a_moment()

    async def _open(self, request, name, version, kind):
        if kind == "silent":
            return
        if kind == "slow":
            await asyncio.sleep(SLOW_S)
            kind = None
        if kind == "blocked":
            fire(request, "blocked")
            return
        if kind is not None:
            _fail(request, JsException(kind.split()[-1], "as asked for"))
            return
        known = self.databases.get(name)
        old = known.version if known else 0
        wanted = version or old or 1
        if wanted < old:
            _fail(request, JsException("VersionError"))
            return
        if wanted > old:
            await self._others_closed(request, name, wanted)
        connection = Connection(self, self._database(name), name)
        self.connections.append(connection)
        if wanted > old and not await self._upgraded(request, connection, old, wanted):
            return
        request.settle(connection)
        fire(request, "success")

    def _database(self, name):
        return self.databases.setdefault(name, Database())

    async def _upgraded(self, request, connection, old, wanted):
        transaction = Transaction(connection, (), "versionchange", strict=True, version=wanted)
        self.live.append(transaction)
        request.settle(connection)
        request.transaction = transaction
        connection.upgrade = transaction
        event = fire(request, "upgradeneeded", oldVersion=old, newVersion=wanted)
        if event.threw is not None:
            transaction.abort_for(JsException("AbortError"))
        else:
            transaction.end_turn()
        while not transaction.is_over:
            await _a_moment()
        connection.upgrade = None
        request.transaction = NULL
        if transaction.was_aborted or connection.is_closing:
            connection.is_closing = True
            _fail(request, JsException("AbortError"))
            return False
        return True

    async def _delete(self, request, name):
        await self._others_closed(request, name, None)
        self.databases.pop(name, None)
        request.settle()
        fire(request, "success")

    def lose(self, connection, error):
        """The connection dies: its transactions abort, and it is told that it is closed."""
        connection.is_closing = True
        for transaction in [t for t in self.live if t.connection is connection]:
            transaction.abort_for(error)
        asyncio.get_running_loop().call_soon(fire, connection, "close")

    def clear(self):
        """Lose everything, as when the browser clears its storage under an open page."""
        for connection in [c for c in self.connections if not c.is_closing]:
            self.lose(connection, JsException("AbortError"))
        self.databases.clear()

    def pump(self):
        """Let every transaction that may run go on."""
        for transaction in list(self.live):
            transaction.go_on()


async def _a_moment():
    """Wait for what may never come: it costs time, so that hanging is seen."""
    await asyncio.sleep(0.02)


def _fail(request, error):
    request.settle(None, error)
    fire(request, "error")


class Connection:
    """IDBDatabase."""

    def __init__(self, factory, database, name):
        self.factory = factory
        self.database = database
        self.name = name
        self.version = database.version
        self.onclose = self.onversionchange = None
        self.is_closing = False
        self.upgrade = None

    @property
    def objectStoreNames(self):
        stores = self.database.stores
        return JsArray(sorted(stores | self.upgrade.working if self.upgrade else stores))

    def createObjectStore(self, name):
        def create():
            if self.upgrade is None or not self.upgrade.is_active:
                raise JsException("InvalidStateError")
            if name in self.objectStoreNames:
                raise JsException("ConstraintError")
            return self.upgrade.create(name)

        return self.factory.calls.done("createObjectStore", create)

    def transaction(self, names, mode="readonly", options=None):
        kind = self.factory.calls.next("transaction")
        if kind == "versionchange":
            asyncio.get_running_loop().call_soon(fire, self, "versionchange")
            kind = None

        def begin():
            names_ = [names] if isinstance(names, str) else list(names)
            if self.is_closing or self.upgrade is not None:
                raise JsException("InvalidStateError", "The database connection is closing.")
            if any(name not in self.database.stores for name in names_):
                raise JsException("NotFoundError")
            if not names_:
                raise JsException("InvalidAccessError")
            strict = getattr(options, "durability", "default") == "strict"
            begun = Transaction(self, names_, mode, strict=strict)
            self.factory.live.append(begun)
            asyncio.get_running_loop().call_soon(begun.end_turn)
            return begun

        return carried_out(kind, begin)

    def close(self):
        self.is_closing = True


class Transaction:
    """IDBTransaction: it works on copies of its stores, which take their place at its commit."""

    def __init__(self, connection, names, mode, *, strict, version=None):
        self.connection = connection
        self.names = names
        self.mode = mode
        self.durability = "strict" if strict else "default"
        self.db = connection
        self.version = version
        self.working = {}
        self.oncomplete = self.onabort = self.onerror = None
        self.error = NULL
        self.is_active = True
        self.is_over = self.was_aborted = False
        self._waiting = []
        self._is_stuck = False
        self._is_begun = False
        self._is_due = False

    # ---- what Python calls

    def objectStore(self, name):
        def store():
            if self.is_over:
                raise JsException("InvalidStateError", "The transaction has finished.")
            if name not in self.names and not (self.version and name in self._all()):
                raise JsException("NotFoundError")
            return ObjectStore(self, name)

        return self.connection.factory.calls.done("objectStore", store)

    def abort(self):
        if self.is_over:
            raise JsException("InvalidStateError")
        self.abort_for(None)

    def create(self, name):
        self.working[name] = Rows()
        return ObjectStore(self, name)

    def ask(self, store, name, work):
        """Make a request that `work` will answer."""
        kind = self.connection.factory.calls.next(name)
        if kind is not None and kind.split()[0] not in {"request", "lost", "silent"}:
            raise JsException(kind, "as asked for")
        if not self.is_active or self.is_over:
            raise JsException("TransactionInactiveError")
        if self.mode == "readonly" and name in {"put", "delete"}:
            raise JsException("ReadOnlyError")
        request = Request(store, self)
        self._waiting.append((request, work(), kind))
        return request

    # ---- what the browser does

    def rows(self, name, *, to_change=False):
        if name in self.working:
            return self.working[name]
        rows = self.connection.database.stores[name]
        if to_change:
            rows = self.working[name] = rows.copy()
        return rows

    def _all(self):
        return self.connection.database.stores | self.working

    def end_turn(self):
        self.is_active = False
        self.connection.factory.pump()

    def go_on(self):
        if self.is_over or self._is_stuck or self._is_due or self.is_active or not self._may_run():
            return
        self._is_due = self._is_begun = True
        asyncio.get_running_loop().call_soon(self._turn)

    def _may_run(self):
        if self._is_begun:
            return True
        for other in self.connection.factory.live:
            if other is self:
                return True
            overlaps = other.connection.name == self.connection.name and (
                other.version or set(other.names) & set(self.names)
            )
            if overlaps and not other.mode == self.mode == "readonly":
                return False
        return True

    def _turn(self):
        self._is_due = False
        if self.is_over or self._is_stuck:
            return
        if self._waiting:
            self._answer(*self._waiting.pop(0))
        else:
            self._commit()
        self.connection.factory.pump()

    def _answer(self, request, work, kind):
        word = (kind or "").split()
        if word[:1] == ["silent"]:
            self._forget()
            return
        if word[:1] == ["lost"]:
            self._waiting.insert(0, (request, work, None))
            self.connection.factory.lose(self.connection, JsException(word[1], "as asked for"))
            return
        error = JsException(word[1], "as asked for") if word[:1] == ["request"] else None
        if error is None:
            request.settle(work())
        else:
            request.settle(None, error)
        self.is_active = True
        event = fire(request, "success" if error is None else "error")
        self.is_active = False
        if self.is_over:
            return
        if event.threw is not None:
            self.abort_for(JsException("AbortError"))
        elif error is not None and not event.is_prevented:
            self.abort_for(error)

    def _commit(self):
        factory = self.connection.factory
        kind = factory.calls.next("commit")
        added = sum(rows.size() for rows in self.working.values()) - sum(
            self.connection.database.stores[name].size()
            for name in self.working
            if name in self.connection.database.stores
        )
        if kind is None and added > 0 and not factory.has_room(added):
            kind = "QuotaExceededError"
        word = (kind or "").split()
        if word[:1] == ["lost"]:
            factory.lose(self.connection, JsException(word[1], "as asked for"))
            return
        if kind not in {None, "silent", "silent late", "slow"}:
            self.abort_for(JsException(kind, "as asked for"))
            return
        if kind == "silent":
            self._forget()
            return
        database = self.connection.database
        if factory.databases.get(self.connection.name) is database:
            version = self.version or database.version
            if self.working or self.version:
                database.commit(version, self.working, strict=self.durability == "strict")
        self.connection.version = database.version
        self.is_over = True
        if kind == "silent late":
            self._leave()
            database.told()
            return
        delay = SLOW_S if kind == "slow" else 0.0
        asyncio.get_running_loop().call_later(delay, self._tell, database)

    def _tell(self, database):
        database.told()
        self._leave()
        fire(self, "complete")
        self.connection.factory.pump()

    def _forget(self):
        """The server lost it: no event ever comes, and the connection is dead without a word."""
        self._is_stuck = True
        self.working = {}
        self._leave()

    def _leave(self):
        if self in self.connection.factory.live:
            self.connection.factory.live.remove(self)

    def abort_for(self, error):
        """Undo everything; what was asked fails with AbortError, then the abort is told."""
        self.is_over = self.was_aborted = True
        self.is_active = False
        self.working = {}
        self.error = NULL if error is None else error
        asyncio.get_running_loop().call_soon(self._tell_abort)

    def _tell_abort(self):
        waiting, self._waiting = self._waiting, []
        for request, _work, _kind in waiting:
            _fail(request, JsException("AbortError"))
        self._leave()
        fire(self, "abort")
        self.connection.factory.pump()


class ObjectStore:
    def __init__(self, transaction, name):
        self.transaction = transaction
        self.name = name

    def get(self, key):
        def work():
            found = query_of(_needed(key))
            return lambda: next(iter(_values(self._rows(), found)), None)

        return self.transaction.ask(self, "get", work)

    def getAll(self, query=None):
        def work():
            found = query_of(query)
            return lambda: JsArray(_values(self._rows(), found))

        return self.transaction.ask(self, "getAll", work)

    def getAllKeys(self, query=None):
        def work():
            found = query_of(query)
            rows = self._rows
            return lambda: JsArray(decoded(key) for key in rows().keys[rows().span(found)])

        return self.transaction.ask(self, "getAllKeys", work)

    def put(self, value, key):
        def work():
            place, kept = encoded(key), _cloned(value)

            def put():
                self.transaction.rows(self.name, to_change=True).put(place, kept)
                return decoded(place)

            return put

        return self.transaction.ask(self, "put", work)

    def delete(self, query):
        def work():
            found = query_of(_needed(query))
            return lambda: self.transaction.rows(self.name, to_change=True).delete(found)

        return self.transaction.ask(self, "delete", work)

    def _rows(self):
        return self.transaction.rows(self.name)


def _needed(query):
    if query is None:
        raise JsException("DataError")
    return query


def _cloned(value):
    if isinstance(value, Uint8Array):
        return value.to_bytes()
    if isinstance(value, str):
        return value
    raise JsException("DataCloneError")


def _values(rows, found):
    return [Uint8Array(v) if isinstance(v, bytes) else v for v in rows.values[rows.span(found)]]


def bound(calls):
    """Return IDBKeyRange.bound."""

    def make(lower, upper):
        def check():
            low, high = encoded(lower), encoded(upper)
            if low > high:
                raise JsException("DataError")
            return KeyRange(low, high)

        return calls.done("bound", check)

    return make
