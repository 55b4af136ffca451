"""What stands on every screen where the records could not be opened, and the way out of it."""

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.texts.app import TEXTS


@ft.component
@guarded
def NotOpened() -> ft.Control:
    """Return why, and in two steps the offer to begin anew where nothing can be read."""
    store = use_store()
    asking, set_asking = ft.use_state(False)
    snapshot = store.snapshot
    why = basics.state_line("danger", snapshot.not_opened, key="not-opened")
    if not snapshot.may_begin_anew:
        return why
    if not asking:
        begin = basics.side_button(
            TEXTS["begin_anew"], lambda _event: set_asking(True), key="begin-anew", danger=True
        )
        return basics.column(why, begin)
    return basics.column(
        why,
        basics.sheet(
            basics.paragraph(TEXTS["begin_anew_about"]),
            basics.side_button(
                TEXTS["begin_anew_sure"], store.begin_anew, key="begin-anew-sure", danger=True
            ),
            basics.side_button(
                TEXTS["begin_anew_not"], lambda _event: set_asking(False), key="begin-anew-not"
            ),
            edge=theme.DANGER,
        ),
    )
