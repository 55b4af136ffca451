"""The bytes of a file as a table: its encoding, its delimiter, its rows with their line numbers.

Bounded before it is parsed: bytes, lines, columns and the length of a cell.
"""

import asyncio
import csv
import io
import unicodedata
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from mobile.storage.transfer import MAX_IMPORT_BYTES, MAX_IMPORT_LINES

MAX_COLUMNS: Final = 60
MAX_CELL: Final = 20_000
DELIMITERS: Final = (",", ";", "\t", "|")
_SAMPLE: Final = 1 << 16
_SAMPLE_ROWS: Final = 40
_ROWS_AT_ONCE: Final = 500
_BOMS: Final = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


class NotATable(Exception):  # noqa: N818 - it says what was found
    """The file is no table that can be read; `code` names the sentence."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(code)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table as it stands in the file.

    Attributes
    ----------
    header : tuple of str
        The first row where it names columns, else empty texts.
    rows : tuple of (int, tuple of str)
        The line where each row ends in the file, and its cells; all rows as wide as the header.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    encoding: str
    delimiter: str
    too_wide: frozenset[int] = frozenset()  # lines with more cells than the first row

    def column(self, index: int) -> list[str]:
        """Return the cells of a column, top down."""
        return [cells[index] for _line, cells in self.rows]


async def read_table(data: bytes) -> Table:
    """Return the table in a file; other tasks run meanwhile.

    Raises
    ------
    NotATable
        table_too_large, table_empty, table_not_text, table_no_columns, table_too_many_columns,
        table_too_many_lines, table_cell_too_long.
    """
    if len(data) > MAX_IMPORT_BYTES:
        raise NotATable("table_too_large")
    text, encoding = _decoded(data)
    text, delimiter = _delimited(text)
    rows = [row async for row in _rows(text, delimiter) if any(cell.strip() for cell in row[1])]
    if not rows:
        raise NotATable("table_empty")
    width = max(len(cells) for _line, cells in rows)
    if width > MAX_COLUMNS:
        raise NotATable("table_too_many_columns")
    even = [(line, (*cells, *[""] * (width - len(cells)))) for line, cells in rows]
    first = len(rows[0][1])
    too_wide = frozenset(line for line, cells in rows if any(c.strip() for c in cells[first:]))
    header = tuple(" ".join(cell.split()) for cell in even[0][1])
    if any(cell.strip() and _has_digits_only(cell) for cell in header):
        header = ("",) * width
    else:
        even = even[1:]
    return Table(
        header=header,
        rows=tuple(even),
        encoding=encoding,
        delimiter=delimiter,
        too_wide=too_wide,
    )


def _has_digits_only(cell: str) -> bool:
    """Tell whether a cell is data: digits, and signs of numbers and dates."""
    return any(c.isdigit() for c in cell) and not any(c.isalpha() for c in cell)


def _decoded(data: bytes) -> tuple[str, str]:
    encoding = next((name for bom, name in _BOMS if data.startswith(bom)), "utf-8")
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        if encoding != "utf-8":
            raise NotATable("table_not_text") from None
        encoding, text = "windows-1252", data.decode("cp1252", "replace")
    if "\x00" in text or _is_binary(text[:_SAMPLE]):
        raise NotATable("table_not_text")
    return text.removeprefix(chr(0xFEFF)), encoding.removesuffix("-sig")


def _is_binary(text: str) -> bool:
    odd = sum(unicodedata.category(c) in ("Cc", "Cn") and not c.isspace() for c in text)
    return odd * 50 > len(text)


def _delimited(text: str) -> tuple[str, str]:
    """Return the text without a line that names the delimiter, and the delimiter."""
    first, _, rest = text.partition("\n")
    if first.startswith("sep=") and first.strip()[4:] in DELIMITERS:
        return "\n" + rest, first.strip()[4:]  # the line stays counted
    scores = {delimiter: _score(text[:_SAMPLE], delimiter) for delimiter in DELIMITERS}
    best = max(DELIMITERS, key=lambda delimiter: scores[delimiter])
    if scores[best] == (0.0, 0):
        raise NotATable("table_no_columns" if text.strip() else "table_empty")
    return text, best


def _score(sample: str, delimiter: str) -> tuple[float, int]:
    """Return how well a delimiter explains the first rows: share as wide as most, width."""
    widths: list[int] = []
    try:
        for cells in csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter):
            if cells:
                widths.append(len(cells))
            if len(widths) >= _SAMPLE_ROWS:
                break
    except csv.Error:
        pass  # what was read up to here speaks for itself
    if not widths:
        return 0.0, 0
    width, count = Counter(widths).most_common(1)[0]
    return (count / len(widths), width) if width > 1 else (0.0, 0)


async def _rows(text: str, delimiter: str):  # noqa: ANN202 - an asynchronous generator
    for number, row in enumerate(_parsed(text, delimiter)):
        if row[0] > MAX_IMPORT_LINES:
            raise NotATable("table_too_many_lines")
        if number % _ROWS_AT_ONCE == 0:
            await asyncio.sleep(0)
        yield row


def _parsed(text: str, delimiter: str) -> Iterator[tuple[int, tuple[str, ...]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        for cells in reader:
            if any(len(cell) > MAX_CELL for cell in cells):
                raise NotATable("table_cell_too_long")
            if len(cells) > MAX_COLUMNS * 4:
                raise NotATable("table_too_many_columns")
            yield reader.line_num, tuple(cells)
    except csv.Error as error:
        raise NotATable("table_cell_too_long") from error
