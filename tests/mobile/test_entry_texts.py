"""What is said about an entry: every code has its sentence, filled in with units."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from engine.entry.checks import READING_CODES, Doubtful, Earlier, Refused, read_reading
from engine.entry.fields import (
    FIELD_CODES,
    REMARK_CODES,
    AcceptedTime,
    DoubtfulAmount,
    read_amount,
    read_text,
    read_time,
)
from engine.entry.numbers import FAULT_CODES, EntryFault
from engine.vocabulary import MEQ_PER_DKH
from mobile.state.sentences import sentence
from mobile.texts.entry import TEXTS

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
CODES = (*FAULT_CODES, *READING_CODES, *FIELD_CODES, *REMARK_CODES)


def said(finding: EntryFault, alkalinity_unit: str = "dKH") -> str:
    return sentence(TEXTS, finding.code, finding.numbers, alkalinity_unit)


def doubts(parameter: str, text: str, unit: str, *previous: Earlier) -> list[str]:
    found = read_reading(parameter, text, unit, at=NOW, previous=previous)
    assert isinstance(found, Doubtful)
    return [said(doubt) for doubt in found.doubts]


def refusal(parameter: str, text: str, unit: str) -> str:
    found = read_reading(parameter, text, unit, at=NOW)
    assert isinstance(found, Refused)
    return said(found.fault)


def test_every_code_has_a_sentence_and_no_sentence_is_without_a_code():
    assert set(TEXTS) == set(CODES)


@pytest.mark.parametrize("code", TEXTS)
def test_sentences_have_at_most_18_words_and_end(code: str):
    assert TEXTS[code].endswith(".")
    for part in re.split(r"[.!?](?:\s|$)", TEXTS[code]):
        assert len(part.split()) <= 18, part


def test_refused_reading_is_told_with_what_is_possible():
    assert refusal("total_alkalinity", "180", "dKH") == (
        "180 cannot be right: possible is 0.5 dKH to 40 dKH. "
        "Look at the unit and the digits, or test again."
    )
    assert refusal("pH_nbs", "82", "").startswith("82 cannot be right: possible is 6.00 to 12.60.")
    assert refusal("temperature", "77", "degC").startswith(
        "77 cannot be right: possible is 5 °C to 40 °C."
    )
    assert refusal("salinity", "35", "SG 25/25").startswith("35 is no possible value in SG 25/25.")


def test_calcium_is_told_in_mg_per_L_not_in_litres():
    assert doubts("calcium", "650", "mg/L") == [
        "650 mg/L is outside the usual 250 mg/L to 600 mg/L. Keep it only if you have checked it."
    ]


def test_values_are_told_in_the_keepers_unit():
    found = read_reading("total_alkalinity", "2.9", "dKH", at=NOW)
    assert isinstance(found, Doubtful)
    shown = said(found.doubts[0], "meq/L")
    assert shown.startswith("1.03 meq/L is outside the usual 1.43 meq/L to 5.71 meq/L.")


def test_jump_is_told_with_the_last_value_and_the_time_between():
    last = Earlier(NOW - timedelta(days=2), 8.2 * MEQ_PER_DKH)
    assert doubts("total_alkalinity", "10.2", "dKH", last) == [
        "10.2 dKH is 2 dKH away from 8.2 dKH, 2 days apart. Test again before you believe either."
    ]


def test_amounts_are_told_with_their_units():
    volume = read_amount("setup.net_volume_L", "0", "L")
    flow = read_amount("setup.pump_L_per_h", "5000", "L/h")
    rhythm = read_amount("setup.stirrer_every_h", "1", "min")
    assert isinstance(volume, Refused)
    assert isinstance(flow, Refused)
    assert isinstance(rhythm, Refused)
    assert said(volume.fault).startswith("0 L cannot be entered here: possible is 1 L to")
    assert "0.001 L/h to 2000 L/h" in said(flow.fault)
    assert "3 min to 48 h" in said(rhythm.fault)
    powder = read_amount("recharge.powder_g", "250", "g", expected=(55.0, 121.0))
    assert isinstance(powder, DoubtfulAmount)
    assert said(powder.doubt).startswith("250 g is not what was expected: 55 g to 121 g.")


def test_times_are_told_as_spans():
    future = read_time(NOW + timedelta(days=1), now=NOW)
    assert isinstance(future, Refused)
    assert said(future.fault).startswith("That is 1 day ahead of this phone's clock.")
    back = read_time(NOW, now=NOW, newest_recorded_at=NOW + timedelta(hours=3))
    assert isinstance(back, AcceptedTime)
    assert said(back.remarks[0]).startswith("This phone's clock is 3 h behind your newest record.")


def test_long_text_is_told_by_how_much():
    found = read_text("setup.name", "x" * 65)
    assert isinstance(found, EntryFault)
    assert said(found).startswith("The text is too long by 5; 60 characters fit.")
