"""A report of a failure that the keeper may hand on: versions, the error, the log without words.

It is a scenario file: `python -m engine FILE` works the same log out on another machine. What
people wrote is left out field by field; a text stays only where it is one of the app's own codes.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import datetime
from enum import StrEnum
from functools import cache
from typing import Any, Final, cast

from engine.chemistry.salts import COMPOUNDS
from engine.hazards.incident import ACTS
from engine.jobs.codes import Job
from engine.log.record_codec import to_dict
from engine.plan.happenings import HAPPENINGS as HAPPENED
from engine.records import SCHEMA_VERSION, Delivery, Reading, Record, Setup
from engine.scenario import FORMAT, VERSION
from engine.vocabulary import PARAMETERS
from mobile.procedures import all_procedures
from mobile.state.boundary import Failure
from mobile.state.form_makers import HAPPENINGS

MOST_RECORDS: Final = 2_000  # the newest ones; every set-up beside them
# What becomes of a text by its field; of a field that is not named here nothing is left.
_IDS: Final = ("id", "supersedes")
_LABELLED: Final = ("run", "reagent_lot", "tester")
_CODED: Final = (
    "parameter", "procedure", "step", "answer", "delivery", "flow", "act", "job", "what", "detail",
    "salt", "source",
)  # fmt: skip
_SAME: Final = {"system": "main", "name": "System"}
_HIDDEN: Final = "…"
_LEAST_HIDDEN: Final = 3
_LONGEST: Final = 400  # of a message; cut once its words are hidden, so that no half of one is left


def report(
    records: Sequence[Record], failures: Iterable[Failure], *, now: datetime, build: str
) -> str:
    """Return the report as the text of a scenario file.

    Parameters
    ----------
    records : sequence of Record
        Of one system, as written.
    failures : iterable of Failure
        What failed, oldest first; the message of each is cleared of the keeper's own words.
    now : datetime
        The moment to decide for.
    build : str
        The name of the running build.
    """
    kept = _newest(records)
    said = sorted(set(_words(kept)), key=len, reverse=True)
    about = [
        f"build {build}, records of version {SCHEMA_VERSION}, scenario of version {VERSION}",
        f"{len(kept)} of {len(records)} records",
        *(line for failure in failures for line in _told(failure, said)),
    ]
    bare = _Bare()
    found = {
        "format": FORMAT,
        "version": VERSION,
        "name": "Report",
        "about": "\n".join(about),
        "now": now.isoformat(),
        "records": [to_dict(bare.of(record)) for record in kept],
    }
    return json.dumps(found, ensure_ascii=False, separators=(",", ":"))


def _newest(records: Sequence[Record]) -> list[Record]:
    if len(records) <= MOST_RECORDS:
        return list(records)
    limit = sorted(record.at for record in records)[-MOST_RECORDS]
    return [record for record in records if record.at >= limit or isinstance(record, Setup)]


def _told(failure: Failure, said: Sequence[str]) -> Iterator[str]:
    message = failure.message
    for text in said:
        if len(text) >= _LEAST_HIDDEN:
            message = message.replace(text, _HIDDEN)
        else:  # within a word it would be found everywhere
            message = re.sub(rf"(?<!\w){re.escape(text)}(?!\w)", _HIDDEN, message)
    yield f"{failure.where}: {failure.kind}: {message[:_LONGEST]}"
    yield from failure.lines


@cache
def _codes() -> frozenset[str]:
    """Return every text that the app itself writes into a record."""
    own: set[str] = {"", "on", "off", "table", *PARAMETERS, *COMPOUNDS, *ACTS, *Job, *Delivery}
    own |= {text for pair in HAPPENINGS.values() for text in pair}
    own |= set(HAPPENED)
    for procedure in all_procedures():
        own |= set(_texts(procedure))
    return frozenset(str(text) for text in own)


def _texts(value: Any) -> Iterator[str]:
    """Yield every text in a value of dataclasses, sequences and mappings."""
    if isinstance(value, str):
        yield value
    elif is_dataclass(value):
        for field in fields(value):
            yield from _texts(getattr(value, field.name))
    elif isinstance(value, Mapping):
        for pair in cast("Mapping[Any, Any]", value).items():
            yield from _texts(pair)
    elif isinstance(value, (tuple, list, frozenset)):
        for item in cast("Iterable[Any]", value):
            yield from _texts(item)


def _words(records: Iterable[Record]) -> Iterator[str]:
    """Yield what people wrote into the records."""
    for text in _texts(tuple(records)):
        if text not in _codes() and not _is_number(text):
            yield text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


class _Bare:
    """Takes the words out of records; the same text becomes the same label throughout."""

    def __init__(self) -> None:
        self._labels: dict[tuple[str, str], str] = {}

    def of(self, record: Record) -> Record:
        """Return the record with its numbers, times and codes alone."""
        return cast("Record", self._bare(record))

    def _bare(self, value: Any) -> Any:
        if isinstance(value, StrEnum) or not (is_dataclass(value) or isinstance(value, tuple)):
            return value
        if isinstance(value, tuple):
            return tuple(self._bare(item) for item in cast("tuple[Any, ...]", value))
        owner = cast("Any", value)
        changed: dict[str, Any] = {}
        for field in fields(owner):
            old = getattr(owner, field.name)
            is_text = isinstance(old, str) and not isinstance(old, StrEnum)
            new = self._text(field.name, old) if is_text else self._bare(old)
            changed[field.name] = new
        if isinstance(owner, Reading):
            changed["typed"] = f"{owner.value:g}"
        return replace(owner, **changed)

    def _text(self, name: str, text: str) -> str:
        """Return what stands for a text: a code as it is, a name as a label, else nothing."""
        if name in _IDS:
            device, _, number = text.rpartition(":")
            own = number if number.isascii() and number.isdigit() else self._label("", text)
            return f"{self._label('device', device)}:{own}"
        if name in _LABELLED or (name == "parameter" and text not in PARAMETERS):
            return self._label(name, text)
        is_code = name in _CODED and (text in _codes() or (name == "answer" and _is_number(text)))
        return text if is_code else _SAME.get(name, "")

    def _label(self, kind: str, text: str) -> str:
        if not text:
            return ""
        count = sum(known == kind for known, _ in self._labels) + 1
        return self._labels.setdefault((kind, text), f"{kind}{count}")
