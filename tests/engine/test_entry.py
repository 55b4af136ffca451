"""Readings: accepted, doubted with what may have been meant, or refused."""

from datetime import UTC, datetime, timedelta

import pytest

from engine.entry.checks import (
    READING_CODES,
    Accepted,
    Doubtful,
    Earlier,
    Refused,
    allowed_change,
    earlier_readings,
    read_reading,
)
from engine.errors import InvalidQuantity
from engine.records import Reading, Refill, WaterTest
from engine.vocabulary import MEQ_PER_DKH, PARAMETERS

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)


def dkh(value: float, *, days: float = 0.0, hours: float = 0.0) -> Earlier:
    return Earlier(NOW - timedelta(days=days, hours=hours), value * MEQ_PER_DKH)


def read(parameter: str, text: str, unit: str, *previous: Earlier):
    return read_reading(parameter, text, unit, at=NOW, previous=previous)


def test_usual_reading_is_accepted_as_typed_and_in_canonical_unit():
    found = read("total_alkalinity", " 8,2 ", "dKH")
    assert isinstance(found, Accepted)
    assert found.reading == Reading(
        parameter="total_alkalinity", value=8.2 * MEQ_PER_DKH, typed="8,2", typed_unit="dKH"
    )


@pytest.mark.parametrize("code", PARAMETERS)
def test_middle_of_plausible_range_is_accepted_for_every_parameter(code: str):
    parameter = PARAMETERS[code]
    middle = sum(parameter.plausible) / 2.0
    unit = next((u for u in parameter.typed_units if u == parameter.unit), None)
    text, typed = (f"{middle:.3f}", unit) if unit is not None else ("9", "dKH")
    assert isinstance(read(code, text, typed), Accepted)


# (parameter, typed, unit) -> (parameter meant, its unit, canonical value, tolerance)
MISTAKES = [
    ("total_alkalinity", "180", "dKH", "total_alkalinity", "mg/L CaCO3", 3.597, 0.001),
    ("total_alkalinity", "2.9", "dKH", "total_alkalinity", "meq/L", 2.9, 1e-9),
    ("total_alkalinity", "8.2", "meq/L", "total_alkalinity", "dKH", 2.9245, 0.0005),
    ("total_alkalinity", "8.2", "mg/L CaCO3", "total_alkalinity", "dKH", 2.9245, 0.0005),
    ("total_alkalinity", "420", "dKH", "calcium", "mg/L", 420.0, 1e-9),
    ("total_alkalinity", "1300", "dKH", "magnesium", "mg/L", 1300.0, 1e-9),
    ("total_alkalinity", "82", "dKH", "total_alkalinity", "dKH", 2.9245, 0.0005),
    ("salinity", "1.026", "PSU", "salinity", "SG 25/25", 34.5, 0.05),
    ("salinity", "1,0264", "PSU", "salinity", "SG 25/25", 35.04, 0.05),
    ("salinity", "35", "SG 25/25", "salinity", "PSU", 35.0, 1e-9),
    ("salinity", "53", "PSU", "salinity", "mS/cm at 25 °C", 34.947, 0.001),
    ("salinity", "53", "SG 25/25", "salinity", "mS/cm at 25 °C", 34.947, 0.001),
    ("salinity", "1026", "SG 25/25", "salinity", "SG 25/25", 34.5, 0.05),
    ("salinity", "25", "PSU", "temperature", "degC", 25.0, 1e-9),
    ("temperature", "77", "degC", "temperature", "degF", 25.0, 1e-9),
    ("temperature", "25", "degF", "temperature", "degC", 25.0, 1e-9),
    ("temperature", "35", "degC", "salinity", "PSU", 35.0, 1e-9),
    ("calcium", "8.2", "mg/L", "total_alkalinity", "dKH", 2.9245, 0.0005),
    ("calcium", "10.5", "mg/L", "calcium", "mmol/L", 420.8, 0.1),
    ("calcium", "420", "mmol/L", "calcium", "mg/L", 420.0, 1e-9),
    ("magnesium", "1,350", "mg/L", "magnesium", "mg/L", 1350.0, 1e-9),
    ("pH_nbs", "82", "", "pH_nbs", "", 8.2, 1e-9),
    ("room_co2", "1.026", "ppm", "room_co2", "ppm", 1026.0, 1e-9),
]


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: " ".join(mistake[:3]))
def test_usual_mistake_is_never_accepted_and_its_meaning_is_offered(mistake):
    code, text, unit, meant, meant_unit, value, tolerance = mistake
    found = read(code, text, unit)
    assert isinstance(found, Doubtful | Refused)
    offered = {(s.parameter, s.unit): s.reading for s in found.suggestions}
    assert offered[meant, meant_unit].value == pytest.approx(value, abs=tolerance)
    assert offered[meant, meant_unit].parameter == meant


def test_taking_a_suggestion_reads_as_accepted():
    (suggestion,) = read("total_alkalinity", "180", "dKH").suggestions
    taken = read(suggestion.parameter, suggestion.text, suggestion.unit)
    assert taken == Accepted(suggestion.reading)


def test_reading_outside_the_plausible_range_can_be_kept_and_is_then_marked():
    found = read("pH_nbs", "9.4", "")
    assert isinstance(found, Doubtful)
    assert [doubt.code for doubt in found.doubts] == ["entry_outside_usual_pH"]
    assert not found.reading.confirmed
    assert found.kept.confirmed
    assert found.kept.value == pytest.approx(9.4)


@pytest.mark.parametrize("code", PARAMETERS)
def test_incident_is_kept_possible_and_beyond_it_refused(code: str):
    parameter = PARAMETERS[code]
    unit = parameter.unit if parameter.unit in parameter.typed_units else "meq/L"
    at_bound = read(code, f"{parameter.incident[1]:.6f}", unit)
    beyond = read(code, f"{parameter.incident[1] * 1.01:.6f}", unit)
    if code != "total_alkalinity":  # its bound is no round number of meq/L
        assert isinstance(at_bound, Doubtful)
    assert isinstance(beyond, Refused)
    assert beyond.fault.code.startswith("entry_impossible")
    assert beyond.fault.numbers["typed_text"] == f"{parameter.incident[1] * 1.01:.6f}"


@pytest.mark.parametrize("text", ["", "abc", "-8", "nan", "🐠", "1e400"])
def test_what_is_no_number_is_refused_with_its_fault(text: str):
    found = read("total_alkalinity", text, "dKH")
    assert isinstance(found, Refused)
    assert found.suggestions == ()


def test_jump_within_a_day_is_doubted():
    found = read("total_alkalinity", "9.1", "dKH", dkh(8.2, hours=20))
    assert isinstance(found, Doubtful)
    (doubt,) = found.doubts
    assert doubt.code == "entry_jump_meq_per_L"
    assert doubt.numbers["change_meq_per_L"] == pytest.approx(0.9 * MEQ_PER_DKH)
    assert doubt.numbers["elapsed_days"] == pytest.approx(20 / 24)


def test_change_of_exactly_the_jump_is_accepted():
    assert isinstance(read("total_alkalinity", "9.0", "dKH", dkh(8.2, hours=20)), Accepted)


def test_day_swing_of_a_heavy_tank_is_no_jump():
    # practice: 0.7 dKH between evening and morning in a tank that eats 3 dKH a day
    assert isinstance(read("total_alkalinity", "7.6", "dKH", dkh(8.3, hours=10)), Accepted)


def test_larger_change_is_allowed_over_a_longer_time():
    assert isinstance(read("total_alkalinity", "9.6", "dKH", dkh(8.2, days=7)), Accepted)
    assert isinstance(read("total_alkalinity", "11", "dKH", dkh(8.2, days=7)), Doubtful)


def test_allowed_change_never_falls_with_time():
    alkalinity = PARAMETERS["total_alkalinity"]
    allowed = [allowed_change(alkalinity, days) for days in (0.0, 0.5, 1.0, 2.0, 7.0, 60.0)]
    assert allowed == sorted(allowed)
    assert allowed[0] == allowed[2] == alkalinity.jump


def test_nearest_reading_is_compared_whatever_the_order():
    previous = (dkh(12.0, days=30), dkh(8.2, hours=12), dkh(11.0, days=3))
    assert isinstance(read("total_alkalinity", "8.4", "dKH", *previous), Accepted)


def test_test_older_than_the_log_is_compared_with_the_reading_before_it():
    later = Earlier(NOW + timedelta(hours=2), 12.0 * MEQ_PER_DKH)
    assert isinstance(read("total_alkalinity", "8.3", "dKH", later, dkh(8.2, days=1)), Accepted)
    assert isinstance(read("total_alkalinity", "8.3", "dKH", later), Doubtful)


def test_pH_of_morning_and_evening_differ_without_a_question():
    evening = Earlier(NOW - timedelta(hours=12), 8.35)
    assert isinstance(read("pH_nbs", "7.95", "", evening), Accepted)


def test_pH_at_the_same_hour_that_jumps_is_doubted():
    evening = Earlier(NOW - timedelta(hours=12), 8.35)
    yesterday = Earlier(NOW - timedelta(hours=23), 8.3)
    assert isinstance(read("pH_nbs", "7.95", "", evening, yesterday), Doubtful)


def test_jump_explained_by_a_unit_offers_only_what_does_not_jump():
    # 5.0 meq/L is plausible by itself (14 dKH); 5.0 dKH would jump as much.
    found = read("total_alkalinity", "5.0", "meq/L", dkh(5.2, days=1))
    assert isinstance(found, Doubtful)
    assert ("total_alkalinity", "dKH") in {(s.parameter, s.unit) for s in found.suggestions}
    found = read("total_alkalinity", "5.0", "meq/L", dkh(8.2, days=1))
    assert ("total_alkalinity", "dKH") not in {(s.parameter, s.unit) for s in found.suggestions}


def test_suggestion_that_fits_the_log_comes_first():
    found = read("total_alkalinity", "82", "dKH", dkh(8.3, days=1))
    first = found.suggestions[0]
    assert (first.text, first.unit) == ("8.2", "dKH")


def test_unknown_parameter_or_unit_is_a_mistake_of_the_program():
    with pytest.raises(InvalidQuantity):
        read("total_alkalinity", "8.2", "ppm")
    with pytest.raises(InvalidQuantity):
        read("silver", "8.2", "mg/L")


def test_earlier_readings_come_out_of_the_log_oldest_first():
    def test(hour: int, *readings: Reading) -> WaterTest:
        at = NOW.replace(hour=hour)
        return WaterTest(id=f"d:{hour}", at=at, recorded_at=at, system="s", readings=readings)

    def reading(parameter: str, value: float) -> Reading:
        return Reading(parameter=parameter, value=value, typed="", typed_unit="")

    records = (
        test(8, reading("calcium", 430.0), reading("pH_nbs", 8.1)),
        test(6, reading("calcium", 420.0)),
        Refill(id="d:9", at=NOW, recorded_at=NOW, system="s", volume_L=5.0),
    )
    found = earlier_readings(records, "calcium")
    assert found == (Earlier(NOW.replace(hour=6), 420.0), Earlier(NOW.replace(hour=8), 430.0))


def test_every_reading_code_occurs():
    seen: set[str] = set()
    for code, parameter in PARAMETERS.items():
        unit = parameter.typed_units[-1] if code != "salinity" else "PSU"
        last = Earlier(NOW, parameter.plausible[0])
        texts = [f"{parameter.plausible[1] * factor:.4f}" for factor in (0.99, 1.02, 1000.0)]
        for unit_typed, text in [(unit, text) for text in texts] + [("SG 25/25", "35")]:
            if unit_typed not in parameter.typed_units:
                continue
            found = read(code, text, unit_typed, last)
            match found:
                case Doubtful(doubts=doubts):
                    seen.update(doubt.code for doubt in doubts)
                case Refused(fault=fault):
                    seen.add(fault.code)
                case Accepted():
                    pass
    for parameter, text, unit in [
        ("temperature", "33", "degC"),
        ("temperature", "31", "degC"),
        ("total_alkalinity", "5.6", "meq/L"),
        ("total_alkalinity", "6", "meq/L"),
        ("calcium", "601", "mg/L"),
        ("calcium", "500", "mg/L"),
    ]:
        found = read(parameter, text, unit, Earlier(NOW, PARAMETERS[parameter].plausible[0]))
        assert isinstance(found, Doubtful)
        seen.update(doubt.code for doubt in found.doubts)
    assert seen == set(READING_CODES)
