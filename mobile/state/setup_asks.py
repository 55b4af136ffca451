"""What a set-up page is made of: questions as data, one for each field."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from engine.entry.fields import amount_units, is_clock
from mobile.texts.setup import TEXTS

Draft = Mapping[str, Any]  # field of Setup -> value in the field's own unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One number, text or choice of a page, for one field of `Setup`."""

    key: str
    options: tuple[str, ...] = ()
    stored: Mapping[str, Any] = field(
        default_factory=dict[str, Any], hash=False
    )  # option -> field's value
    words: bool = False
    optional: bool = False
    only: tuple[str, tuple[str, ...]] | None = None  # (field, values) that make it matter
    of: str = "setup"  # the kind of record whose field it is

    @property
    def entry(self) -> str:
        """The name under which engine.entry.fields knows the number."""
        return f"{self.of}.{self.key}"

    @property
    def units(self) -> tuple[str, ...]:
        """The units that the number may be typed in."""
        return amount_units(self.entry)

    @property
    def is_number(self) -> bool:
        """Whether it is typed with the keypad."""
        return not self.options and not self.words

    @property
    def is_clock(self) -> bool:
        """Whether it is a time of day."""
        return self.is_number and is_clock(self.entry)

    @property
    def label(self) -> str:
        """The question."""
        return TEXTS[f"field_{self.key}"]

    @property
    def hint(self) -> str:
        """A second line, empty when there is none."""
        return TEXTS.get(f"hint_{self.key}", "")

    @property
    def left_empty(self) -> str:
        """The words that stand where a text is left empty; empty where none do."""
        return TEXTS.get(f"empty_{self.key}", "")

    @property
    def may_clear(self) -> bool:
        """Whether a number given once can be taken away again."""
        return self.optional and self.is_number

    def matters(self, draft: Draft) -> bool:
        """Return whether the answers so far make this one matter."""
        return self.only is None or draft.get(self.only[0]) in self.only[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A few questions that belong together."""

    key: str
    asks: tuple[Ask, ...]
    first_run: bool = True
    in_setup: bool = True  # what is set at the start is changed by recording it
    tool: str = ""  # the path of a guided entry that finds an answer of the page

    @property
    def title(self) -> str:
        """The page's title."""
        return TEXTS[f"page_{self.key}"]

    @property
    def about(self) -> str:
        """Why it is asked."""
        return TEXTS[f"about_{self.key}"]


def chosen(key: str, stored: Mapping[str, Any], **more: Any) -> Ask:
    """Return a question with a few answers, each standing for a value of the field."""
    return Ask(key=key, options=tuple(stored), stored=stored, **more)


YES_NO: Final = {"no": False, "yes": True}
MONTH_UNKNOWN: Final = "month_unknown"
MONTHS: Final = {MONTH_UNKNOWN: None, **{f"month_{number}": number for number in range(1, 13)}}
