"""Transactions and requests of IndexedDB, from the Indexed Database standard.

Requests are answered in their order, one a turn of the loop. A transaction is active only in the
turn that made it and in its own callbacks, and commits by itself when nothing is asked of it any
more. Those whose stores overlap wait for each other as their modes ask.
"""

import asyncio
from types import SimpleNamespace

from tests.support.scripted_browser.calls import SLOW_S
from tests.support.scripted_browser.indexed_store import Rows, decoded, encoded, query_of
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


def fail(request, error):
    request.settle(None, error)
    fire(request, "error")


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
            fail(request, JsException("AbortError"))
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
