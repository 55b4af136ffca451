"""What every event of the log carries, and how a field declares what it may hold.

Field names are the names on disk and in scenario files. Numbers are floats whose names carry the
unit. A range in the metadata is what can exist at all; whether a reading is *plausible* is asked at
entry (engine/entry/checks.py), never here, so that an accident can be recorded.
"""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, ClassVar

SCHEMA_VERSION = 2
# Years that a date of a keeper or of a phone can have.
EARLIEST_YEAR = 1990
LATEST_YEAR = 2199


def number(low: float, high: float, **options: Any) -> Any:
    """Declare a float that is finite and between two bounds, in the unit its name carries."""
    return field(metadata={"low": low, "high": high}, **options)


def text(longest: int, **options: Any) -> Any:
    """Declare a text of at most so many characters."""
    return field(metadata={"longest": longest}, **options)


KINDS: dict[str, type["Record"]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """What every event carries."""

    kind: ClassVar[str] = ""

    id: str = text(80)  # device:sequence
    at: datetime  # when it happened, with its zone
    recorded_at: datetime  # when it was entered, with its zone
    system: str = text(80)
    note: str = text(2000, default="")
    typed: str = text(300, default="")  # amounts as typed, with their units: "volume_L: 5 US gal"

    def __init_subclass__(cls, **options: Any) -> None:
        # A slots dataclass is created twice; the second, final class wins.
        super(Record, cls).__init_subclass__(**options)
        KINDS[cls.kind] = cls
