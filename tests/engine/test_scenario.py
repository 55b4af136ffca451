import json
from datetime import timedelta

import pytest

from engine.demand.facts import gather
from engine.hazards.codes import Kind
from engine.hazards.hazard import assess
from engine.hazards.safe_setup import verdict
from engine.records import WaterTest
from engine.scenario import InvalidScenario, Scenario, dump, load, parse, run
from tests.support.keeper_log import NOW, SYSTEM, kettle


def scenario() -> Scenario:
    return Scenario(name="Kettle", about="", now=NOW, records=tuple(kettle().records), expected={})


def test_written_and_read_back_is_the_same():
    assert load(json.dumps(dump(scenario()))) == scenario()


def test_run_gives_plain_values_with_units_in_their_names():
    result = run(dump(scenario()))
    assert json.loads(json.dumps(result, allow_nan=False)) == result
    assert result["plan"]["limewater_L_per_day"] == pytest.approx(5.28)
    assert result["change"]["code"] == "nothing_to_do"


def test_run_tells_what_could_go_wrong_as_the_engine_has_it():
    found = run(dump(scenario()))["hazards"]
    hazards = assess(gather(kettle().records, system=SYSTEM, now=NOW))
    safe = verdict(hazards)
    assert found["reaches_band"] is True
    assert found["container_L"] == safe.container_L
    assert found["cut_off_hours"] == safe.cut_off_h
    assert [each["code"] for each in found["verdict"]] == [each.code for each in safe.verdict]
    assert [each["kind"] for each in found["cases"]] == [case.kind for case in hazards.cases]
    assert {each["kind"] for each in found["unknown"]} == {case.kind for case in hazards.unknown}
    stuck = next(case for case in found["cases"] if case["kind"] == Kind.PUMP_STUCK)
    pH = [point["pH_nbs"] for point in stuck["course"] if point["pH_nbs"] is not None]
    assert len(stuck["course"]) == 13
    assert pH == sorted(pH)
    assert pH[0] < 8.6 < pH[-1]
    for time in stuck["times"]:
        assert time["earliest_hours"] < time["middle_hours"]
    assert found["salt_water"]


def test_run_without_alkalinity_gives_no_hazard_but_the_reason():
    log = kettle()
    records = tuple(r for r in log.records if not isinstance(r, WaterTest))
    bare = Scenario(name="Bare", about="", now=NOW, records=records, expected={})
    found = run(dump(bare))["hazards"]
    assert found["cases"] == []
    assert found["container_L"] is None
    assert "hazard_alkalinity_missing" in {each["code"] for each in found["reasons"]}


def test_shifted_in_time_gives_the_same_decision():
    moved = scenario().shifted(NOW + timedelta(days=500, hours=3))
    first, second = run(dump(scenario())), run(dump(moved))
    for result in (first, second):
        del result["now"]
        del result["alkalinity"]["tested_at"]
    assert first == second


BROKEN = [
    ("", "not JSON"),
    ("[1]", "JSON object"),
    ('{"format": "other", "version": 1}', "sumpside-scenario"),
    ("[" * 100_000, "not JSON"),
    ('{"a": NaN}', "NaN"),
]


@pytest.mark.parametrize(("text", "part"), BROKEN)
def test_broken_text_is_one_clear_sentence(text, part):
    with pytest.raises(InvalidScenario, match=part):
        load(text)


def broken(**changes):
    return {**dump(scenario()), **changes}


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (broken(version=2), "version 1"),
        (broken(now="yesterday"), "now"),
        (broken(records={}), "list"),
        (broken(records=[]), "setup"),
        (broken(records=[3]), "Record 1"),
        (broken(records=[{"kind": "nonsense"}]), "unknown kind"),
        (broken(extra=1), "extra"),
    ],
)
def test_broken_scenario_is_one_clear_sentence(data, part):
    with pytest.raises(InvalidScenario, match=part):
        parse(data)
