"""Web Locks of one browser: exclusive, first come, first served; gone with the page."""

import asyncio

from tests.support.scripted_browser.calls import SLOW_S
from tests.support.scripted_browser.values import NULL, JsException, JsObject


class LockManager:
    """navigator.locks."""

    def __init__(self, calls):
        self._calls = calls
        self._held = set()
        self._queues = {}

    def request(self, name, options, callback):
        kind = self._calls.next("locks.request")
        loop = asyncio.get_running_loop()
        promise = loop.create_future()
        if kind == "silent":
            return promise
        if kind not in {None, "denied", "slow"}:
            loop.call_soon(promise.set_exception, JsException(kind, "as asked for"))
            return promise
        delay = SLOW_S if kind == "slow" else 0.0
        loop.call_later(delay, self._decide, name, options, callback, promise, kind == "denied")
        return promise

    def _decide(self, name, options, callback, promise, denied):
        is_free = name not in self._held and not denied
        if is_free:
            self._give(name, callback, promise)
        elif getattr(options, "ifAvailable", False):
            _settle(promise, callback, NULL)
        else:
            self._queues.setdefault(name, []).append((callback, promise))

    def _give(self, name, callback, promise):
        self._held.add(name)

        def release(_result=None):
            self._held.discard(name)
            waiting = self._queues.get(name, [])
            if waiting:
                self._give(name, *waiting.pop(0))

        _settle(promise, callback, JsObject(name=name, mode="exclusive"), release)


def _settle(promise, callback, lock, then=lambda _result: None):
    """Call back, and settle the request with what comes of it."""
    try:
        answer = callback(lock)
    except Exception as error:  # noqa: BLE001 - whatever the callback throws
        then(None)
        promise.set_exception(JsException("PythonError", str(error)))
        return
    if not isinstance(answer, asyncio.Future):
        then(None)
        promise.set_result(answer)
        return

    def on_end(found):
        then(None)
        if promise.done():
            return
        if found.exception() is None:
            promise.set_result(found.result())
        else:
            promise.set_exception(found.exception())

    answer.add_done_callback(on_end)
