"""What an entry form is made of: fields, choices, and how they make a record."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from engine.entry.fields import amount_units
from engine.records import Record, Setup
from engine.vocabulary import PARAMETERS
from mobile.texts.forms import TEXTS

_MANY_OPTIONS: Final = 5  # more push Save off the screen


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One number to type."""

    key: str  # a parameter's code, or our name of the number
    entry: str = ""  # "kind.field" of engine.records; empty for a parameter
    optional: bool = False

    @property
    def units(self) -> tuple[str, ...]:
        """The units it may be typed in, the usual one first."""
        return amount_units(self.entry) if self.entry else PARAMETERS[self.key].typed_units

    @property
    def label(self) -> str:
        """The words beside the figure."""
        return TEXTS[f"field_{self.key}"]


def numbers(record: type[Record], *keys: str, optional: tuple[str, ...] = ()) -> tuple[Field, ...]:
    """Return the fields for numbers of a record, those in `optional` last."""
    return tuple(
        Field(key=key, entry=f"{record.kind}.{key}", optional=key in optional)
        for key in (*keys, *optional)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of a few answers to take."""

    key: str
    options: tuple[str, ...]
    heads: tuple[tuple[str, str], ...] = ()  # (option, head of the group that it begins)
    preset: bool = True  # the first option is taken until another one is

    @property
    def label(self) -> str:
        """The question."""
        return TEXTS[f"choice_{self.key}"]

    def option_label(self, option: str) -> str:
        """Return the words of an option."""
        return TEXTS[f"option_{option}"]

    @property
    def folds(self) -> bool:
        """Whether the list makes way for the option taken, so that Save stays within reach."""
        return not self.preset and len(self.options) > _MANY_OPTIONS

    def groups(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Return the options under their heads; one group without a head where there are none."""
        found: list[tuple[str, list[str]]] = []
        for option in self.options:
            head = dict(self.heads).get(option)
            if head is not None or not found:
                found.append((TEXTS[f"head_{head}"] if head else "", []))
            found[-1][1].append(option)
        return tuple((head, tuple(options)) for head, options in found)


Values = Mapping[str, float]
Answers = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What a record may be reckoned with besides what is typed."""

    setup: Setup | None
    tank_meq_per_L: float | None  # the tank's alkalinity as last tested
    amended: Record | None = None  # what is being amended keeps what it was reckoned with
    most_evaporated_L_per_day: Callable[[], float | None] = lambda: None  # reckoned when asked


def as_typed(values: Values, _answers: Answers, _around: Around) -> dict[str, Any]:
    """Return the numbers as they are: each field is one of the record's own."""
    return dict(values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One kind of entry."""

    key: str
    record: type[Record]
    fields: tuple[Field, ...] = ()
    choices: tuple[Choice, ...] = ()
    # May raise an `EngineError`: its code names the sentence, TEXTS["not_worked_out"] without one.
    make: Callable[[Values, Answers, Around], dict[str, Any]] = as_typed
    recall: Callable[[Any], dict[str, str]] = lambda _record: {}  # a record's answers, to amend it
    fits: Callable[[Any], bool] = lambda _record: True  # of the forms of one kind of record
    words: bool = False  # takes a text instead of numbers
    bottle: bool = False  # a test by reagents: bottle and tester are noted beside it

    @property
    def title(self) -> str:
        """The name of the entry."""
        return TEXTS[f"form_{self.key}"]
