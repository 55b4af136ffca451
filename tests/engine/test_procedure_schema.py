"""A procedure file that breaks a rule of safety is not used."""

import copy
import json
from pathlib import Path

import pytest

import mobile.procedures
from engine.procedures.checks import InvalidProcedure
from engine.procedures.file import parse_procedure
from mobile.procedures import KEYS, load_procedure

FILE = Path(mobile.procedures.__file__).parent / "recharge_vessel.json"


@pytest.fixture
def data() -> dict:
    return json.loads(FILE.read_text(encoding="utf-8"))


def step(data: dict, key: str) -> dict:
    return next(step for step in data["steps"] if step["key"] == key)


def test_every_file_is_listed_and_follows_the_schema():
    files = {path.stem for path in FILE.parent.glob("*.json")}
    assert files == set(KEYS)
    for key in KEYS:
        assert load_procedure(key).key == key


def test_unknown_procedure_is_refused():
    with pytest.raises(KeyError):
        load_procedure("../secrets")


def drop_refusal(data):
    step(data, "goggles")["options"] = [{"answer": "on"}]


def drop_answers(data):
    step(data, "goggles")["options"] = []


def act_with_choice(data):
    step(data, "swirl")["options"] = [{"answer": "done"}, {"answer": "skip"}]


def wait_without_timer(data):
    del step(data, "rest")["timer"]


def wait_of_nothing(data):
    step(data, "rest")["timer"] = {"least_min": 0, "advised_min": 240}


def wait_shorter_than_its_least(data):
    step(data, "rest")["timer"] = {"least_min": 240, "advised_min": 120}


def amount_without_rule(data):
    del step(data, "weigh")["amount"]


def amount_by_unknown_fact(data):
    step(data, "weigh")["amount"]["largest"] = "guess_g"


def back_before_the_powder(data):
    step(data, "clear")["options"][1]["to"] = "weigh"


def back_to_later(data):
    step(data, "clear")["options"][1]["to"] = "look"


def refusal_without_reason(data):
    del step(data, "goggles")["options"][1]["reason"]


def record_of_nothing_measured(data):
    step(data, "pour")["records"][0]["numbers"]["powder_g"] = "swirled_g"


def same_key_twice(data):
    data["steps"].append(copy.deepcopy(step(data, "look")))


def same_answer_twice(data):
    step(data, "goggles")["options"].append({"answer": "on"})


def never_on_again(data):
    del step(data, "all_on")["delivery"]


def unknown_delivery(data):
    step(data, "pump_off")["delivery"] = "half"


def unknown_kind(data):
    step(data, "swirl")["kind"] = "dance"


def unknown_field(data):
    step(data, "goggles")["preticked"] = "on"


def missing_sentence(data):
    del step(data, "swirl")["sentence"]


def text_for_number(data):
    step(data, "rest")["timer"]["least_min"] = "120"


def no_steps(data):
    data["steps"] = []


def steps_not_a_list(data):
    data["steps"] = {"a": 1}


def step_not_an_object(data):
    data["steps"][0] = "read"


def newer_version(data):
    data["version"] = 3


def foreign_format(data):
    data["format"] = "recipe"


def gear_never_asked_for(data):
    data["steps"].remove(step(data, "mask"))


def gear_taken_off_and_not_asked_for_again(data):
    data["steps"].remove(step(data, "goggles_again"))


def unknown_substance(data):
    step(data, "swirl")["handles"] = "plutonium"


def gear_without_a_gate(data):
    step(data, "swirl")["wears"] = "mask"


def unknown_way_of_delivery(data):
    step(data, "swirl")["only"] = ["bucket"]


def depends_on_nothing_asked(data):
    step(data, "swirl")["when"] = [{"step": "label", "answers": ["maybe"]}]


def delivery_that_depends(data):
    step(data, "pump_off")["when"] = [{"step": "label", "answers": ["calcium_hydroxide"]}]


def unknown_sum(data):
    data["computes"] = ["magic"]


def unknown_kind_of_record(data):
    step(data, "pour")["records"][0]["kind"] = "wish"


def block_without_a_bound(data):
    del step(data, "pH")["options"][0]["block"]["at_least"]


def amount_in_no_range(data):
    del step(data, "weigh")["amount"]["field"]


def choice_that_refuses(data):
    step(data, "label")["kind"] = "choice"


def no_tools(data):
    data["tools"] = []


def no_risks(data):
    data["risks"] = []


def unknown_group(data):
    data["group"] = "whenever"


def left_off_without_saying(data):
    data["leaves_off"] = True


BROKEN = [
    gear_never_asked_for,
    gear_taken_off_and_not_asked_for_again,
    unknown_substance,
    gear_without_a_gate,
    unknown_way_of_delivery,
    depends_on_nothing_asked,
    delivery_that_depends,
    unknown_sum,
    unknown_kind_of_record,
    block_without_a_bound,
    amount_in_no_range,
    choice_that_refuses,
    no_tools,
    no_risks,
    unknown_group,
    left_off_without_saying,
    drop_refusal,
    drop_answers,
    act_with_choice,
    wait_without_timer,
    wait_of_nothing,
    wait_shorter_than_its_least,
    amount_without_rule,
    amount_by_unknown_fact,
    back_before_the_powder,
    back_to_later,
    refusal_without_reason,
    record_of_nothing_measured,
    same_key_twice,
    same_answer_twice,
    never_on_again,
    unknown_delivery,
    unknown_kind,
    unknown_field,
    missing_sentence,
    text_for_number,
    no_steps,
    steps_not_a_list,
    step_not_an_object,
    newer_version,
    foreign_format,
]


@pytest.mark.parametrize("broken", BROKEN, ids=lambda broken: broken.__name__)
def test_broken_procedure_is_refused(data: dict, broken):
    parse_procedure(data)
    broken(data)
    with pytest.raises(InvalidProcedure) as caught:
        parse_procedure(data)
    assert str(caught.value)
