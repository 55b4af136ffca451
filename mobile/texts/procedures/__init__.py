"""Sentences of the guided procedures, by the keys of the files in mobile/procedures.

A step's key is its act or question; `_note` adds why or how; `_<answer>` is the words of an answer,
`_<answer>_why` what follows from a refusing one.
"""

from typing import Final

from mobile.texts.procedures import care, checks, equipment, frame, gates, making, recharge
from mobile.texts.procedures.hazards import (
    CALLED_FOR_BY,
    DANGER,
    FIRST_AID,
    FIRST_AID_SOURCE,
    HAZARD_SOURCE,
    HAZARDS,
)

__all__ = [
    "CALLED_FOR_BY",
    "DANGER",
    "FIRST_AID",
    "FIRST_AID_SOURCE",
    "HAZARDS",
    "HAZARD_SOURCE",
    "TEXTS",
]

_PARTS: Final = (frame, gates, recharge, making, checks, care, equipment)
TEXTS: Final[dict[str, str]] = {key: words for part in _PARTS for key, words in part.TEXTS.items()}
