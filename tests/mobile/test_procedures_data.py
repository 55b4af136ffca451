"""The procedure's file and its sentences: order, waits, reading ease, hazards."""

import re

import pytest

from engine.procedure_answers import HELD_CODES
from engine.procedure_schema import StepKind
from mobile.procedures import all_procedures, load_procedure
from mobile.state.mix import option_label
from mobile.texts.procedures import HAZARD_SOURCE, HAZARDS, TEXTS

PROCEDURE = load_procedure("recharge_vessel")
STEPS = {step.key: step for step in PROCEDURE.steps}
ORDER = list(STEPS)
ALL_STEPS = [step for procedure in all_procedures() for step in procedure.steps]

# Order and waits of the recharge: common practice, no source.
PRACTICE = [
    "label",
    "pH",
    "home",
    "children_pets",
    "water",
    "goggles",
    "mask",
    "gloves",
    "pump_off",
    "stirrer_off",
    "top_off_off",
    "outlet_jug",
    "pressure",
    "draw_off",
    "weigh",
    "swirl",
    "pour",
    "wipe_seal",
    "close_lid",
    "stir",
    "rest",
    "run_clear",
    "clear",
    "feed_off",
    "outlet_back",
    "pH_again",
    "all_on",
    "drip",
    "rinse_gloves_2",
    "gloves_off_2",
    "wash_hands_2",
    "wipe_phone_2",
    "first_hour",
    "look",
]
HEADS = {"read", "stop", "take", "lay", "hang", "loosen", "draw", "fill", "weigh", "close"} | {
    "swirl", "pour", "wipe", "switch", "let", "see", "rinse", "wash", "run", "look", "unplug"
}  # fmt: skip


def test_steps_follow_the_order_of_practice():
    places = [ORDER.index(key) for key in PRACTICE]
    assert places == sorted(places)


def test_waits_are_those_of_practice():
    waits = {s.key: (s.timer.least_min, s.timer.advised_min) for s in ALL_STEPS if s.timer}
    assert waits == {"stir": (5, 5), "rest": (120, 240), "first_hour": (60, 60)}


@pytest.mark.parametrize(
    "key",
    PRACTICE[:1] + PRACTICE[3:11],
)
def test_each_condition_is_a_gate_of_its_own_before_powder_is_opened(key: str):
    assert STEPS[key].kind is StepKind.GATE
    assert ORDER.index(key) < ORDER.index("weigh")


def test_powder_is_open_for_few_taps():
    assert ORDER.index("close_tub") - ORDER.index("weigh") == 1
    assert ORDER.index("close_lid") - ORDER.index("weigh") <= 5
    assert ORDER.index("rinse_gloves_1") < ORDER.index("rest")


def test_gear_is_asked_for_before_a_step_needs_it():
    for place, step in enumerate(PROCEDURE.steps):
        before = ORDER[:place]
        assert all(piece in before for piece in step.gear), step.key


def test_gear_is_put_on_again_after_the_rest():
    last_off = ORDER.index("gloves_off_1")
    for key in ORDER[ORDER.index("run_clear") : ORDER.index("all_on") + 1]:
        assert STEPS[key].gear == ("goggles", "gloves")
    assert last_off < ORDER.index("goggles_again") < ORDER.index("gloves_again")
    assert ORDER.index("gloves_again") < ORDER.index("run_clear")


def test_every_key_of_every_file_has_its_sentence():
    for step in ALL_STEPS:
        keys = {step.sentence, *step.notes}
        for option in step.options:
            assert option_label(step, option)
            keys |= {option.reason} - {""}
            if option.block:
                keys.add(option.block.reason)
        for key in keys:
            assert TEXTS[key].rstrip().endswith((".", "?")), key
    assert set(HELD_CODES) <= set(TEXTS)
    assert {f"fact_{fact}" for p in all_procedures() for fact in p.facts} <= set(TEXTS)


def test_no_sentence_of_a_step_is_left_over():
    used = {key for step in ALL_STEPS for key in (step.sentence, *step.notes)}
    used |= {f"{s.sentence}_{o.answer}" for s in ALL_STEPS for o in s.options}
    used |= {o.reason for s in ALL_STEPS for o in s.options}
    used |= {o.block.reason for s in ALL_STEPS for o in s.options if o.block}
    frame = TEXTS.keys() - used
    sentences = {step.sentence for step in ALL_STEPS}
    left = {k for k in frame if any(k.startswith(f"{s}_") for s in sentences)}
    assert left == {"mix_weigh_as_advised", "mix_weigh_other"}


@pytest.mark.parametrize("key", TEXTS)
def test_sentences_have_at_most_18_words(key: str):
    for part in re.split(r"[.!?](?:\s|$)", TEXTS[key]):
        assert len(part.split()) <= 18, part


@pytest.mark.parametrize("step", ALL_STEPS, ids=lambda step: step.key)
def test_one_act_a_step(step):
    words = TEXTS[step.sentence]
    assert len(re.findall(r"[.?!](?:\s|$)", words)) == 1
    assert ";" not in words
    lower = words.lower()
    if step.kind in (StepKind.ACT, StepKind.AMOUNT, StepKind.WAIT):
        assert lower.split()[0] in HEADS
        assert not re.search(rf"(?:\band|\bthen|,) (?:{'|'.join(HEADS)})\b", lower)
    else:
        assert words.endswith("?")


def test_questions_are_asked_of_gates_and_checks_only():
    for step in ALL_STEPS:
        is_question = TEXTS[step.sentence].endswith("?")
        assert is_question is (step.kind in (StepKind.GATE, StepKind.CHECK))


def test_hazard_statements_are_those_of_calcium_hydroxide():
    # GHS annex 3 and CLP annex III wording; classification by REACH 01-2119475151-45.
    assert "1272/2008" in HAZARD_SOURCE
    assert "01-2119475151-45" in HAZARD_SOURCE
    assert HAZARDS == {
        "signal": "Danger",
        "H315": "Causes skin irritation.",
        "H318": "Causes serious eye damage.",
        "H335": "May cause respiratory irritation.",
    }
    assert PROCEDURE.hazards == ("H315", "H318", "H335")


def test_label_gate_names_the_one_powder_and_refuses_the_dangerous_one():
    assert TEXTS["mix_label_calcium_hydroxide"] == "Calcium hydroxide, CAS 1305-62-0"
    why = TEXTS["mix_label_other_why"]
    assert "Calcium oxide (quicklime) boils" in why
    assert "Do not use" in why


def test_no_sentence_tells_to_use_acid_or_to_stop_the_circulation():
    everything = " ".join(TEXTS.values()).lower()
    assert not re.search(r"\b(vinegar|acid|citric|power off)\b", everything)
    assert "return pump, flow and heater stay on" in everything


def test_eyes_are_rinsed_at_once_for_20_minutes():
    assert TEXTS["mix_water_note"].startswith("It is for the eyes: rinse at once, for 20 minutes")
