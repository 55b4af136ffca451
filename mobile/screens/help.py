"""Help: safety, what the numbers rest on, what is not modelled."""

import flet as ft

from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.failed_panel import copy_report
from mobile.components.guarded import guarded
from mobile.texts import help as words
from mobile.texts.failed import TEXTS as FAILED


@ft.component
@guarded
def Help() -> ft.Control:
    """Return the page, safety first."""
    store = use_store()
    made, set_made = ft.use_state(False)
    make = basics.side_button(
        FAILED["prepare"], lambda _event: set_made(True), key="prepare-report"
    )
    return basics.column(
        basics.heading(words.TITLE),
        basics.side_button(
            words.EMERGENCY, store.open_emergency, key="open-emergency", danger=True
        ),
        *(
            basics.sheet(
                basics.heading(title, level=2),
                *(basics.paragraph(paragraph) for paragraph in paragraphs),
            )
            for title, paragraphs in words.SECTIONS
        ),
        basics.paragraph(FAILED["prepare_about"], quiet=True),
        *(copy_report(store) if made else [make]),
        basics.paragraph(words.VERSION.format(build=store.version.build_id()), quiet=True),
    )
