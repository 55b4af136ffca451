"""An overdose as it goes: one record for its beginning, each act, each note and its end.

Readings taken meanwhile are ordinary water tests, water changed an ordinary water change.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from engine.log.record_base import Record, text


class IncidentEvent(StrEnum):
    """What happened in a running incident."""

    STARTED = "started"
    ACT_DONE = "act_done"
    NOTED = "noted"  # the record's note says what
    ENDED = "ended"  # the fault was found and mended; the keeper said so
    NO_OVERDOSE = "no_overdose"  # it was none: begun by mistake, or a drill


@dataclass(frozen=True, slots=True, kw_only=True)
class Incident(Record):
    """One moment of an incident; what ends one names its own run."""

    kind: ClassVar[str] = "incident"

    run: str = text(80)
    event: IncidentEvent
    act: str = text(40, default="")  # a key of `engine.hazards.incident.ACTS`
