"""Published check values, printed digit by printed digit."""

from pathlib import Path

import pytest

from engine.chemistry.sources import SOURCES
from tests.published.check import Check, computed, entries, tables, value_check

FOLDER = Path(__file__).parent
ENTRIES = entries(FOLDER)


@pytest.mark.parametrize("entry", ENTRIES, ids=[entry["id"] for entry in ENTRIES])
def test_engine_gives_the_published_value_to_its_printed_digits(entry):
    check = value_check(entry)
    assert check.holds, f"{computed(entry)!r} for {entry['expected']!r}"


@pytest.mark.parametrize("entry", ENTRIES, ids=[entry["id"] for entry in ENTRIES])
def test_every_published_value_names_its_source_and_how_it_is_known(entry):
    assert entry["source"] in SOURCES
    assert entry["mark"] in {"O", "C", "M"}
    assert entry["table"]
    if "tolerance" in entry or "difference" in entry:
        assert entry["note"]


def test_ids_of_published_values_are_unique():
    ids = [entry["id"] for entry in ENTRIES]
    assert len(ids) == len(set(ids))


TABLE_CHECKS = tables(FOLDER / "tables")


@pytest.mark.parametrize("check", TABLE_CHECKS, ids=[check.name for check in TABLE_CHECKS])
def test_every_row_of_the_reference_tables_agrees(check: Check):
    assert check.holds, check


def test_every_reference_table_is_used_by_a_check():
    used = {check.name.split(":")[0] for check in TABLE_CHECKS}
    assert used == {path.name for path in (FOLDER / "tables").glob("*.csv")}


def test_no_row_of_the_carbonate_tables_is_left_out():
    rows = {check.name: check.rows for check in TABLE_CHECKS if check.name.endswith(": pH_total")}
    assert rows == {
        "co2_limewater_closed.csv: pH_total": 720,
        "co2_equilibrated.csv: pH_total": 108,
        "co2_limewater_reequilibrated.csv: pH_total": 160,
    }
