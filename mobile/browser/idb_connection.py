"""A connection to our IndexedDB database that is opened again whenever the browser lost it.

A suspended phone may come back with a connection that is dead without a word (WebKit: "Connection
to Indexed Database server lost"). A transaction is all or nothing and ours put fixed rows, so one
that failed on a dead connection is simply run again on a new one.
"""

import asyncio
import contextlib
from collections.abc import Callable
from typing import Any, Final

import js  # pyright: ignore[reportMissingImports]
from pyodide.ffi import JsException, to_js  # pyright: ignore[reportMissingImports]

from mobile.browser.answers import failure
from mobile.browser.bridge import options
from mobile.storage.errors import AppError, StorageFailed

ROWS: Final = "rows"
FILES: Final = "files"
VERSION: Final = 1
ATTEMPTS: Final = 3
PATIENCE_S: Final = 20.0
_LOST: Final = frozenset({"InvalidStateError", "UnknownError", "AbortError", "TimeoutError"})

MakeProxy = Callable[[Callable[..., Any]], Any]


class _Lost(Exception):  # noqa: N818 - it never leaves this module
    """The connection is dead; `cause` is the browser's word for it."""

    def __init__(self, cause: Any) -> None:
        self.cause = cause
        super().__init__(str(cause))


class Transaction:
    """One transaction under way; requests are made while it is alive, from its own callbacks."""

    def __init__(self, transaction: Any, name: str, make_proxy: MakeProxy) -> None:
        self._transaction = transaction
        self._name = name  # of the database
        self._make_proxy = make_proxy
        self._proxies: list[Any] = []
        self._requests: list[Any] = []
        self._done: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._refusal: AppError | None = None
        self.result: Any = None
        transaction.oncomplete = self._proxy(lambda _event: self._settle(None))
        transaction.onabort = self._proxy(lambda _event: self._settle(self._why()))

    def store(self, name: str) -> Any:
        """Return an object store."""
        return self._transaction.objectStore(name)

    def request(
        self,
        method: Any,
        *arguments: Any,
        then: Callable[[Any], None] | None = None,
        into: list[Any] | None = None,
    ) -> None:
        """Make a request; its result goes to `then`, `into` or, without either, to `result`."""
        made = method(*arguments)

        def on_success(_event: Any) -> None:
            if then is not None:
                self._guarded(then, made.result)
            elif into is not None:
                into.append(made.result)
            else:
                self.result = made.result

        made.onsuccess = self._proxy(on_success)
        self._requests.append(made)

    def refuse(self, error: AppError) -> None:
        """Abort for a reason of ours."""
        self._refusal = error
        self._abort()

    async def finished(self) -> Any:
        """Wait for `oncomplete`; raises our refusal, or JsException's value wrapped as _Lost."""
        try:
            await asyncio.wait_for(self._done, PATIENCE_S)
        except TimeoutError as error:
            self.give_up()
            raise _Lost(error) from error
        finally:
            self._let_go()
        return self.result

    def give_up(self) -> None:
        """Abort it, so that no part of it takes place later, and hear no more of it."""
        self._abort()
        self._let_go()

    def _abort(self) -> None:
        with contextlib.suppress(JsException):  # it is over
            self._transaction.abort()

    def _guarded(self, then: Callable[[Any], None], value: Any) -> None:
        try:
            then(value)
        except JsException as error:
            self.refuse(failure("write", self._name, error))

    def _let_go(self) -> None:
        self._transaction.oncomplete = self._transaction.onabort = None
        for request in self._requests:
            request.onsuccess = None
        for proxy in self._proxies:
            proxy.destroy()
        self._proxies, self._requests = [], []

    def _proxy(self, function: Callable[..., Any]) -> Any:
        proxy = self._make_proxy(function)
        self._proxies.append(proxy)
        return proxy

    def _settle(self, error: Exception | None) -> None:
        if self._done.done():
            return
        if error is None:
            self._done.set_result(None)
        else:
            self._done.set_exception(error)

    def _why(self) -> Exception:
        if self._refusal is not None:
            return self._refusal
        return _meant("write", self._name, self._transaction.error)


def _meant(operation: str, name: str, error: Any) -> Exception:
    """Return our error for one of the browser's; an abort without one is a lost connection."""
    is_lost = getattr(error, "name", "AbortError") in _LOST
    return _Lost(error) if is_lost else failure(operation, name, error)


class Connection:
    """The database, opened when it is needed and again when it was lost."""

    def __init__(self, name: str, make_proxy: MakeProxy) -> None:
        self.name = name
        self._make_proxy = make_proxy
        self._database: Any = None

    def drop(self) -> None:
        """Close the connection; the next use opens another one."""
        database, self._database = self._database, None
        if database is not None:
            database.onclose = database.onversionchange = None
            database.close()

    async def run(
        self, stores: tuple[str, ...], mode: str, work: Callable[[Transaction], None]
    ) -> Any:
        """Run a transaction of strict durability; return the result of its last plain request.

        Raises
        ------
        StorageFull, StorageFailed
            It did not take place.
        AppError
            What `work` refused with.
        """
        lost: _Lost | None = None
        for _ in range(ATTEMPTS):
            try:
                return await self._run_once(stores, mode, work)
            except _Lost as error:
                lost = error
                self.drop()
        raise StorageFailed(operation="transaction", file=self.name, reason=f"lost: {lost}")

    async def _run_once(
        self, stores: tuple[str, ...], mode: str, work: Callable[[Transaction], None]
    ) -> Any:
        database = await self._open()
        strict = options(durability="strict")
        try:
            transaction = database.transaction(to_js(list(stores)), mode, strict)
        except JsException as error:
            raise _meant("transaction", self.name, error) from error
        begun = Transaction(transaction, self.name, self._make_proxy)
        try:
            work(begun)
        except JsException as error:
            begun.give_up()  # else the requests before would take place without the others
            raise _meant("transaction", self.name, error) from error
        return await begun.finished()

    async def _open(self) -> Any:
        if self._database is None:
            try:
                self._database = await asyncio.wait_for(self._opened(), PATIENCE_S)
            except TimeoutError as error:
                raise _Lost(error) from error
            gone = self._make_proxy(lambda _event: self.drop())
            # Closed by the browser, or wanted gone by another page: never used again.
            self._database.onclose = self._database.onversionchange = gone
        return self._database

    def _opened(self) -> asyncio.Future[Any]:
        opened: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        try:
            request = js.indexedDB.open(self.name, VERSION)
        except JsException as error:
            raise _meant("open", self.name, error) from error

        def on_upgrade(_event: Any) -> None:
            names = list(request.result.objectStoreNames)
            for name in (ROWS, FILES):
                if name not in names:
                    request.result.createObjectStore(name)

        def on_success(_event: Any) -> None:
            if opened.done():  # too late: nobody waits for it, and it would block another page
                request.result.close()
            else:
                opened.set_result(request.result)

        def on_error(_event: Any) -> None:
            if not opened.done():
                opened.set_exception(_meant("open", self.name, request.error))

        request.onupgradeneeded = self._make_proxy(on_upgrade)
        request.onsuccess = self._make_proxy(on_success)
        request.onerror = self._make_proxy(on_error)
        return opened
