"""Help: safety, what the numbers rest on, what is not modelled."""

import flet as ft

from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.texts import help as words


@ft.component
@guarded
def Help() -> ft.Control:
    """Return the page, safety first."""
    store = use_store()
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
        basics.paragraph(words.VERSION.format(build=store.version.build_id()), quiet=True),
    )
