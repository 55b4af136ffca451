"""What stands on every screen where the records could not be opened, and the way out of it."""

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.failed_panel import copy_report
from mobile.components.guarded import guarded
from mobile.state.boundary import last, tried
from mobile.state.failed import age_of, stands
from mobile.store import Store
from mobile.texts.app import TEXTS
from mobile.texts.failed import TEXTS as FAILED


@ft.component
@guarded
def NotOpened() -> ft.Control:
    """Return why, and in two steps the offer to begin anew where nothing can be read."""
    store = use_store()
    asking, set_asking = ft.use_state(False)
    snapshot = store.snapshot
    why = basics.state_line("danger", snapshot.not_opened, key="not-opened")
    if not snapshot.may_begin_anew:
        return basics.column(why, *_meanwhile(store))
    if not asking:
        begin = basics.side_button(
            TEXTS["begin_anew"], lambda _event: set_asking(True), key="begin-anew", danger=True
        )
        return basics.column(why, *_meanwhile(store), begin)
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


def _meanwhile(store: Store) -> list[ft.Control]:
    """Return what stands of the last decision while the records cannot be read."""
    verdict = store.snapshot.verdict
    age = tried("panel", lambda: age_of(verdict, store.snapshot.now), "")
    return [
        basics.lead(stands(verdict), key="failed-lead"),
        *([basics.paragraph(age)] if age else []),
        basics.side_button(FAILED["card"], store.open_emergency, key="failed-card", danger=True),
        *(copy_report(store) if last else []),
    ]
