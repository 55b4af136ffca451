"""The minder's sheet, as it will read, and the file of it."""

from collections.abc import Iterable

import flet as ft

from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.screens.plan import undecided
from mobile.state.minder import minder
from mobile.texts.jobs import TEXTS as JOBS
from mobile.texts.minder import TEXTS


@ft.component
@guarded
def Minder() -> ft.Control:
    """Return the sheet's page."""
    store = use_store()
    view = minder(store.snapshot)
    if store.snapshot.recalled:
        return undecided(store)
    if view is None:
        return undecided(store)
    return basics.column(
        basics.heading(TEXTS["page_minder"]),
        basics.paragraph(TEXTS["about"]),
        basics.main_button(TEXTS["save"], basics.does(store.papers.minder), key="save-minder"),
        basics.paragraph(TEXTS["save_about"], quiet=True),
        *([] if view.has_phones else _no_phones(lambda: store.go("/setup/safety"))),
        basics.sheet(
            basics.heading(view.title, level=2),
            basics.paragraph(view.made, quiet=True),
            *_part("normal_title", (f"{name}: {value}" for name, value in view.normal)),
            *_part("daily_title", view.daily),
            *_part("leave_title", view.leave),
            *_part("wait_title", view.wait),
            *_part("phones_title", (f"{whose}: {number}" for whose, number in view.phones)),
            *_part("emergency_title", (view.emergency_when, *_numbered(view.steps), view.bands)),
            *_part("never_title", view.never),
            *_part("eyes_title", _numbered(view.eyes)),
            *_part("skin_title", (*_numbered(view.skin), view.acid)),
            key="minder-sheet",
        ),
        basics.side_button(JOBS["back"], lambda _event: store.go("/jobs"), key="back"),
        spacing=16,
    )


def _no_phones(go: basics.Handler) -> list[ft.Control]:
    return [
        basics.state_line("warn", TEXTS["phones_missing"]),
        basics.side_button(
            TEXTS["set_phones"], lambda _event: go() if go else None, key="set-phones"
        ),
    ]


def _part(title: str, texts: Iterable[str]) -> list[ft.Control]:
    lines = [basics.paragraph(text) for text in texts]
    return basics.section(TEXTS[title], lines, level=3)


def _numbered(texts: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{place}. {text}" for place, text in enumerate(texts, start=1))
