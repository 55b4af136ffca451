"""Setup's pages about the store: where records are and a check of all of them; erasing."""

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.components.once import use_once
from mobile.state.erasing import choices, sure_lines
from mobile.state.storage_lines import check_lines, storage_sections
from mobile.texts.setup import TEXTS as SETUP
from mobile.texts.storage_page import TEXTS


@ft.component
@guarded
def StoragePage() -> ft.Control:
    """Return where the records are, how safe they are, and the self-check."""
    store = use_store()
    snapshot = store.snapshot
    back = basics.side_button(TEXTS["back"], lambda _event: store.go("/setup"), key="back")
    if snapshot.demo:
        return basics.column(basics.paragraph(SETUP["records_in_demo"]), back)
    checked = check_lines(snapshot)
    return basics.column(
        basics.heading(TEXTS["title"]),
        *(
            basics.column(
                basics.heading(heading, level=2),
                *(basics.state_line(tone, text) for tone, text in lines),
                spacing=8,
            )
            for heading, lines in storage_sections(snapshot)
        ),
        basics.paragraph(TEXTS["check_about"], quiet=True),
        basics.main_button(
            TEXTS["checking" if snapshot.storage.checking else "check"],
            basics.does(store.upkeep.check),
            key="check",
            disabled=snapshot.storage.checking,
        ),
        basics.sheet(
            *(basics.state_line(tone, text, key="check-line") for tone, text in checked),
            edge=theme.ACCENT,
            key="check-result",
        )
        if checked
        else None,
        basics.side_button(SETUP["export"], basics.does(store.transfer.export), key="export"),
        back,
    )


@ft.component
@guarded
def ErasePage() -> ft.Control:
    """Return the two steps of erasing: what, with the export offered first; then the sentence."""
    store = use_store()
    snapshot = store.snapshot
    picked, set_picked = ft.use_state("")
    once = use_once()
    back = basics.side_button(TEXTS["leave"], lambda _event: store.go("/setup"), key="leave")
    if snapshot.demo or snapshot.storage.blocked:
        key = "records_in_demo"
        said = SETUP[key] if snapshot.demo else TEXTS["erase_read_only"]
        return basics.column(basics.paragraph(said), back)
    offered = choices(snapshot)

    async def erase() -> bool:
        return await store.upkeep.erase(_system(picked))

    if picked in {key for key, _ in offered}:
        return basics.column(
            basics.heading(TEXTS["erase_title"]),
            *(
                basics.state_line(tone, text, key="sure-line")
                for tone, text in sure_lines(snapshot, _system(picked))
            ),
            basics.main_button(
                SETUP["export"], basics.does(store.transfer.export), key="export-first"
            ),
            basics.side_button(
                TEXTS["sure"], basics.does(once, erase), key="erase-sure", danger=True
            ),
            back,
        )
    return basics.column(
        basics.heading(TEXTS["erase_title"]),
        basics.state_line("warn", TEXTS["erase_about"]),
        basics.paragraph(TEXTS["erase_first"]),
        basics.main_button(SETUP["export"], basics.does(store.transfer.export), key="export-first"),
        basics.paragraph(TEXTS["erase_pick"], quiet=True),
        *(
            basics.side_button(
                label,
                lambda _event, key=key: set_picked(key),
                key=f"erase-{key}",
                danger=True,
            )
            for key, label in offered
        ),
        back,
    )


def _system(picked: str) -> str | None:
    return None if picked == "all" else picked.removeprefix("system-")
