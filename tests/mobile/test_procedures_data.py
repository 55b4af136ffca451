"""The procedures' files and their sentences: order, waits, reading ease, hazards."""

import re
from string import Formatter

import pytest

from engine.procedures.answers import HELD_CODES
from engine.procedures.checks import known_facts
from engine.procedures.schema import StepKind
from mobile.procedures import all_procedures, load_procedure
from mobile.state.mix import option_label
from mobile.texts.procedures import (
    CALLED_FOR_BY,
    DANGER,
    FIRST_AID,
    FIRST_AID_SOURCE,
    HAZARD_SOURCE,
    HAZARDS,
    TEXTS,
)

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
    "swirl", "pour", "wipe", "switch", "let", "see", "rinse", "wash", "run", "look", "unplug",
    "add", "carry", "catch", "change", "check", "choose", "cover", "count", "dissolve", "empty",
    "enter", "fit", "fix", "give", "hand", "keep", "leave", "lift", "mark", "measure", "open",
    "pinch", "pull", "pump", "put", "reckon", "scoop", "set", "shake", "stir", "swap", "test",
    "top", "wait", "write", "lead",
}  # fmt: skip


def test_steps_follow_the_order_of_practice():
    places = [ORDER.index(key) for key in PRACTICE]
    assert places == sorted(places)


# Waits in minutes, least and advised: common practice, no source.
WAITS = {
    "recharge_vessel": {"stir": (5, 5), "rest": (120, 240), "first_hour": (60, 60)},
    "lime_reservoir": {"stir": (2, 2), "rest": (360, 720)},
    "drip_setup": {"ten_minutes": (10, 10), "one_hour": (50, 60), "night": (360, 600)},
    "make_two_part": {},
    "pump_check": {},
    "strength_conductivity": {"settle": (720, 720)},
    "strength_dilution": {},
    "strength_titration": {},
    "safety_check": {"still": (2, 2)},
    "meter_checks": {},
    "water_change_day": {"settle": (15, 15), "hour": (60, 60), "six_hours": (300, 360)},
    "clean_scale": {"work": (30, 60), "run": (10, 10)},
    "power_cut_restart": {"settle": (15, 15), "hour": (60, 60)},
    "dispose": {},
    "commissioning": {"day": (1440, 1440)},
    "new_vessel": {
        "stir": (5, 5),
        "rest": (120, 240),
        "three_days": (4320, 4320),
        "four_days": (5760, 5760),
    },
    "tube_change": {"two_days": (2880, 2880)},
    "true_volume": {"mix": (60, 60)},
    "going_away": {},
}


def test_waits_are_those_of_practice():
    found = {
        p.key: {s.key: (s.timer.least_min, s.timer.advised_min) for s in p.steps if s.timer}
        for p in all_procedures()
    }
    assert found == WAITS


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


def sentence_keys(step) -> set[str]:
    """Return the keys of whole sentences that a step shows."""
    keys = {step.sentence, *step.notes, *(remark.note for remark in step.remarks)}
    keys |= {option.reason for option in step.options if option.reason}
    keys |= {option.block.reason for option in step.options if option.block}
    if step.amount is not None:
        keys |= {step.amount.above} if step.amount.largest else set()
        keys |= {step.amount.unusual} if step.amount.advised or step.amount.near else set()
    return keys


def label_keys(step) -> set[str]:
    """Return the keys of the words on a step's buttons."""
    keys = {f"{step.sentence}_{o.answer}" for o in step.options if o.answer != "done"}
    if step.amount is not None and step.amount.advised:
        keys |= {f"{step.sentence}_as_advised", f"{step.sentence}_other"}
    return keys


@pytest.mark.parametrize("procedure", all_procedures(), ids=lambda p: p.key)
def test_every_key_of_every_file_has_its_words(procedure):
    for step in procedure.steps:
        for key in sentence_keys(step):
            assert TEXTS[key].rstrip().endswith((".", "?")), key
        for key in label_keys(step):
            assert TEXTS[key], key
        assert all(option_label(step, option) for option in step.options)
    for key in (*procedure.tools, *procedure.risks):
        assert TEXTS[key]
    for end in ("", "_about", "_finished"):
        assert TEXTS[procedure.key + end]
    assert {f"fact_{fact}" for fact in procedure.facts} <= set(TEXTS)


def test_held_codes_have_sentences():
    assert set(HELD_CODES) <= set(TEXTS)


@pytest.mark.parametrize("procedure", all_procedures(), ids=lambda p: p.key)
def test_sentences_use_only_numbers_that_are_known_by_then(procedure):
    allowed = {"typed", "advised", "largest"}
    for place, step in enumerate(procedure.steps):
        known = known_facts(procedure, procedure.steps[: place + 1])
        for key in sentence_keys(step) | label_keys(step):
            named = {name for _, name, _, _ in Formatter().parse(TEXTS[key]) if name}
            assert named <= known | allowed, (step.key, key)


def test_no_words_are_left_over():
    used = {"lime_reservoir_powder_in"}
    for procedure in all_procedures():
        used |= {*procedure.tools, *procedure.risks}
        used |= {procedure.key + end for end in ("", "_about", "_finished")}
        for step in procedure.steps:
            used |= sentence_keys(step) | label_keys(step)
    frame = {key for key in TEXTS if key.startswith(("mix_", "fact_"))}
    assert TEXTS.keys() - used - frame == set()


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
    if step.kind is StepKind.RESULT:
        assert words.endswith(".")
    elif step.kind in (StepKind.ACT, StepKind.AMOUNT, StepKind.WAIT):
        assert lower.split()[0] in HEADS
        assert not re.search(rf"(?:\band|\bthen|,) (?:{'|'.join(HEADS)})\b(?!-)", lower)
    else:
        assert words.endswith("?")


def test_questions_are_asked_of_gates_and_checks_only():
    for step in ALL_STEPS:
        is_question = TEXTS[step.sentence].endswith("?")
        asked = step.kind in (StepKind.GATE, StepKind.CHECK, StepKind.CHOICE)
        assert is_question is asked, step.key


# GHS annex 3 and CLP annex III wording (from memory). Signal word Danger goes with H318.
STATEMENTS = {
    "H315": "Causes skin irritation.",
    "H318": "Causes serious eye damage.",
    "H319": "Causes serious eye irritation.",
    "H335": "May cause respiratory irritation.",
}


def test_hazard_statements_are_worded_as_the_regulation_words_them():
    # Classification of calcium hydroxide by REACH 01-2119475151-45: H315, H318, H335.
    assert "1272/2008" in HAZARD_SOURCE
    assert "01-2119475151-45" in HAZARD_SOURCE
    assert {code: HAZARDS[code] for code in STATEMENTS} == STATEMENTS
    assert (HAZARDS["signal"], HAZARDS["signal_warning"]) == ("Danger", "Warning")
    assert {"H318"} == DANGER


# Of the P statements (CLP annex IV; the codes for calcium hydroxide from its safety data sheets,
# the first aid from the ECHA registration dossier): the words without which an act is lost.
FIRST_AID_ACTS = {
    "P305+P351+P338+P310": ("eyes", "rinse", "20 minutes", "contact lenses", "calls the emergency"),
    "P302+P352+P332+P313+P362+P364": (
        "skin",
        "brush dry powder off",
        "rinse for 15 minutes",
        "clothes off and wash them",
        "see a doctor if the skin stays red",
    ),
    "P304+P340+P312": ("breathed in", "fresh air", "call a doctor"),
    "P301+P330+P331": ("swallowed", "rinse the mouth", "do not bring it up", "poison centre"),
    "never": ("never vinegar or any acid on skin or eyes",),
}


def test_first_aid_says_what_the_precautionary_statements_ask_for():
    assert "annex IV" in FIRST_AID_SOURCE
    assert set(FIRST_AID) == set(FIRST_AID_ACTS)
    for codes, acts in FIRST_AID_ACTS.items():
        words = FIRST_AID[codes].lower()
        assert all(act in words for act in acts), codes
        assert all(len(part.split()) <= 18 for part in re.split(r"[.!?](?:\s|$)", words))


@pytest.mark.parametrize("procedure", all_procedures(), ids=lambda p: p.key)
def test_what_is_handled_is_told_as_a_hazard(procedure):
    handled = {step.handles for step in procedure.steps}
    codes = set(procedure.hazards)
    assert codes <= set(STATEMENTS)
    if "dust" in handled:
        assert codes >= {"H315", "H318", "H335"}
    elif "solution" in handled:
        assert codes & {"H318", "H319"}
    shown = {key for code in codes for key in CALLED_FOR_BY[code]}
    assert shown <= set(FIRST_AID)
    if "H318" in codes:
        assert {"P305+P351+P338+P310", "P302+P352+P332+P313+P362+P364", "never"} <= shown


def powdered() -> list:
    return [p for p in all_procedures() if any(s.key == "weigh" for s in p.steps)]


@pytest.mark.parametrize("procedure", powdered(), ids=lambda p: p.key)
def test_powder_is_weighed_only_behind_label_gear_and_empty_room(procedure):
    before = [s for s in procedure.steps[: procedure.position("weigh")] if s.kind is StepKind.GATE]
    keys = {step.key for step in before}
    assert keys >= {"label", "pH", "children_pets", "water", "goggles", "mask", "gloves"}
    assert not any(step.when for step in before if step.key == "label")


def test_label_is_asked_for_wherever_powder_is_opened():
    for procedure in all_procedures():
        for place, step in enumerate(procedure.steps):
            opened = step.handles == "dust" and TEXTS[step.sentence].startswith("Weigh")
            labels = [s for s in procedure.steps[:place] if s.key == "label"]
            assert not opened or any(set(s.when) <= set(step.when) for s in labels), procedure.key


CAUTIONS = {
    "bleach": "poisonous gas",
    "metal": "acid dissolves them",
    "window": "must leave the room",
    "empty": "acid on powder",
    "open": "the gas bursts it",
    "rinsed": "no acid may reach lime or tank",
}


@pytest.mark.parametrize(("key", "why"), CAUTIONS.items())
def test_cleaning_with_acid_has_each_caution_as_a_gate_of_its_own(key: str, why: str):
    procedure = load_procedure("clean_scale")
    step = procedure.steps[procedure.position(key)]
    assert step.kind is StepKind.GATE
    reasons = " ".join(TEXTS[o.reason] for o in step.options if o.reason)
    assert why in reasons.lower()
    if key != "rinsed":
        assert procedure.position(key) < procedure.position("vinegar")


def test_acid_stays_off_people_and_away_from_the_tank():
    procedure = load_procedure("clean_scale")
    order = [step.key for step in procedure.steps]
    assert order.index("outside") < order.index("open") < order.index("vinegar")
    risks = " ".join(TEXTS[key] for key in procedure.risks)
    assert "Acid never belongs on skin or eyes" in risks
    assert "a closed vessel bursts" in risks
    assert procedure.leaves_off


def test_label_gate_names_the_one_powder_and_refuses_the_dangerous_one():
    assert TEXTS["mix_label_calcium_hydroxide"] == "Calcium hydroxide, CAS 1305-62-0"
    why = TEXTS["mix_label_other_why"]
    assert "Calcium oxide (quicklime) boils" in why
    assert "Do not use" in why


ABOUT_ACID = ("clean_", "tool_acid", "titration_", "strength_titration", "dilution_vial_note")


def test_acid_is_named_only_where_it_is_worked_with():
    for key, words in TEXTS.items():
        if not key.startswith(ABOUT_ACID):
            assert not re.search(r"\b(vinegar|acid|citric)\b", words.lower()), key


def test_circulation_is_never_stopped_by_lime_work():
    everything = " ".join(TEXTS.values()).lower()
    assert "power off" not in everything
    assert "return pump, flow and heater stay on" in everything


def test_eyes_are_rinsed_at_once_for_20_minutes():
    assert TEXTS["mix_water_note"].startswith("It is for the eyes: rinse at once, for 20 minutes")
