"""The pad on which one entry is typed and saved: figures, units, keypad, choices, time."""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import Any

import flet as ft

from engine.entry.suggestions import Suggestion
from engine.records import Record
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.figure import figure
from mobile.components.guarded import guarded
from mobile.components.keypad import keypad
from mobile.components.once import Once, use_once
from mobile.screens.bottle import Bottle
from mobile.state import amend, entry, entry_draft
from mobile.state.form_parts import Choice, Field, Form
from mobile.state.forms import FORMS
from mobile.state.record import meter_drift
from mobile.store import Store
from mobile.texts.forms import TEXTS
from mobile.texts.history import TEXTS as HISTORY

Write = Callable[[Record, str], Awaitable[bool]]


@dataclass(frozen=True, slots=True)
class _Page:
    """The page's own state: the draft, what was found, what was confirmed."""

    draft: entry_draft.Draft
    finding: entry.Finding | None = None
    confirmed: frozenset[str] = field(default_factory=frozenset[str])


@dataclass(frozen=True, slots=True)
class _Acts:
    """What can be done on the page."""

    store: Store
    form: Form
    page: _Page
    set_page: Callable[[Any], None]
    write: Write
    once: Once
    original: amend.Original | None

    def change(self, draft: entry_draft.Draft) -> None:
        self.store.version.hold(held=True)
        self.set_page(_Page(draft))

    async def save(
        self, draft: entry_draft.Draft | None = None, confirmed: frozenset[str] | None = None
    ) -> bool:
        draft = draft or self.page.draft
        confirmed = self.page.confirmed if confirmed is None else confirmed
        found = self._judged(draft, confirmed)
        if isinstance(found, entry.Finding):
            self.set_page(_Page(draft, found, confirmed))
            return False
        return await self._put(self.form, found)

    def _judged(
        self, draft: entry_draft.Draft, confirmed: frozenset[str]
    ) -> entry.Ready | entry.Finding:
        snapshot = self.store.snapshot
        against: dict[str, Any] = {
            "standing": snapshot.standing,
            "now": self.store.now(),
            "confirmed": confirmed,
            "alkalinity_unit": snapshot.alkalinity_unit,
            "setup": snapshot.setup,
        }
        if self.original is not None:
            return amend.check(self.original, draft, **against)
        return entry.check(self.form, draft, **against)

    async def _put(self, form: Form, ready: entry.Ready) -> bool:
        if self.original is None:
            record = self.store.make(form.record, ready.fields, ready.at)
        else:
            record = self.store.remake(self.original.record, ready.fields, ready.at)
        return await self.write(record, entry.told(ready))

    async def take(self, field_key: str, suggestion: Suggestion) -> bool:
        draft = self.page.draft
        if suggestion.parameter == field_key:
            return await self.save(entry_draft.taken(draft, field_key, suggestion))
        at = draft.at or self.store.now() - draft.earlier
        ready = entry.reading_ready(suggestion.reading, at)
        return await self._put(FORMS[suggestion.parameter], ready)


@ft.component
@guarded
def EntryPad(
    form: Form,
    start: entry_draft.Draft,
    write: Write,
    back: str,
    original: amend.Original | None = None,
) -> ft.Control:
    """Return an open entry: figures, units, keypad, save; over `original` where it amends one."""
    store = use_store()
    page, set_page = ft.use_state(_Page(start))
    acts = _Acts(store, form, page, set_page, write, use_once(), original)
    drift = meter_drift(store.snapshot, form)
    return basics.column(
        basics.heading(form.title),
        basics.state_line("warn", drift, key="meter-drift") if drift else None,
        _finding(acts, page.finding) if page.finding else None,
        *(control for item in form.fields for control in _with_keys(acts, item)),
        *_choices(acts),
        _words(acts) if form.words else None,
        basics.main_button(
            TEXTS["save"],
            basics.does(acts.once, acts.save),
            key="save",
            disabled=store.snapshot.saving,
        ),
        _time(acts) if original is None else _when(acts),
        Bottle(page.draft, acts.change, key="bottle-and-tester") if form.bottle else None,
        basics.side_button(TEXTS["cancel"], lambda _event: store.go(back), key="cancel"),
    )


def _with_keys(acts: _Acts, item: Field) -> list[ft.Control]:
    """Return a field, with the keypad right below the one that it fills."""
    draft = acts.page.draft
    controls = [_figure(acts, item)]
    if item.key == draft.active:
        controls.append(keypad(lambda name: acts.change(entry_draft.press(draft, name))))
    return controls


def _figure(acts: _Acts, item: Field) -> ft.Control:
    draft = acts.page.draft
    optional = f" ({TEXTS['optional']})" if item.optional else ""
    return figure(
        key=item.key,
        label=item.label + optional,
        typed=draft.texts.get(item.key, ""),
        instead="–",
        units=item.units,
        unit=draft.units[item.key],
        active=draft.active == item.key,
        large=len(acts.form.fields) == 1,
        activate=lambda: acts.change(entry_draft.activated(draft, item.key)),
        choose_unit=lambda unit: acts.change(entry_draft.with_unit(draft, item.key, unit)),
    )


def _words(acts: _Acts) -> ft.Control:
    draft = acts.page.draft
    return ft.TextField(
        label=TEXTS["note_hint"],
        value=draft.words,
        multiline=True,
        min_lines=4,
        max_lines=10,
        text_size=theme.BODY,
        on_change=lambda event: acts.change(replace(draft, words=event.control.value or "")),
        key="words",
    )


def _choices(acts: _Acts) -> list[ft.Control]:
    return [
        basics.column(
            basics.paragraph(choice.label, quiet=True),
            *(_folded(acts, choice) or _unfolded(acts, choice)),
            spacing=6,
        )
        for choice in acts.form.choices
    ]


def _folded(acts: _Acts, choice: Choice) -> list[ft.Control]:
    """Return the option taken and a way back to the others; nothing while the list is open."""
    draft = acts.page.draft
    taken = draft.answers[choice.key]
    if not choice.folds or taken not in choice.options:
        return []
    return [
        basics.choice_button(
            choice.option_label(taken), taken=True, on_click=None, key=f"{choice.key}-{taken}"
        ),
        basics.quiet_button(
            TEXTS["another_option"],
            lambda _event: acts.change(entry_draft.with_answer(draft, choice.key, "")),
            key=f"{choice.key}-another",
        ),
    ]


def _unfolded(acts: _Acts, choice: Choice) -> list[ft.Control | None]:
    return [control for group in choice.groups() for control in _group(acts, choice, *group)]


def _group(
    acts: _Acts, choice: Choice, head: str, options: tuple[str, ...]
) -> list[ft.Control | None]:
    draft = acts.page.draft
    return [
        basics.heading(head, level=2) if head else None,
        basics.choices(
            [(option, choice.option_label(option)) for option in options],
            draft.answers[choice.key],
            lambda option: acts.change(entry_draft.with_answer(draft, choice.key, option)),
            key=choice.key,
        ),
    ]


def _finding(acts: _Acts, finding: entry.Finding) -> ft.Control:
    tone = "warn" if finding.keep_label or finding.suggestions else "danger"
    ways: list[ft.Control] = []
    if finding.suggestions:
        ways.append(basics.paragraph(TEXTS["meant_title"]))
    ways += [
        basics.side_button(
            label,
            basics.does(acts.once, acts.take, finding.field, suggestion),
            key=f"meant-{index}",
        )
        for index, (label, suggestion) in enumerate(finding.suggestions)
    ]
    if finding.keep_label:
        kept = acts.page.confirmed | {finding.field}
        ways.append(
            basics.side_button(
                finding.keep_label,
                basics.does(acts.once, acts.save, None, kept),
                key="keep",
            )
        )
    said = [basics.state_line(tone, text, key="finding") for text in finding.sentences]
    return basics.sheet(*said, *ways, edge=theme.WARN, key="finding-sheet")


def _when(acts: _Acts) -> ft.Control:
    draft = acts.page.draft
    return ft.TextField(
        label=HISTORY["when"],
        value=draft.when,
        text_size=theme.BODY,
        on_change=lambda event: acts.change(replace(draft, when=event.control.value or "")),
        key="when-words",
    )


_STEPS = (
    ("when_quarter", timedelta(minutes=15)),
    ("when_hour", timedelta(hours=1)),
    ("when_day", timedelta(days=1)),
    ("when_reset", timedelta(0)),
)


def _time(acts: _Acts) -> ft.Control:
    draft = acts.page.draft
    said = entry_draft.ago(draft.earlier) if draft.earlier else TEXTS["when_now"]
    steps = _STEPS if draft.earlier else _STEPS[:-1]
    return basics.column(
        basics.paragraph(f"{TEXTS['when']}: {said}", quiet=True, key="when"),
        basics.row(
            *(
                basics.choice_button(
                    TEXTS[name],
                    taken=False,
                    on_click=lambda _event, step=step: acts.change(
                        entry_draft.moved_back(draft, step)
                    ),
                    key=name,
                )
                for name, step in steps
            )
        ),
        spacing=6,
    )
