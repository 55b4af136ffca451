"""A Web Lock: exclusive among all pages and workers of this origin, gone with its holder."""

import asyncio
from typing import Any, Final

import js  # pyright: ignore[reportMissingImports]
from pyodide.ffi import create_proxy, to_js  # pyright: ignore[reportMissingImports]

from mobile.storage.errors import StorageFailed

PATIENCE_S: Final = 20.0


class WebLock:
    """One named lock, held from `acquire` to `release` or to the end of the page."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._let_go: Any = None
        self._request: asyncio.Future[Any] | None = None

    @staticmethod
    def exists() -> bool:
        """Whether the browser has Web Locks."""
        return hasattr(js.navigator, "locks")

    async def acquire(self) -> bool:
        """Take the lock if nobody has it.

        Returns
        -------
        bool
            Whether it is ours now.

        Raises
        ------
        StorageFailed
            The browser does not answer; a late answer takes no lock.
        """
        answer: asyncio.Future[bool] = asyncio.get_running_loop().create_future()

        def on_answer(lock: Any) -> Any:
            is_ours = hasattr(lock, "name") and not answer.done()
            if not answer.done():
                answer.set_result(is_ours)
            return js.Promise.new(self._keep) if is_ours else None

        callback = create_proxy(on_answer)
        options = to_js({"ifAvailable": True}, dict_converter=js.Object.fromEntries)
        request = asyncio.ensure_future(js.navigator.locks.request(self._name, options, callback))
        # The request itself ends with the lock, or at once with an error.
        await asyncio.wait(
            {answer, request}, timeout=PATIENCE_S, return_when=asyncio.FIRST_COMPLETED
        )
        if request.done() and not answer.done():
            request.result()
        if not answer.done():
            answer.cancel()
            raise StorageFailed(operation="lock", file=self._name, reason="no answer")
        if answer.result():
            self._request = request
        else:
            callback.destroy()
        return answer.result()

    def release(self) -> None:
        """Give the lock back; without one it does nothing."""
        if self._let_go is not None:
            self._let_go()
            self._let_go = self._request = None

    def _keep(self, resolve: Any, _reject: Any) -> None:
        self._let_go = resolve
