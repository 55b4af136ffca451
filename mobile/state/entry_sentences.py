"""What an entry is told with: a number as typed, a suggestion's button, a fault's sentence."""

from collections.abc import Sequence

from engine.entry.checks import unit_suffix
from engine.entry.numbers import EntryFault
from engine.entry.suggestions import Suggestion
from engine.vocabulary import PARAMETERS
from mobile.state.form_parts import Field
from mobile.state.sentences import number, sentence, unit_label
from mobile.texts.entry import TEXTS
from mobile.texts.forms import TEXTS as WORDS


def labelled(
    item: Field, suggestions: Sequence[Suggestion], alkalinity_unit: str
) -> tuple[tuple[str, Suggestion], ...]:
    """Return the suggestions for a field, each with the words of its button."""
    return tuple((_suggestion_label(item, s, alkalinity_unit), s) for s in suggestions)


def _suggestion_label(item: Field, suggestion: Suggestion, alkalinity_unit: str) -> str:
    typed = shown(suggestion.text, suggestion.unit)
    if suggestion.parameter != item.key:
        return f"{WORDS[f'field_{suggestion.parameter}']} {typed}".strip()
    parameter = PARAMETERS[suggestion.parameter]
    suffix = unit_suffix(parameter)
    usual = alkalinity_unit if suffix == "meq_per_L" else parameter.typed_units[0]
    if suggestion.unit == usual:
        return typed
    return f"{typed} = {number(f'value_{suffix}', suggestion.reading.value, alkalinity_unit)}"


def shown(text: str, unit: str) -> str:
    """Return a number as it was typed, with its unit."""
    return f"{text} {unit_label(unit)}".strip()


def said(fault: EntryFault) -> str:
    """Return the sentence of a fault or remark."""
    return sentence(TEXTS, fault.code, fault.numbers)
