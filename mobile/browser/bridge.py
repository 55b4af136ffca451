"""What both stores in the browser share: its errors as ours, options, the one writer's lock."""

import asyncio
from collections.abc import Generator
from contextlib import contextmanager
from typing import Any, Final

import js  # pyright: ignore[reportMissingImports]
from pyodide.ffi import JsException, to_js  # pyright: ignore[reportMissingImports]

from mobile.browser.answers import failure
from mobile.browser.weblock import WebLock
from mobile.storage.errors import StoreBusy

LOCK_ATTEMPTS: Final = 20
PAUSE_S: Final = 0.1


def options(**fields: Any) -> Any:
    """Return a JavaScript object."""
    return to_js(fields, dict_converter=js.Object.fromEntries)


@contextmanager
def translated(operation: str, name: str) -> Generator[None]:
    """Turn the browser's errors into ours."""
    try:
        yield
    except JsException as error:
        raise failure(operation, name, error) from error


async def lock_writer(name: str) -> WebLock | None:
    """Take the lock of the one writer; None where the browser has no Web Locks.

    The page before a reload may still hold it for a moment, so it is asked for again for a while.

    Raises
    ------
    StoreBusy
        Another page of ours has it.
    """
    if not WebLock.exists():
        return None
    lock = WebLock(name)
    for _ in range(LOCK_ATTEMPTS):
        if await lock.acquire():
            return lock
        await asyncio.sleep(PAUSE_S)
    raise StoreBusy(file=name)
