"""The state of an open set-up page: what is typed over the answers so far. Pure."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from engine.entry.checks import Refused
from engine.entry.fields import Amount, DoubtfulAmount, read_amount, read_text
from engine.entry.numbers import EntryFault
from mobile.state.entry_draft import press_text
from mobile.state.faults import fault_sentence
from mobile.state.setup_asks import Ask, Page
from mobile.state.setup_checks import doubts, problems
from mobile.texts.setup import TEXTS

# What a tap on the emergency card can dial: two to fifteen digits (ITU-T E.164), nothing else.
_DIALLED: Final = re.compile(r"\+?[ ()./-]*(?:[0-9][ ()./-]*){2,15}")


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers before this page, and what is being typed on it."""

    before: Mapping[str, Any]
    texts: Mapping[str, str] = field(default_factory=dict[str, str])
    units: Mapping[str, str] = field(default_factory=dict[str, str])
    active: str = ""
    faults: tuple[str, ...] = ()
    asked_back: tuple[str, ...] = ()  # what was said of unusual answers: going on keeps them

    def unit(self, ask: Ask) -> str:
        """Return the unit in which a number is being typed."""
        return self.units.get(ask.key, ask.units[0])


def opened(page: Page, before: Mapping[str, Any]) -> Answers:
    """Return the page as it opens."""
    first = next((ask.key for ask in numbers(page, before) if before.get(ask.key) is None), "")
    return Answers(before, active=first)


def numbers(page: Page, before: Mapping[str, Any]) -> tuple[Ask, ...]:
    """Return the numbers that matter on a page."""
    return tuple(ask for ask in page.asks if ask.is_number and ask.matters(before))


def pressed(answers: Answers, key: str) -> Answers:
    """Return the answers after a key of the keypad."""
    typed = press_text(answers.texts.get(answers.active, ""), key)
    return replace(answers, texts={**answers.texts, answers.active: typed}, faults=())


def activated(answers: Answers, ask: Ask) -> Answers:
    """Return the answers with another number under the keypad."""
    return replace(answers, active=ask.key)


def cleared(answers: Answers, ask: Ask) -> Answers:
    """Return the answers with a number taken away."""
    texts = {key: text for key, text in answers.texts.items() if key != ask.key}
    return replace(answers, texts=texts, before={**answers.before, ask.key: None}, faults=())


def with_unit(answers: Answers, ask: Ask, unit: str) -> Answers:
    """Return the answers with another unit for a number."""
    return replace(answers, units={**answers.units, ask.key: unit})


def with_option(answers: Answers, ask: Ask, option: str) -> Answers:
    """Return the answers with an option taken."""
    return replace(answers, before={**answers.before, ask.key: option}, faults=())


def with_words(answers: Answers, ask: Ask, words: str) -> Answers:
    """Return the answers with a text changed."""
    return replace(answers, texts={**answers.texts, ask.key: words}, faults=())


def left(page: Page, answers: Answers) -> dict[str, Any]:
    """Return the answers with what is in order on this page, as when it is left by Back."""
    draft = dict(answers.before)
    for ask in page.asks:
        if not ask.options and ask.matters(draft):
            found = _read(ask, answers, draft.get(ask.key))
            draft[ask.key] = draft.get(ask.key) if isinstance(found, EntryFault) else found
    return draft


def taken(page: Page, answers: Answers, alkalinity_unit: str = "dKH") -> Answers:
    """Return the answers with this page read; `faults` say what is missing or not in order."""
    draft = dict(answers.before)
    faults: list[str] = []
    for ask in page.asks:
        if ask.options or not ask.matters(draft):
            continue
        found = _read(ask, answers, draft.get(ask.key))
        if found in (None, "") and ask.left_empty:
            found = ask.left_empty
        if isinstance(found, EntryFault):
            said = fault_sentence(
                found, answers.texts.get(ask.key, ""), _typed_unit(ask, answers), alkalinity_unit
            )
            faults.append(f"{ask.label}: {said}")
        elif found in (None, "") and not ask.optional:
            faults.append(TEXTS["needed"].format(what=ask.label))
        elif ask.key.startswith("phone_") and found and not _DIALLED.fullmatch(str(found)):
            faults.append(TEXTS["phone_one_number"].format(what=ask.label))
        else:
            draft[ask.key] = found
    faults += () if faults else problems(draft, (page,), alkalinity_unit)
    if faults:
        return replace(answers, faults=tuple(faults))
    given = {*answers.texts, *(ask.key for ask in page.asks if ask.options)}
    unusual = doubts(draft, given, alkalinity_unit)
    if set(unusual) <= set(answers.asked_back):
        return replace(answers, before=draft, faults=())
    return replace(answers, faults=unusual, asked_back=unusual)


def _typed_unit(ask: Ask, answers: Answers) -> str:
    return "" if ask.words else answers.unit(ask)


def _read(ask: Ask, answers: Answers, now: Any) -> Any:
    text = answers.texts.get(ask.key)
    if ask.words:
        return now if text is None else read_text(ask.entry, text)
    if not text:
        return now
    amount = read_amount(ask.entry, text, answers.unit(ask))
    match amount:
        case Amount():
            return amount.value
        case DoubtfulAmount():
            return amount.amount.value
        case Refused():
            return amount.fault
