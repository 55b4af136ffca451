"""The readings of a system as a table for a spreadsheet: one row a test, one column a parameter."""

import csv
import io
from collections.abc import Iterable

from engine.chemistry.constants import CALCIUM_CARBONATE_MG_PER_MEQ
from engine.records import Reading, Record, WaterTest
from engine.vocabulary import MEQ_PER_DKH, PARAMETERS
from mobile.state.sheet.cells import guarded_text
from mobile.texts.sheet import TEXTS

_PER_MEQ = {"dKH": 1.0 / MEQ_PER_DKH, "meq/L": 1.0, "mg/L CaCO3": CALCIUM_CARBONATE_MG_PER_MEQ}


def readings_csv(records: Iterable[Record], *, alkalinity_unit: str, sign: str) -> bytes:
    """Return the water tests among standing records as CSV.

    Parameters
    ----------
    records : iterable of Record
        Of one system, amendments applied, oldest first.
    alkalinity_unit : str
        The unit of the alkalinity column.
    sign : str
        The decimal sign, "." or ",". With a comma, semicolons part the cells.

    Returns
    -------
    bytes
        UTF-8 with a byte order mark, without which some spreadsheets take it for something else.
        The first row names each column with its unit. Times are those of the clock that hung
        there, with their offset in a column of its own.
    """
    tests = [record for record in records if isinstance(record, WaterTest)]
    held = {reading.parameter for test in tests for reading in test.readings}
    shown = [code for code in PARAMETERS if code in held]
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=";" if sign == "," else ",", lineterminator="\r\n")
    writer.writerow(
        [TEXTS["head_date"], TEXTS["head_zone"]]
        + [_heading(code, alkalinity_unit) for code in shown]
        + [TEXTS["head_tester"], TEXTS["head_lot"], TEXTS["head_note"]]
    )
    for test in tests:
        by_code = {reading.parameter: reading for reading in test.readings}
        numbers = [_number(by_code.get(code), alkalinity_unit, sign) for code in shown]
        words = [guarded_text(text) for text in (test.tester, test.reagent_lot, test.note)]
        writer.writerow([f"{test.at:%Y-%m-%d %H:%M}", _offset(test), *numbers, *words])
    return b"\xef\xbb\xbf" + text.getvalue().encode()


def left_out(tests: Iterable[WaterTest]) -> int:
    """Return how many readings no column holds: their quantity is unknown to this version."""
    return sum(r.parameter not in PARAMETERS for test in tests for r in test.readings)


def column_unit(parameter: str, alkalinity_unit: str) -> str:
    """Return the unit of a parameter's column."""
    if parameter == "total_alkalinity":
        return alkalinity_unit
    return PARAMETERS[parameter].unit


def _heading(parameter: str, alkalinity_unit: str) -> str:
    unit = column_unit(parameter, alkalinity_unit)
    name = TEXTS[f"head_{parameter}"]
    shown = {"degC": "°C"}.get(unit, unit)
    return f"{name} ({shown})" if shown else name


def _number(reading: Reading | None, alkalinity_unit: str, sign: str) -> str:
    """Return a reading in its column's unit, enough digits to be the same when it comes back."""
    if reading is None:
        return ""
    value = reading.value
    if reading.parameter == "total_alkalinity":
        value *= _PER_MEQ[alkalinity_unit]
    return f"{value:.6f}".rstrip("0").rstrip(".").replace(".", sign)


def _offset(test: WaterTest) -> str:
    """Return the offset; its letters keep a spreadsheet from reading a sum."""
    offset = f"{test.at:%z}"
    return f"UTC{offset[:3]}:{offset[3:5]}"
