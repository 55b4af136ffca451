"""Properties of entry that hold for all inputs."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.entry.checks import Accepted, Doubtful, Earlier, Refused, read_reading
from engine.entry.fields import Amount, amount_units, read_amount
from engine.entry.numbers import LARGEST_NUMBER, EntryFault, parse_number
from engine.log.record_codec import from_dict, to_dict
from engine.records import WaterTest
from engine.units import convert_typed
from engine.vocabulary import PARAMETERS
from tests.engine.test_entry_fields import NUMBER_FIELDS

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
PAIRS = [(code, unit) for code, p in PARAMETERS.items() for unit in p.typed_units]
typed_texts = st.one_of(
    st.text(max_size=30),
    st.text(alphabet="0123456789.,+- e\u00a0", max_size=24),
    st.floats(min_value=0.0, max_value=20_000.0).map(lambda value: f"{value:.3f}"),
)


@given(st.text())
def test_every_text_is_a_finite_number_or_a_fault(text: str):
    found = parse_number(text)
    assert isinstance(found, EntryFault) or 0.0 <= found <= LARGEST_NUMBER


@given(
    st.decimals(min_value=0, max_value=10**8, places=4),
    st.sampled_from(".,"),
    st.sampled_from(["", " ", "\u00a0", "+"]),
)
def test_printed_number_is_read_back(value, separator: str, before: str):
    assert parse_number(before + str(value).replace(".", separator)) == float(value)


@given(
    st.sampled_from(PAIRS),
    typed_texts,
    st.lists(st.tuples(st.floats(-30.0, 400.0), st.floats(0.0, 2000.0)), max_size=4),
)
def test_a_number_in_the_possible_range_is_never_lost_and_nothing_else_is_kept(pair, text, past):
    code, unit = pair
    previous = [Earlier(NOW - timedelta(days=days), value) for days, value in past]
    found = read_reading(code, text, unit, at=NOW, previous=previous)
    low, high = PARAMETERS[code].plausible
    match found:
        case Accepted(reading=reading):
            assert low <= reading.value <= high
        case Doubtful(reading=reading, doubts=doubts):
            assert doubts
        case Refused():
            return
    assert reading.typed == text.strip()
    assert reading.value == convert_typed(code, parse_number(text), unit)
    test = WaterTest(id="d:1", at=NOW, recorded_at=NOW, system="s", readings=(reading,))
    assert from_dict(to_dict(test)) == test


@given(st.sampled_from(PAIRS), typed_texts)
def test_every_suggestion_is_plausible_and_reads_as_itself(pair, text):
    found = read_reading(*pair[:1], text, pair[1], at=NOW)
    if isinstance(found, Accepted):
        return
    for suggestion in found.suggestions:
        taken = read_reading(suggestion.parameter, suggestion.text, suggestion.unit, at=NOW)
        assert taken == Accepted(suggestion.reading)


@pytest.mark.parametrize("key", NUMBER_FIELDS)
@given(text=typed_texts)
def test_accepted_amount_lies_in_the_declared_range(key: str, text: str):
    from engine.entry.fields import _field

    metadata = _field(key).metadata
    for unit in amount_units(key):
        found = read_amount(key, text, unit)
        if isinstance(found, Amount):
            assert metadata["low"] <= found.value <= metadata["high"]
