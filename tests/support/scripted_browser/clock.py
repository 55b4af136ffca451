"""An event loop whose time stands still while anything can run, and jumps when nothing can.

So fifty attempts with a pause between them cost nothing, and waiting for what will never come is
told at once instead of hanging.
"""

import asyncio
import selectors

LONGEST_S = 36_000.0


class Hung(Exception):  # noqa: N818 - it says what happened
    """Nothing can run any more and nothing is due, or work has gone on for ten hours."""


class _Selector(selectors.SelectSelector):
    def __init__(self):
        super().__init__()
        self.now = 0.0

    def select(self, timeout=None):
        if timeout is None:
            raise Hung("it waits for what nobody will send")
        self.now += timeout
        if self.now > LONGEST_S:
            raise Hung("it goes on for ten hours")
        return []


class VirtualLoop(asyncio.SelectorEventLoop):
    """Runs callbacks in the order they were asked for, timers by their time."""

    def __init__(self):
        self._virtual = _Selector()
        super().__init__(self._virtual)

    def time(self):
        return self._virtual.now


def run(work, *, uncaught=None):
    """Run a coroutine to its end; raises Hung when it can have none.

    What nobody caught in a callback is added to `uncaught`.
    """
    loop = VirtualLoop()

    def note(_loop, context):
        if uncaught is not None:
            uncaught.append(f"{context['message']}: {context.get('exception')!r}")

    loop.set_exception_handler(note)
    try:
        return loop.run_until_complete(work)
    finally:
        left = asyncio.all_tasks(loop)
        for task in left:
            task.cancel()
        if left:
            loop.run_until_complete(asyncio.gather(*left, return_exceptions=True))
        loop.close()
