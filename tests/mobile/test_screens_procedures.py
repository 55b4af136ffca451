"""Every procedure on the screen, as a keeper does it: told, walked, killed, resumed, kept."""

from dataclasses import replace

import pytest

from engine.procedures.schema import Leads, Procedure, Step, StepKind
from engine.records import Delivery, Setup
from mobile.procedures import all_procedures, load_procedure
from mobile.texts.procedures import FIRST_AID, TEXTS
from tests.support.app import START, Phone, Running, not_for_people, scenario_records
from tests.support.procedure_runs import READ, ways

PROCEDURES = all_procedures()
CONFIRM = "confirm-amount"
# What another system than that of the runs without a screen reads.
HERE = {"drops_1_count": "80", "drops_2_count": "80", "drops_3_count": "80"}


def records_for(procedure: Procedure) -> tuple:
    """Return the demo's log, limewater given in the first way that the procedure is meant for."""
    delivery = Delivery((procedure.deliveries or ("pump_vessel",))[0])
    containers = {} if delivery is Delivery.PUMP_VESSEL else {"lime_container_L": 20.0}
    # a volume that is only guessed, so that every way of finding it is surer
    unsure = {"net_volume_error_share": 0.3} if procedure.key == "true_volume" else {}
    return tuple(
        replace(record, delivery=delivery, **containers, **unsure)
        if isinstance(record, Setup)
        else record
        for record in scenario_records("demo_system", START)
    )


def step_shown(app: Running) -> str:
    keys = {str(getattr(control, "key", "")) for control in app.screen.controls()}
    (found,) = (key for key in keys if key.startswith("step-"))
    return found.removeprefix("step-")


async def begin(app: Running, procedure: Procedure) -> None:
    await app.go(f"/mix/{procedure.key}")
    if procedure.key == "new_vessel":
        await commission(app)
        await app.go(f"/mix/{procedure.key}")
    await app.tap("answer-start")


async def commission(app: Running) -> None:
    trial = load_procedure("commissioning")
    await app.go(f"/mix/{trial.key}")
    await app.tap("answer-start")
    await walk(app, trial, {})


async def go_on(app: Running, step: Step, choices: dict[str, str]) -> None:
    """Do one step as asked."""
    if step.kind is StepKind.WAIT:
        assert step.timer is not None
        app.clock.move(minutes=step.timer.advised_min + 1)
        app.store.refresh_if_ready()
        await app.screen.settle()
        await app.tap("answer-continue")
    elif step.amount is not None:
        await enter(app, step.amount.name)
    else:
        first = next(o.answer for o in step.options if o.leads is Leads.ON)
        await app.tap(f"answer-{choices.get(step.key, first)}")


async def enter(app: Running, name: str) -> None:
    advised = [
        str(control.key)
        for control in app.screen.controls()
        if str(getattr(control, "key", "")).startswith("answer-")
    ]
    if advised:
        await app.tap(advised[0])
        return
    await app.type(HERE.get(name, READ[name]))
    await app.tap("use-amount")
    if app.has(CONFIRM):
        await app.tap(CONFIRM)


async def walk(app: Running, procedure: Procedure, choices: dict[str, str], look=None) -> list[str]:
    """Do every step to the end; return the keys of the steps."""
    steps = {step.key: step for step in procedure.steps}
    seen: list[str] = []
    while (key := step_shown(app)) in steps:
        assert key not in seen, (key, app.screen.texts())
        seen.append(key)
        if look:
            app = await look(app, key) or app
        await go_on(app, steps[key], choices)
    return seen


def check_words(app: Running) -> None:
    assert not app.failed
    assert [text for text in app.screen.texts() if not_for_people(text)] == []
    assert not app.says("cannot be worked out"), app.screen.texts()


def looking(procedure: Procedure):
    """Return a look at each step: words, and that a gate is one separate act, not yet answered."""
    steps = {step.key: step for step in procedure.steps}
    told: list[str] = []

    async def look(app: Running, key: str) -> None:
        check_words(app)
        mine = [r for r in app.stored("procedure_run") if r["procedure"] == procedure.key]
        assert [r["step"] for r in mine if r["event"] == "step_done"] == told, "one tap, one act"
        told.append(key)
        if steps[key].kind is StepKind.GATE:
            shown = {str(c.key) for c in app.screen.controls() if getattr(c, "key", None)}
            assert {f"answer-{option.answer}" for option in steps[key].options} <= shown
            assert not any(text.startswith("✓") for text in app.screen.texts())

    return look


WALKS = [
    pytest.param(p, choices, id=f"{p.key}-{n}")
    for p in PROCEDURES
    for n, choices in enumerate(ways(p))
]


@pytest.mark.parametrize(("procedure", "choices"), WALKS)
async def test_walked_to_the_end_on_the_screen(phone: Phone, procedure: Procedure, choices):
    app = await phone.open(records=records_for(procedure))
    await begin(app, procedure)
    delivery = str(app.store.snapshot.setup.delivery)
    seen = await walk(app, procedure, choices, looking(procedure))
    assert seen == [step.key for step in procedure.path(delivery, choices)]
    assert app.text("step") == TEXTS[f"{procedure.key}_finished"]
    runs = [r for r in app.stored("procedure_run") if r["procedure"] == procedure.key]
    assert runs[-1]["event"] == "finished"
    assert all(run["at"] for run in runs)
    check_words(app)
    await app.go("/mix")
    check_words(app)
    assert any("Last done:" in text for text in app.all_words(f"procedure-{procedure.key}"))


@pytest.mark.parametrize(
    "procedure",
    [
        pytest.param(p, id=p.key, marks=() if p.key == "pump_check" else pytest.mark.long)
        for p in PROCEDURES
    ],
)
async def test_killed_at_each_step_on_the_screen(phone: Phone, procedure: Procedure):
    app = await phone.open(records=records_for(procedure))
    await begin(app, procedure)
    steps = {step.key: step for step in procedure.steps}
    while (key := step_shown(app)) in steps:
        said = app.text("step")
        app = await phone.reopen(app)
        await app.go(f"/mix/{procedure.key}")
        assert (step_shown(app), app.text("step")) == (key, said)
        await go_on(app, steps[key], {})
    assert app.text("step") == TEXTS[f"{procedure.key}_finished"]


@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda p: p.key)
async def test_before_the_start_tools_risks_and_first_aid_are_told(phone: Phone, procedure):
    app = await phone.open(records=records_for(procedure))
    await app.go(f"/mix/{procedure.key}")
    check_words(app)
    for key in (*procedure.tools, *procedure.risks):
        assert app.says(TEXTS[key])
    assert app.says(FIRST_AID["never"]) is ("H318" in procedure.hazards)
    assert app.stored("procedure_run") == []


async def test_list_is_by_occasion_with_what_fits_this_system_first(app: Running):
    await app.go("/mix")
    texts = app.screen.texts()
    titles = [
        "Daily and weekly care",
        "When something happened",
        "New or changed equipment",
        "Going away",
        "For another way of giving limewater",
    ]
    places = [texts.index(title) for title in titles]
    assert places == sorted(places)
    for title in ("Prepare a lime reservoir", "Set up tonight's drip"):
        assert texts.index(title) > places[-1], "not for a stirred vessel"
    assert texts.index("Recharge the stirred vessel") < places[1]


async def test_open_run_stands_on_top_of_the_list(app: Running):
    await app.go("/mix/dispose")
    await app.tap("answer-start")
    await app.go("/mix")
    texts = app.screen.texts()
    assert texts.index("Under way") < texts.index("Dispose of sludge or spilled powder")
    assert texts.index("Dispose of sludge or spilled powder") < texts.index("Daily and weekly care")
    assert texts.count("Dispose of sludge or spilled powder") == 1


async def test_procedure_without_its_numbers_says_which_and_does_not_start(app: Running):
    await app.go("/mix/new_vessel")
    assert app.says("This cannot be worked out: the plan's litres (see Plan) is missing.")
    assert not app.has("answer-start")


async def test_numbers_of_a_run_stay_as_they_were_at_its_start(app: Running):
    await app.go("/mix/recharge_vessel")
    await app.tap("answer-start")
    (start,) = app.stored("procedure_run")
    assert "recharge_powder_g=" in start["facts"]
    assert start["delivery"] == "pump_vessel"
    await app.record("delivery_setting", "1")
    await app.go("/mix/recharge_vessel")
    await app.tap("ahead")
    weighed = [text for text in app.screen.texts() if "of powder into the jar" in text]
    await app.store.undo()
    await app.screen.settle()
    assert weighed
    assert weighed == [text for text in app.screen.texts() if "of powder into the jar" in text]


async def test_first_week_of_a_new_vessel_is_led_by_its_stages_not_by_the_whole_plan(phone: Phone):
    procedure = load_procedure("new_vessel")
    app = await phone.open(records=records_for(procedure))
    await begin(app, procedure)
    steps = {step.key: step for step in procedure.steps}
    while (key := step_shown(app)) != "three_days":
        await go_on(app, steps[key], {})
    half = app.stored("delivery_setting")[-1]["limewater_L_per_day"]
    await app.go("/")
    assert app.text("decision") == f"Leave the pump at {half:g} L a day."
    assert app.says('The procedure "Start a new vessel" says when more is set. Go on with it.')
    assert not app.has("as-told")
    await app.go("/plan")
    assert app.text("plan-lead") == f"Leave the pump at {half:g} L a day."
    assert not app.has("plan-dose")
    await app.go("/plan/day")
    assert app.text("plan-lead") == f"Leave the pump at {half:g} L a day."
    await app.go(f"/mix/{procedure.key}")
    await walk(app, procedure, {})
    await app.go("/")
    assert not app.says("says when more is set")


async def test_measured_strength_changes_what_today_says(phone: Phone):
    app = await phone.open(records=records_for(load_procedure("strength_conductivity")))
    await app.go("/")
    before = app.text("decision")
    await app.go("/mix/strength_conductivity")
    await app.tap("answer-start")
    steps = {s.key: s for s in load_procedure("strength_conductivity").steps}
    while (key := step_shown(app)) != "reading":
        await go_on(app, steps[key], {})
    await app.type("5.2")
    await app.tap("use-amount")
    assert app.text("step").startswith("Keep 60 % of saturated"), app.text("step")
    assert app.says("Weak: recharge. Never turn the pump up instead.")
    await app.tap("answer-keep")
    (strength,) = (r for r in app.stored("limewater_strength") if r["reading_mS_per_cm"] == 5.2)
    assert strength["own_saturated_mS_per_cm"] == 8.1
    await app.go("/")
    assert app.text("decision") != before
    assert app.text("decision").startswith("Recharge the lime. Leave the pump at 5 L a day")


async def test_corrected_volume_is_a_new_set_up_without_undo(phone: Phone):
    app = await phone.open(records=records_for(load_procedure("true_volume")))
    await app.go("/mix/true_volume")
    await app.tap("answer-start", "answer-fill")
    await app.type("430")
    await app.tap("use-amount", "answer-take")
    assert app.store.snapshot.setup.net_volume_L == 430.0
    assert app.store.snapshot.setup.net_volume_error_share == 0.03
    assert app.store.snapshot.setup.name == "Slate Street (demo)"
    assert not app.has("undo")


async def test_a_probe_found_off_is_said_wherever_pH_is_asked_for(phone: Phone):
    procedure = load_procedure("meter_checks")
    app = await phone.open(records=records_for(procedure))
    await app.go("/record/pH_nbs")
    assert not app.has("meter-drift")
    await begin(app, procedure)
    await app.tap("answer-yes", "answer-done")
    for digits in ("7.25", "10.1"):
        await app.type(digits)
        await app.tap("use-amount")
    assert app.text("step") == "The probe is off by 0.25 at most."
    await app.tap("answer-done", "answer-no")
    for _ in range(3):  # neither the meter nor the reagent nor the fresh water today
        await app.tap("answer-no")
    await app.tap("answer-done")
    assert app.stored("meter_check")[-1]["off_pH"] == 0.25
    app = await phone.reopen(app) if phone._folder else app
    await app.go("/record/pH_nbs")
    assert app.text("meter-drift").startswith("At its last check your probe was off by 0.25.")
    await app.go("/jobs/ph_calibrate")
    assert app.says("At its last check the probe was off by 0.25. Calibrate it now.")
    await app.go("/history")
    assert app.says("Meter check: pH probe: 0.25 too high")
    await app.go("/mix/recharge_vessel")
    await app.tap("answer-start", "answer-done", "answer-calcium_hydroxide")
    assert app.says("Your probe was off by 0.25 at its last check. Calibrate it, then measure.")


async def test_volume_by_salinity_never_replaces_a_surer_one(phone: Phone):
    procedure = load_procedure("true_volume")
    app = await phone.open(records=scenario_records("demo_system", START))
    before = app.store.snapshot.setup
    await begin(app, procedure)
    steps = {step.key: step for step in procedure.steps}
    await app.tap("answer-salinity")
    while (key := step_shown(app)) != "keep":
        if key == "fine":
            assert app.says("a fall of 0.5 PSU tells the volume to about 23 % either way.")
        await go_on(app, steps[key], {})
    await app.tap("answer-take")
    assert step_shown(app) == "keep"
    assert app.text("held").endswith("Setup keeps its volume. Counting litres at a fill is surest.")
    assert app.store.snapshot.setup == before
