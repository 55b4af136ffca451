"""Parts of a running overdose that record something: the acts, the notes, and how it ends."""

from collections.abc import Callable
from typing import Any

import flet as ft

from engine.records import Incident, IncidentEvent
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.state.incident import Act, IncidentView
from mobile.store import Store
from mobile.texts.incident import TEXTS


@ft.component
@guarded
def Acts(view: IncidentView) -> ft.Control:
    """Return the acts: one tap ticks one off, with its time."""
    store = use_store()

    def tick(act: Act) -> basics.Handler:
        return basics.does(
            _happened, store, view.run, IncidentEvent.ACT_DONE, act.text.rstrip("."), act=act.key
        )

    return basics.column(
        basics.heading(TEXTS["acts_title"], level=2),
        *(
            basics.state_line("good", act.text, key=f"done-{act.key}")
            if act.done
            else basics.list_button(act.text, "", tick(act), key=f"act-{act.key}", to_tick=True)
            for act in view.acts
        ),
        spacing=theme.GAP,
    )


@ft.component
@guarded
def Notes(view: IncidentView) -> ft.Control:
    """Return the notes and a field for one more."""
    store = use_store()
    words, set_words = ft.use_state("")

    async def keep(_event: Any) -> None:
        text = words.strip()
        if text and await _happened(
            store, view.run, IncidentEvent.NOTED, TEXTS["note_saved"], note=text
        ):
            set_words("")

    def typed(event: Any) -> None:
        store.version.hold(held=True)
        set_words(event.control.value or "")

    return basics.column(
        basics.heading(TEXTS["notes_title"], level=2),
        *(basics.paragraph(text) for text in view.notes),
        ft.TextField(
            label=TEXTS["note_hint"],
            value=words,
            multiline=True,
            min_lines=2,
            max_lines=6,
            max_length=2000,
            text_size=theme.BODY,
            on_change=typed,
            key="incident-note",
        ),
        basics.side_button(TEXTS["note_save"], keep, key="keep-note"),
        spacing=10,
    )


@ft.component
@guarded
def End(view: IncidentView) -> ft.Control:
    """Return what ending it waits for, and the two answers that end it."""
    store = use_store()
    asking, set_asking = ft.use_state("")
    return basics.column(
        basics.heading(TEXTS["end_title"], level=2),
        basics.paragraph(TEXTS["end_rule"]),
        *([basics.paragraph(TEXTS["end_waits"])] if view.waits else []),
        *(basics.state_line("warn", text) for text in view.waits),
        *_answers(store, view, asking, set_asking),
        spacing=10,
    )


def _answers(
    store: Store, view: IncidentView, asking: str, set_asking: Callable[[Any], None]
) -> list[ft.Control]:
    if asking:
        event = IncidentEvent.ENDED if asking == "end" else IncidentEvent.NO_OVERDOSE
        said = TEXTS["ended" if asking == "end" else "was_none"]
        return [
            basics.sheet(
                basics.paragraph(TEXTS[f"{asking}_sure"]),
                basics.side_button(
                    TEXTS[f"{asking}_sure_yes"],
                    basics.does(_happened, store, view.run, event, said),
                    key="sure-yes",
                    danger=True,
                ),
                basics.side_button(
                    TEXTS["keep_running"], lambda _event: set_asking(""), key="sure-no"
                ),
                edge=theme.DANGER,
            )
        ]
    found: list[ft.Control] = []
    if not view.waits:
        found += [
            basics.paragraph(TEXTS["end_ask"]),
            basics.side_button(
                TEXTS["end_yes"], lambda _event: set_asking("end"), key="end-incident"
            ),
        ]
    found.append(
        basics.side_button(TEXTS["none_ask"], lambda _event: set_asking("none"), key="was-none")
    )
    return found


async def _happened(
    store: Store, run: str, event: IncidentEvent, said: str = "", **fields: str
) -> bool:
    record = store.make(Incident, {"run": run, "event": event, **fields})
    return await store.save([record], said)
