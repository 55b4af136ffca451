"""Composition root: what Flet runs, in the browser's worker or with Python on this machine.

The only place that picks a clock, a source of ids, a host and the backends of the storage.
"""

import argparse
import asyncio
import secrets
import sys
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Final

import flet as ft

from mobile import demo, theme
from mobile.app import App
from mobile.components.guarded import contain_events
from mobile.files import PickerFiles
from mobile.host import DesktopHost, Host
from mobile.storage.backend import OpenFolder
from mobile.storage.moving import taking_over
from mobile.storage.repository import Repository
from mobile.storage.store import open_repository
from mobile.storage.verdicts import read_verdicts
from mobile.store import Store
from mobile.texts.failed import TEXTS as FAILED
from mobile.validation import VALIDATION

HOUR_S: Final = 3600.0

IN_BROWSER = sys.platform == "emscripten"


def local_now() -> datetime:
    """Return the phone's time with its zone."""
    return datetime.now().astimezone()


def new_device_id() -> str:
    """Return a new name for a store: sixteen random characters."""
    return secrets.token_hex(8)


def new_id(what: str) -> str:
    """Return a new id of a system or of a procedure's run."""
    return f"{what}-{secrets.token_hex(4)}"


def this_host() -> Host:
    """Return the page, or its stand-in on a desktop."""
    if not IN_BROWSER:
        return DesktopHost()
    from mobile.browser.host import BrowserHost

    return BrowserHost()


def backends(base: str) -> list[OpenFolder]:
    """Return where records of the site below `base` may be kept, best first."""
    from mobile.storage.memory import memory_folder

    if not IN_BROWSER:
        from mobile.storage.file import disk_folder

        return [disk_folder(Path.home() / ".local" / "share" / "sumpside")]
    from mobile.browser.idb import idb_folder, shared_idb
    from mobile.browser.names import SHARED
    from mobile.browser.opfs import opfs_folder, shared_opfs

    opfs, idb = partial(opfs_folder, base), partial(idb_folder, base)
    if base == SHARED:
        return [opfs, idb, memory_folder]
    return [
        taking_over(opfs, shared_opfs, new_device_id),
        taking_over(idb, shared_idb, new_device_id),
        memory_folder,
    ]


async def open_kept(
    *, discard_unreadable: bool = False, base: str = "/", build_id: str = ""
) -> Repository:
    """Open the keeper's own records; or begin anew where nothing of them can be read.

    What a snapshot of the same build holds is not checked again; without a build id all of it is.
    """
    return await open_repository(
        *backends(base),
        new_device_id=new_device_id,
        discard_unreadable=discard_unreadable,
        checked_by=build_id,
        **VALIDATION,
    )


async def open_demo(now: datetime) -> Repository:
    """Open the demo in memory, its records moved to the present."""
    return await demo.open_demo(now, new_device_id)


def _on_page(page: ft.Page, work: Callable[[], None]) -> Callable[[], None]:
    """Return `work` as a callback for the host, which calls from outside any event of Flet."""

    async def run() -> None:
        work()

    def call() -> None:
        page.run_task(run)

    return call


async def decide_hourly(store: Store) -> None:
    """Keep a screen that is left awake from showing the advice of another day."""
    while True:
        await asyncio.sleep(HOUR_S)
        store.refresh_if_ready()


async def main(page: ft.Page) -> None:
    """Show the app on a page and open the records."""
    page.title = "Sumpside"
    page.theme = theme.theme(theme.CHALK)
    page.dark_theme = theme.theme(theme.SLATE)
    page.theme_mode = ft.ThemeMode.SYSTEM
    host = this_host()
    files = PickerFiles()
    store = Store(
        clock=local_now,
        local=datetime.astimezone,
        host=host,
        open_repository=partial(
            open_kept, base=host.base_url, build_id=host.build_id if IN_BROWSER else ""
        ),
        open_demo=open_demo,
        new_id=new_id,
        navigate=page.navigate,
        files=files,
        read_verdicts=lambda: read_verdicts(*backends(host.base_url)),
    )
    files.attach(page, {"records": store.transfer.picked, "table": store.tables.picked})
    host.on_update_ready(_on_page(page, store.version.found))
    host.on_visible(_on_page(page, store.refresh_if_ready))
    host.on_visible(lambda: page.run_task(store.windows.wake) and None)
    host.on_window(lambda word: page.run_task(store.windows.heard, word) and None)
    host.on_recalled(lambda: page.run_task(store.hear_recall) and None)
    host.on_incident(_on_page(page, lambda: store.go("/incident")))
    contain_events(page.session, lambda: store.say("danger", FAILED["tap_failed"]))
    page.render_views(App, store)
    await store.start()
    page.run_task(decide_hourly, store)


if __name__ == "__main__":
    if IN_BROWSER:
        ft.run(main)
    else:
        options = argparse.ArgumentParser()
        options.add_argument("--host-port", type=int, default=8738)
        port = options.parse_args().host_port
        ft.run(main, view=ft.AppView.WEB_BROWSER, port=port, host="127.0.0.1")
