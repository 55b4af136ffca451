"""Export and import: one file of JSON lines, UTF-8, one record a line.

The first line is the header::

    {"format":"sumpside-records","version":1,"exported_at":"...","records":n,"sha256":"..."}

`records` counts the lines that follow; `sha256` is over their bytes, each line ending in one line
feed. Reading also takes a byte order mark, CR LF, empty lines and a missing last line feed. The
digest is over what the exporter wrote, so a program that changed only these does not break it.

An export has no size that the import refuses: a file may have the lines that its header names and
MAX_IMPORT_LINES more. What is not ours is bounded by its first line, each line by its length.

An import is looked at first: `read_import` sorts the lines without changing anything, and the
repository applies the result whole or not at all. It is a union by record id: applied twice it is
once, in any order. The same id with another content is a conflict: both are kept.
"""

import asyncio
import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice
from typing import Any, Final, cast

from mobile.storage.batch import encode_text
from mobile.storage.problems import Problem
from mobile.storage.restore import Door, Refusal, canonical, parse_line

FORMAT: Final = "sumpside-records"
VERSION: Final = 1
MAX_IMPORT_BYTES: Final = 1 << 25
MAX_IMPORT_LINES: Final = 200_000
MAX_REJECTED_SHOWN: Final = 200
_LINES_AT_ONCE: Final = 200
_EXPORTED_AT_ONCE: Final = 1000
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"

# Findings that a person may overrule: the sound lines of a damaged backup are worth having.
DAMAGE: Final = frozenset({"import_checksum", "import_count", "import_records_rejected"})


@dataclass(frozen=True, slots=True, kw_only=True)
class RejectedLine:
    """A line that did not pass the door."""

    line: int
    text: str  # its first characters, printable
    problem: Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportPreview:
    """What an import would do, before it does anything.

    Attributes
    ----------
    new : tuple of dict
        Records whose ids are not here yet.
    conflicting : tuple of dict
        Records whose id is here (or earlier in the file) with another content.
    same : int
        Records that are here already, or stand twice in the file.
    rejected : tuple of RejectedLine
        The first MAX_REJECTED_SHOWN lines refused; `rejected_count` counts all.
    problems : tuple of Problem
        Of the file as a whole.
    exported_at : str
        What the header says; empty when there is none.
    """

    new: tuple[dict[str, Any], ...] = ()
    conflicting: tuple[dict[str, Any], ...] = ()
    same: int = 0
    rejected: tuple[RejectedLine, ...] = ()
    rejected_count: int = 0
    problems: tuple[Problem, ...] = ()
    exported_at: str = ""

    @property
    def refusal(self) -> Problem | None:
        """Why it cannot be applied whatever the person says, or None."""
        return next((problem for problem in self.problems if problem.code not in DAMAGE), None)

    @property
    def is_damaged(self) -> bool:
        """Whether the person must agree to import what is left of a damaged file."""
        return any(problem.code in DAMAGE for problem in self.problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportResult:
    """What an import did."""

    added: int
    conflicts: int
    same: int


def export_bytes(records: Iterable[Mapping[str, Any]], exported_at: datetime) -> bytes:
    """Return the export file.

    Parameters
    ----------
    records : iterable of dict
        Every record, conflict and refused record, in this order; taken one by one.
    exported_at : datetime
        Aware.
    """
    digest, count = hashlib.sha256(), 0
    parts = [b""]  # the header's place
    rest = iter(records)
    while lines := [_line(record) for record in islice(rest, _EXPORTED_AT_ONCE)]:
        count += len(lines)
        parts.append(b"".join(lines))
        digest.update(parts[-1])
    header = {
        "format": FORMAT,
        "version": VERSION,
        "exported_at": exported_at.isoformat(),
        "records": count,
        "sha256": digest.hexdigest(),
    }
    parts[0] = _line(header)
    return b"".join(parts)


def _line(value: Mapping[str, Any]) -> bytes:
    """Return a line of the file; what was refused may hold what JSON or UTF-8 do not know."""
    try:
        return encode_text(value).encode() + b"\n"
    except ValueError:
        return json.dumps(value, separators=(",", ":")).encode() + b"\n"


Lookup = Callable[[str], Mapping[str, Any] | None]
Holds = Callable[[Mapping[str, Any]], bool]
Progress = Callable[[float], None]


@dataclass(slots=True, kw_only=True)
class _Reading:
    """An import being read."""

    door: Door
    stored: Lookup
    holds: Holds
    digest: Any = field(default_factory=hashlib.sha256)
    lines: int = 0
    new: dict[str, dict[str, Any]] = field(default_factory=dict[str, dict[str, Any]])
    conflicting: dict[str, dict[str, Any]] = field(default_factory=dict[str, dict[str, Any]])
    same: int = 0
    rejected: list[RejectedLine] = field(default_factory=list[RejectedLine])
    rejected_count: int = 0
    newest: Problem | None = None

    def take(self, number: int, line: bytes) -> None:
        """Sort one line of the body."""
        self.lines += 1
        self.digest.update(line + b"\n")
        try:
            self._sort(self.door.admit(parse_line(line)))
        except Refusal as refusal:
            self._reject(number, line, refusal.problem)

    def _sort(self, record: dict[str, Any]) -> None:
        text = canonical(record)
        earlier = self.new.get(record["id"]) or self.stored(record["id"])
        if self.holds(record) or text in self.conflicting:
            self.same += 1
        elif earlier is None:
            self.new[record["id"]] = record
        elif canonical(earlier) == text:
            self.same += 1
        else:
            self.conflicting[text] = record

    def _reject(self, number: int, line: bytes, problem: Problem) -> None:
        self.rejected_count += 1
        if problem.code == "record_newer":
            self.newest = problem
        if len(self.rejected) < MAX_REJECTED_SHOWN:
            text = "".join(
                char if char.isprintable() else "\N{REPLACEMENT CHARACTER}"
                for char in line[:160].decode("utf-8", "replace")
            )
            self.rejected.append(RejectedLine(line=number, text=text, problem=problem))


async def read_import(
    data: bytes,
    *,
    door: Door,
    stored: Lookup,
    holds: Holds,
    on_progress: Progress | None = None,
) -> ImportPreview:
    """Read an export file and say what applying it would do; changes nothing, raises nothing.

    Parameters
    ----------
    data : bytes
        The file, with at most MAX_IMPORT_LINES lines more than its header names.
    door : Door
        What each record passes.
    stored, holds : callable
        The record of an id, and whether this very content is here (as a record or a conflict).
    on_progress : callable, optional
        Called with the share read, 0 to 1; other tasks run between the calls.
    """
    lines = _lines(data)
    header = _read_header(next(lines, (0, 0, b""))[2])
    if isinstance(header, Problem):
        too_large = len(data) > MAX_IMPORT_BYTES and header.code == "import_foreign"
        found = Problem(code="import_too_large", detail=f"{len(data)} bytes")
        return ImportPreview(problems=(found if too_large else header,))
    most = _count(header) + MAX_IMPORT_LINES
    if data.count(b"\n") > most:  # before any line is kept
        found = Problem(code="import_too_many_lines", detail=f"over {most:,} lines")
        return ImportPreview(problems=(found,))
    reading = _Reading(door=door, stored=stored, holds=holds)
    for number, end, line in lines:
        if line:
            reading.take(number, line)
        if number % _LINES_AT_ONCE == 0:
            if on_progress:
                on_progress(end / len(data))
            await asyncio.sleep(0)
    return _preview(reading, header)


def _lines(data: bytes) -> Iterator[tuple[int, int, bytes]]:
    """Yield number (from 1), end and content of each line; lazily, for a file of line feeds."""
    number, at = 0, len(_BYTE_ORDER_MARK) if data.startswith(_BYTE_ORDER_MARK) else 0
    while at < len(data):
        end = data.find(b"\n", at)
        end = len(data) if end < 0 else end
        number += 1
        yield number, end, data[at:end].removesuffix(b"\r")
        at = end + 1


def _count(header: Mapping[str, Any]) -> int:
    """Return how many records the header names; 0 where it names none."""
    count = header.get("records")
    return count if isinstance(count, int) and count > 0 else 0


def _read_header(line: bytes) -> dict[str, Any] | Problem:
    try:
        header = parse_line(line)
    except Refusal as refusal:
        return Problem(code="import_foreign", detail=refusal.problem.code)
    if not isinstance(header, dict):
        return Problem(code="import_foreign", detail="no header")
    fields = cast("dict[str, Any]", header)
    if fields.get("format") != FORMAT:
        return Problem(code="import_foreign", detail="another format")
    version = fields.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        return Problem(code="import_foreign", detail="no version")
    if version > VERSION:
        return Problem(code="import_newer", detail=str(version))
    return fields


def _preview(reading: _Reading, header: Mapping[str, Any]) -> ImportPreview:
    problems: list[Problem] = []
    if reading.newest:
        problems.append(Problem(code="import_newer", detail=reading.newest.detail))
    if header.get("records") != reading.lines:
        problems.append(Problem(code="import_count", detail=f"{reading.lines} lines"))
    if header.get("sha256") != reading.digest.hexdigest():
        problems.append(Problem(code="import_checksum"))
    if reading.rejected_count:
        problems.append(Problem(code="import_records_rejected", detail=str(reading.rejected_count)))
    exported_at = header.get("exported_at")
    return ImportPreview(
        new=tuple(reading.new.values()),
        conflicting=tuple(reading.conflicting.values()),
        same=reading.same,
        rejected=tuple(reading.rejected),
        rejected_count=reading.rejected_count,
        problems=tuple(problems),
        exported_at=exported_at[:40] if isinstance(exported_at, str) else "",
    )
