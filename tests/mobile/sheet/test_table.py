"""Bytes to a table: encodings, delimiters, and files that are none, in bounded time."""

import time

import pytest

from mobile.state.sheet import table
from mobile.state.sheet.table import NotATable, read_table
from mobile.storage.transfer import MAX_IMPORT_BYTES
from mobile.texts.sheet import TEXTS

TEXT = "Datum;Alk dKH;Notiz\r\n2026-03-01;8,1;größer\r\n"


@pytest.mark.parametrize(
    ("encoding", "told"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16"),
        ("utf-32", "utf-32"),
        ("cp1252", "windows-1252"),
    ],
)
async def test_a_table_is_read_in_the_encodings_that_spreadsheets_write(encoding, told):
    found = await read_table(TEXT.encode(encoding))
    assert found.encoding == told
    assert found.header == ("Datum", "Alk dKH", "Notiz")
    assert found.rows == ((2, ("2026-03-01", "8,1", "größer")),)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
async def test_the_delimiter_is_the_one_that_explains_the_rows(delimiter):
    rows = [["date", "alk", "note"], ["2026-03-01", "8.1", "x"], ["2026-03-02", "8.2", "y"]]
    text = "\n".join(delimiter.join(row) for row in rows)
    found = await read_table(text.encode())
    assert (found.delimiter, len(found.header), len(found.rows)) == (delimiter, 3, 2)


async def test_a_decimal_comma_is_not_taken_for_the_delimiter():
    text = "Datum;KH;Ca\n" + "\n".join(
        f"2026-03-{n:02};8,{n % 10};42{n % 10},5" for n in range(1, 29)
    )
    assert (await read_table(text.encode())).delimiter == ";"


async def test_quoted_cells_hold_delimiters_quotes_and_line_feeds_and_lines_stay_counted():
    text = 'date,note,alk\n2026-03-01,"a, ""b""\nsecond line",8.1\n2026-03-02,,8.2\n'
    found = await read_table(text.encode())
    assert [(line, cells[1]) for line, cells in found.rows] == [
        (3, 'a, "b"\nsecond line'),
        (4, ""),
    ]


async def test_a_line_that_names_the_delimiter_is_obeyed_and_counted():
    found = await read_table(b"sep=|\ndate|alk\n2026-03-01|8,1\n")
    assert (found.delimiter, found.header, found.rows[0][0]) == ("|", ("date", "alk"), 3)


async def test_without_a_heading_the_first_row_is_data():
    found = await read_table(b"2026-03-01,8.1\n2026-03-02,8.2\n")
    assert (found.header, len(found.rows)) == (("", ""), 2)


async def test_rows_of_uneven_width_and_blank_rows():
    found = await read_table(b"date,alk,ca\n\n2026-03-01,8.1\n,,\n2026-03-02,8.2,420,more\n")
    assert [cells for _line, cells in found.rows] == [
        ("2026-03-01", "8.1", "", ""),
        ("2026-03-02", "8.2", "420", "more"),
    ]


NONE = {
    "empty": (b"", "table_empty"),
    "blank": (b"\n\n  \n", "table_empty"),
    "one column": (b"date\n2026-03-01\n", "table_no_columns"),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, "table_not_text"),
    "zeros": (bytes(10_000), "table_not_text"),
    "archive": (b"PK\x03\x04" + bytes(range(256)) * 40, "table_not_text"),
    "half UTF-16": (b"\xff\xfed\x00a", "table_not_text"),
    "too large": (b"a,b\n" * (MAX_IMPORT_BYTES // 4 + 1), "table_too_large"),
    "a million lines": (b"a,b\n" + b"1,2\n" * 1_000_000, "table_too_many_lines"),
    "many columns": (b"a," * 500 + b"\n" + b"1," * 500, "table_too_many_columns"),
    "an open quote": (b'a,b\n1,"' + b"x" * 500_000, "table_cell_too_long"),
    "a long cell": (b"a,b\n1," + b"x" * 30_000 + b"\n", "table_cell_too_long"),
}


@pytest.mark.parametrize(("data", "code"), NONE.values(), ids=NONE.keys())
async def test_what_is_no_table_is_refused_in_words_and_soon(data, code):
    start = time.process_time()
    with pytest.raises(NotATable) as caught:
        await read_table(data)
    assert caught.value.code == code
    assert code in TEXTS
    assert time.process_time() - start < 20


def test_every_reason_of_the_reader_has_a_sentence():
    import inspect
    import re

    codes = set(re.findall(r'"(table_\w+)"', inspect.getsource(table)))
    assert len(codes) >= 6
    assert codes <= set(TEXTS)
