"""The bottle of reagent and the tester beside a test: kept from the last one, changed by a tap."""

from collections.abc import Callable
from dataclasses import replace

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.state.entry_draft import Draft
from mobile.state.record import new_bottle, testers
from mobile.texts.forms import TEXTS

Change = Callable[[Draft], None]


@ft.component
@guarded
def Bottle(draft: Draft, change: Change) -> ft.Control:
    """Return bottle and tester as last used, with the taps that change them."""
    store = use_store()
    shown, set_shown = ft.use_state(False)
    said = TEXTS["bottle_is"].format(
        lot=draft.lot or TEXTS["not_noted"], tester=draft.tester or TEXTS["not_noted"]
    )
    return basics.column(
        basics.paragraph(said, quiet=True, key="bottle"),
        basics.row(
            basics.choice_button(
                TEXTS["bottle_new"],
                taken=False,
                on_click=lambda _event: change(
                    replace(draft, lot=new_bottle(draft.lot, store.now()))
                ),
                key="bottle-new",
            ),
            basics.choice_button(
                TEXTS["bottle_other"],
                taken=False,
                on_click=lambda _event: set_shown(not shown),
                key="bottle-other",
            ),
        ),
        *(_written(draft, change, testers(store.snapshot)) if shown else []),
        spacing=8,
    )


def _written(draft: Draft, change: Change, known: tuple[str, ...]) -> list[ft.Control]:
    """Return who tested before, and both as words."""
    names = [(name, name) for name in known if name]
    before = basics.choices(
        names, draft.tester, lambda name: change(replace(draft, tester=name)), key="tester"
    )
    return [
        *([before] if names else []),
        _words("tester", draft.tester, lambda text: change(replace(draft, tester=text))),
        _words("lot", draft.lot, lambda text: change(replace(draft, lot=text))),
    ]


def _words(name: str, text: str, write: Callable[[str], None]) -> ft.Control:
    return ft.TextField(
        label=TEXTS[f"write_{name}"],
        value=text,
        text_size=theme.BODY,
        on_change=lambda event: write(event.control.value or ""),
        key=f"words-{name}",
    )
