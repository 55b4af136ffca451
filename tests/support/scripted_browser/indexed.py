"""IndexedDB: opening and deleting databases, connections, versions; the transactions' beginning."""

import asyncio

from tests.support.scripted_browser.calls import SLOW_S, carried_out
from tests.support.scripted_browser.indexed_store import Database, KeyRange, encoded
from tests.support.scripted_browser.indexed_transaction import Request, Transaction, fail, fire
from tests.support.scripted_browser.values import NULL, JsArray, JsException


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
            fail(request, JsException(kind.split()[-1], "as asked for"))
            return
        known = self.databases.get(name)
        old = known.version if known else 0
        wanted = version or old or 1
        if wanted < old:
            fail(request, JsException("VersionError"))
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
            fail(request, JsException("AbortError"))
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
