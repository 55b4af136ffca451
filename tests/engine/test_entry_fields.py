"""Amounts, texts and times of the other records."""

import dataclasses
from datetime import UTC, datetime, timedelta

import pytest

from engine.entry.checks import Refused
from engine.entry.fields import (
    REMARK_CODES,
    AcceptedTime,
    Amount,
    DoubtfulAmount,
    amount_units,
    read_amount,
    read_text,
    read_time,
)
from engine.entry.numbers import EntryFault
from engine.errors import InvalidQuantity
from engine.records import KINDS
from engine.vocabulary import MEQ_PER_DKH

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)

NUMBER_FIELDS = [
    f"{kind}.{field.name}"
    for kind, record_class in KINDS.items()
    for field in dataclasses.fields(record_class)
    if "low" in field.metadata
]

CONVERTED = [
    ("refill.volume_L", "25", "L", 25.0),
    ("refill.volume_L", "5", "US gal", 18.92706),
    ("refill.volume_L", "750", "mL", 0.75),
    ("recharge.powder_g", "110", "g", 110.0),
    ("recharge.powder_g", "4", "oz", 113.398),
    ("powder_stock.powder_g", "1,5", "kg", 1500.0),
    ("pump_check.expected_mL", "83", "mL", 83.0),
    ("pump_check.measured_mL", "71,0", "mL", 71.0),
    ("pump_check.run_2_mL", "0", "mL", 0.0),
    ("delivery_setting.limewater_L_per_day", "5300", "mL a day", 5.3),
    ("delivery_setting.limewater_L_per_day", "0", "L a day", 0.0),
    ("setup.pump_L_per_h", "50", "mL/min", 3.0),
    ("setup.evaporation_low_L_per_day", "1.5", "US gal a day", 5.678118),
    ("setup.target_total_alkalinity_meq_per_L", "8.2", "dKH", 8.2 * MEQ_PER_DKH),
    ("setup.net_rise_meq_per_L_per_day", "0.3", "dKH a day", 0.3 * MEQ_PER_DKH),
    ("water_change.new_total_alkalinity_meq_per_L", "150", "mg/L CaCO3", 2.9974),
    ("setup.tank_temperature_degC", "77", "degF", 25.0),
    ("setup.evaporation_share", "90", "%", 0.9),
    ("setup.powder_assay", "95", "%", 0.95),
    ("setup.stirrer_every_h", "90", "min", 1.5),
    ("setup.doses_per_day", "24", "", 24.0),
    ("limewater_strength.fraction_of_saturation", "36", "%", 0.36),
    ("addition.salt_g", "16.5", "g", 16.5),
]


@pytest.mark.parametrize(("key", "text", "unit", "value"), CONVERTED)
def test_amount_is_kept_in_the_unit_of_its_field(key, text, unit, value):
    found = read_amount(key, text, unit)
    assert isinstance(found, Amount)
    assert found.value == pytest.approx(value, rel=1e-5)
    assert (found.typed, found.typed_unit) == (text, unit)


def test_every_number_of_every_record_can_be_typed():
    assert len(NUMBER_FIELDS) > 25
    for key in NUMBER_FIELDS:
        assert amount_units(key), key


@pytest.mark.parametrize(
    ("key", "text", "unit", "code"),
    [
        ("setup.net_volume_L", "0", "L", "entry_outside_range_L"),
        ("setup.net_volume_L", "900000", "L", "entry_outside_range_L"),
        ("refill.volume_L", "0", "L", "entry_zero"),
        ("recharge.powder_g", "0", "g", "entry_zero"),
        ("recharge.powder_g", "", "g", "entry_empty"),
        ("recharge.powder_g", "-1", "g", "entry_negative"),
        ("recharge.powder_g", "inf", "g", "entry_not_finite"),
        ("setup.doses_per_day", "2.5", "", "entry_not_whole"),
        ("setup.doses_per_day", "0", "", "entry_outside_range_count"),
        ("setup.powder_assay", "0.95", "%", "entry_outside_range_share"),
        ("setup.tank_temperature_degC", "77", "degC", "entry_outside_range_degC"),
        ("setup.floor_total_alkalinity_meq_per_L", "180", "dKH", "entry_outside_range_meq_per_L"),
        ("addition.salt_g", "60", "kg", "entry_outside_range_g"),
    ],
)
def test_amount_that_cannot_be_is_refused(key, text, unit, code):
    found = read_amount(key, text, unit)
    assert isinstance(found, Refused)
    assert found.fault.code == code


def test_amount_other_than_expected_is_asked_about():
    found = read_amount("recharge.powder_g", "250", "g", expected=(55.0, 121.0))
    assert isinstance(found, DoubtfulAmount)
    assert found.amount.value == 250.0
    assert found.doubt.numbers == {"value_g": 250.0, "low_g": 55.0, "high_g": 121.0}
    assert isinstance(read_amount("recharge.powder_g", "110", "g", expected=(55.0, 121.0)), Amount)


@pytest.mark.parametrize(
    ("key", "unit"),
    [
        ("refill.volume", "L"),
        ("nothing.volume_L", "L"),
        ("refill.volume_L", "ft"),
        ("note.note", ""),
    ],
)
def test_unknown_field_or_unit_is_a_mistake_of_the_program(key, unit):
    with pytest.raises(InvalidQuantity):
        read_amount(key, "1", unit)


def test_text_with_emoji_and_any_script_is_kept_as_typed():
    text = "Neue Koralle 🐠 \u200d👩\u200d🔬, 水換え\nsecond line"
    assert read_text("note.note", text) == text


def test_text_that_is_too_long_is_refused_not_cut():
    found = read_text("setup.name", "x" * 61)
    assert isinstance(found, EntryFault)
    assert found.code == "entry_text_too_long"
    assert found.numbers == {"longest_count": 60.0, "over_count": 1.0}
    assert read_text("setup.name", "x" * 60) == "x" * 60


@pytest.mark.parametrize("text", ["half \ud83d", "bell \x07", "nul \x00"])
def test_text_that_cannot_be_stored_is_refused(text):
    found = read_text("note.note", text)
    assert isinstance(found, EntryFault)
    assert found.code == "entry_text_unreadable"


def test_date_in_the_future_is_refused():
    found = read_time(NOW + timedelta(minutes=6), now=NOW)
    assert isinstance(found, Refused)
    assert found.fault.code == "entry_time_in_future"


def test_a_few_minutes_ahead_count_as_now():
    found = read_time(NOW + timedelta(minutes=4), now=NOW)
    assert found == AcceptedTime(NOW)


def test_time_in_another_zone_is_compared_as_a_moment():
    zone = datetime.fromisoformat("2026-11-24T18:00:00+09:00")
    assert read_time(zone, now=NOW) == AcceptedTime(zone)


def test_date_before_1990_is_refused():
    found = read_time(NOW.replace(year=1989), now=NOW)
    assert isinstance(found, Refused)
    assert found.fault.code == "entry_time_too_old"


def remarks(found: AcceptedTime | Refused) -> list[str]:
    assert isinstance(found, AcceptedTime)
    return [remark.code for remark in found.remarks]


def test_clock_moved_back_is_said():
    found = read_time(NOW, now=NOW, newest_recorded_at=NOW + timedelta(hours=3))
    assert remarks(found) == ["entry_clock_back"]
    assert remarks(read_time(NOW, now=NOW, newest_recorded_at=NOW)) == []


def test_test_older_than_the_last_is_accepted_but_said():
    found = read_time(NOW - timedelta(days=2), now=NOW, last_at=NOW - timedelta(days=1))
    assert remarks(found) == ["entry_older_than_last"]
    assert isinstance(found, AcceptedTime)
    assert found.at == NOW - timedelta(days=2)


def test_date_long_ago_is_said():
    assert remarks(read_time(NOW - timedelta(days=365), now=NOW)) == ["entry_long_ago"]


def test_every_remark_is_shown_by_an_example():
    found = read_time(
        NOW - timedelta(days=99), now=NOW, newest_recorded_at=NOW + timedelta(days=1), last_at=NOW
    )
    assert set(remarks(found)) == set(REMARK_CODES)


def test_time_without_zone_is_a_mistake_of_the_program():
    with pytest.raises(InvalidQuantity):
        read_time(NOW.replace(tzinfo=None), now=NOW)
