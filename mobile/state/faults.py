"""Why something typed is not taken, quoted exactly as it was typed."""

from typing import Final

from engine.entry.numbers import EntryFault
from mobile.state.sentences import number, sentence, unit_label
from mobile.texts.entry import TEXTS

_OF_THE_TYPED: Final = ("entry_outside_range", "entry_outside_expected")


def fault_sentence(fault: EntryFault, text: str, unit: str, alkalinity_unit: str) -> str:
    """Return the sentence of a fault; the value in it is the text, never a rounded number.

    A reading that was typed in another unit than it is compared in is quoted converted.
    """
    typed = f"{text.strip()} {unit_label(unit)}".strip()
    numbers = dict(fault.numbers)
    for key in [key for key in numbers if key.startswith("value_")]:
        shown = number(key, numbers[key], alkalinity_unit)
        if fault.code.startswith(_OF_THE_TYPED) or shown.endswith(f" {unit_label(unit)}"):
            numbers[key] = typed
    return sentence(TEXTS, fault.code, numbers, alkalinity_unit)
