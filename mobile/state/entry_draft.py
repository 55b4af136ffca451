"""An open entry as a value: what was typed and taken so far, and what a tap makes of it. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Final

from engine.entry.suggestions import Suggestion
from mobile.state.form_parts import Form

ERASE: Final = "erase"  # the keypad's key that takes the last sign away
LONGEST_TYPED: Final = 9
_SIGNS: Final = ".:"


@dataclass(frozen=True, slots=True)
class Draft:
    """What has been typed and taken so far."""

    form: str
    texts: Mapping[str, str] = field(default_factory=dict[str, str])
    units: Mapping[str, str] = field(default_factory=dict[str, str])
    answers: Mapping[str, str] = field(default_factory=dict[str, str])
    active: str = ""
    earlier: timedelta = timedelta(0)
    words: str = ""
    at: datetime | None = None  # fixed when an old record is amended
    amends: str = ""  # that record's id
    when: str = ""  # its time as typed
    lot: str = ""  # the bottle of reagent, and who tested, beside a test
    tester: str = ""


def opened(form: Form, units: Mapping[str, str], lot: str = "", tester: str = "") -> Draft:
    """Return an empty draft of a form; units (by field), bottle and tester as last used."""
    return Draft(
        form=form.key,
        units={
            f.key: units[f.key] if units.get(f.key) in f.units else f.units[0] for f in form.fields
        },
        answers={choice.key: choice.options[0] if choice.preset else "" for choice in form.choices},
        active=form.fields[0].key if form.fields else "",
        lot=lot,
        tester=tester,
    )


def press_text(typed: str, key: str) -> str:
    """Return a typed number after a key of the keypad."""
    if key == ERASE:
        return typed[:-1]
    is_sign = key in _SIGNS
    if (is_sign and any(sign in typed for sign in _SIGNS)) or len(typed) >= LONGEST_TYPED:
        return typed
    return ("0" + key) if is_sign and not typed else typed + key


def press(draft: Draft, key: str) -> Draft:
    """Return the draft after a key of the keypad."""
    typed = press_text(draft.texts.get(draft.active, ""), key)
    return replace(draft, texts={**draft.texts, draft.active: typed})


def with_unit(draft: Draft, field_key: str, unit: str) -> Draft:
    """Return the draft with another unit for a field; the digits stay."""
    return replace(draft, units={**draft.units, field_key: unit}, active=field_key)


def with_answer(draft: Draft, choice: str, option: str) -> Draft:
    """Return the draft with an option taken."""
    return replace(draft, answers={**draft.answers, choice: option})


def moved_back(draft: Draft, step: timedelta) -> Draft:
    """Return the draft with its time moved into the past, or back to now by a zero step."""
    return replace(draft, earlier=draft.earlier + step if step else timedelta(0))


def activated(draft: Draft, field_key: str) -> Draft:
    """Return the draft with another field under the keypad."""
    return replace(draft, active=field_key)


def ago(span: timedelta) -> str:
    """Return a span into the past in words."""
    minutes = round(span.total_seconds() / 60.0)
    whole_days, rest = divmod(minutes, 24 * 60)
    whole_hours, rest = divmod(rest, 60)
    parts = [
        f"{whole_days} d" if whole_days else "",
        f"{whole_hours} h" if whole_hours else "",
        f"{rest} min" if rest else "",
    ]
    return " ".join(part for part in parts if part) + " ago"


def taken(draft: Draft, field_key: str, suggestion: Suggestion) -> Draft:
    """Return the draft after a suggestion for the same field was taken."""
    return replace(
        draft,
        texts={**draft.texts, field_key: suggestion.text},
        units={**draft.units, field_key: suggestion.unit},
    )
