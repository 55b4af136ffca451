"""A Web Lock: exclusive among all pages and workers of this origin, gone with its holder."""

import asyncio
from typing import Any

import js  # pyright: ignore[reportMissingImports]
from pyodide.ffi import create_proxy, to_js  # pyright: ignore[reportMissingImports]


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
        """
        answer: asyncio.Future[bool] = asyncio.get_running_loop().create_future()

        def on_answer(lock: Any) -> Any:
            is_ours = hasattr(lock, "name")
            answer.set_result(is_ours)
            return js.Promise.new(self._keep) if is_ours else None

        callback = create_proxy(on_answer)
        options = to_js({"ifAvailable": True}, dict_converter=js.Object.fromEntries)
        request = asyncio.ensure_future(js.navigator.locks.request(self._name, options, callback))
        # The request itself ends with the lock, or at once with an error.
        await asyncio.wait({answer, request}, return_when=asyncio.FIRST_COMPLETED)
        if not answer.done():
            request.result()
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
