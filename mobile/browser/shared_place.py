"""The records that sites of every base once shared: what becomes of them when one erases its own.

Each site took a copy of its own (mobile/storage/moving.py) and left them as they were, since they
may be another site's only ones. A site whose files are kept here is one that may use them.
"""

from collections.abc import AsyncIterator
from typing import Final

import js  # pyright: ignore[reportMissingImports]

from mobile.browser.bridge import translated
from mobile.browser.idb import shared_idb
from mobile.browser.names import SHARED
from mobile.browser.opfs import shared_opfs
from mobile.storage.backend import Folder
from mobile.storage.errors import StorageFailed
from mobile.storage.journal import JOURNAL_NAME
from mobile.storage.moving import clear

_VERSIONS: Final = "sumpside-versions"  # and the base: mobile/web/service_worker.js


async def clear_shared(base: str) -> bool:
    """Empty the shared place; False where it was left for another site of this origin.

    A site at the shared place's own base has its records there, and erases them itself.

    Raises
    ------
    StoreBusy
        Another page writes there.
    StorageFailed
        Something may be left.
    """
    if base == SHARED:
        return True
    holding = [folder async for folder in _holding()]
    if holding and await _has_other_sites(base):
        return False
    for folder in holding:
        await clear(folder)
    return True


async def _holding() -> AsyncIterator[Folder]:
    for open_shared in (shared_opfs, shared_idb):
        try:
            folder = await open_shared()
        except (StorageFailed, AttributeError, TypeError) as error:
            print(f"shared: {error}")  # a kind of storage that this browser does not have
            continue
        if folder is not None and JOURNAL_NAME in await folder.names():
            yield folder


async def _has_other_sites(base: str) -> bool:
    with translated("look", _VERSIONS):
        names = [str(name) for name in await js.caches.keys()]
    return any(name.startswith(_VERSIONS) and name != _VERSIONS + base for name in names)
