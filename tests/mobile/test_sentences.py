"""Numbers as people read them: units, rounding toward less, no false precision."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.plan.happenings import HAPPENINGS
from engine.records import DeliverySetting, SecondSourceSetting
from engine.vocabulary import MEQ_PER_DKH
from mobile.state.recorded import summary
from mobile.state.sentences import (
    days,
    floored,
    number,
    sentence,
    significant,
    told,
    trimmed,
    when,
)
from mobile.texts.forms import TEXTS as WORDS

NOW = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)
ENTERED = {"id": "x:1", "at": NOW, "recorded_at": NOW, "system": "reef"}


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        ("plan_L_per_day", 5.28, "5.2 L a day"),
        ("plan_L_per_day", 2.999, "2.99 L a day"),
        ("plan_L_per_day", 0.1239, "0.123 L a day"),
        ("plan_L_per_day", 0.0, "0 L a day"),
        ("plan_L_per_day", 12.0, "12 L a day"),
        ("delivered_L_per_day", 5.21, "5.3 L a day"),
        ("delivered_L_per_day", 5.2, "5.2 L a day"),
        ("setting_L_per_day", 5.28, "5.28 L a day"),
        ("each_mL_per_day", 22.9, "22 mL a day"),
        ("each_mL_per_day", 9.99, "9.99 mL a day"),
        ("short_of_months", 12.0, "every month of the next twelve"),
        ("short_of_months", 3.0, "3 of the next twelve months"),
        ("short_of_months", 1.0, "one of the next twelve months"),
        ("setting_L_per_day", 5.2899, "5.28 L a day"),
        ("dose_mL", 220.0, "220 mL"),
        ("level_meq_per_L", 8.2 * MEQ_PER_DKH, "8.2 dKH"),
        ("demand_meq_per_L_per_day", 1.35 * MEQ_PER_DKH, "1.4 dKH a day"),
        ("left_days", 0.5, "12 h"),
        ("left_days", 1.0, "1 day"),
        ("left_days", 19.4, "19 days"),
        ("use_share", 0.9, "90 %"),
        ("last_pH", 8.5, "8.50"),
        ("powder_g", 110.4, "110 g"),
        ("change_meq_per_L", -0.3 * MEQ_PER_DKH, "−0.3 dKH"),
        ("name", "as it is", "as it is"),
        ("dose_L", float("nan"), "an unknown amount"),
    ],
)
def test_the_suffix_of_a_key_gives_the_unit(key: str, value: float | str, expected: str) -> None:
    assert number(key, value) == expected


def test_alkalinity_follows_the_keepers_unit() -> None:
    assert number("x_meq_per_L", 2.924, "meq/L") == "2.92 meq/L"
    assert number("x_meq_per_L", 2.924, "mg/L CaCO3") == "146 mg/L CaCO₃"


@given(st.floats(min_value=1e-6, max_value=1e6))
def test_a_shown_dose_is_never_more_than_the_dose(value: float) -> None:
    assert float(floored(value)) <= value * (1.0 + 1e-9)


@given(st.floats(min_value=0.001, max_value=1e6))
def test_significant_digits_stay_within_half_a_percent(value: float) -> None:
    assert float(significant(value)) == pytest.approx(value, rel=0.0051)


def test_no_idle_zeros_and_no_negative_zero() -> None:
    assert trimmed(8.0, 1) == "8"
    assert trimmed(-0.01, 1) == "0"


def test_a_sentence_fills_in_numbers_with_units() -> None:
    assert sentence({"a": "At most {cap_L_per_day}."}, "a", {"cap_L_per_day": 3.6}) == (
        "At most 3.6 L a day."
    )


def test_spans_are_words() -> None:
    assert days(0.01) == "less than an hour"
    assert when(NOW - timedelta(minutes=5), NOW) == "5 min ago"
    assert when(NOW - timedelta(days=8), NOW) == "8 days ago"


@pytest.mark.parametrize("what", HAPPENINGS)
def test_every_happening_has_words(what):
    assert WORDS[f"option_{what}"] != what


@pytest.mark.parametrize(
    ("value", "expected"), [(0.02, "less than an hour"), (24.4, "24 days"), (174.0, "175 days")]
)
def test_far_days_are_not_told_to_the_day(value, expected):
    assert days(value) == expected


def test_a_range_whose_ends_read_alike_is_one_figure():
    texts = {"x": "It uses {use_low_L_per_day} to {use_high_L_per_day}."}
    assert told(texts, "x", {"use_low_L_per_day": 1.0, "use_high_L_per_day": 1.0001}) == (
        "It uses 1 L a day."
    )
    assert told(texts, "x", {"use_low_L_per_day": 1.0, "use_high_L_per_day": 2.0}) == (
        "It uses 1 to 2 L a day."
    )


@pytest.mark.parametrize(
    ("record", "shown"),
    [
        (DeliverySetting(limewater_L_per_day=4.37, **ENTERED), "4.37 L a day"),
        (
            SecondSourceSetting(alkalinity_meq_per_day=231.0, two_part_mL_per_day=22.4, **ENTERED),
            "22.4 mL a day of the alkalinity part: 231 meq a day",
        ),
    ],
)
def test_what_was_set_is_shown_as_it_was_set_however_coarse_a_plan_is_told(record, shown):
    assert summary(record, "dKH") == shown


def test_a_ceiling_is_never_rounded_up():
    assert number("ceiling_meq_per_day", 235.9) == "235 meq a day"
    assert number("x_L_per_day", 4.99) == "4.9 L a day"
    assert number("delivered_L_per_day", 4.91) == "5 L a day"
