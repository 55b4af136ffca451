import json
from datetime import timedelta

import pytest

from engine.scenario import InvalidScenario, Scenario, dump, load, parse, run
from tests.support.keeper_log import NOW, kettle


def scenario() -> Scenario:
    return Scenario(name="Kettle", about="", now=NOW, records=tuple(kettle().records), expected={})


def test_written_and_read_back_is_the_same():
    assert load(json.dumps(dump(scenario()))) == scenario()


def test_run_gives_plain_values_with_units_in_their_names():
    result = run(dump(scenario()))
    assert json.loads(json.dumps(result, allow_nan=False)) == result
    assert result["plan"]["limewater_L_per_day"] == pytest.approx(5.28)
    assert result["change"]["code"] == "nothing_to_do"


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
