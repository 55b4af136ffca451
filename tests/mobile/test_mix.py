"""The page of a run: ready sentences, answers and times."""

from datetime import UTC, datetime, timedelta

import pytest

from engine.procedures.answers import Answered, Held, stop
from engine.procedures.runs import CONTINUE, CONTINUE_EARLY, WAIT_AGAIN, RunState
from engine.procedures.schema import StepKind
from mobile.procedures import load_procedure
from mobile.state.mix import START, MixView, confirm_label, held_sentence, mix_view
from tests.support.procedure_runs import Log

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
PROCEDURE = load_procedure("recharge_vessel")
STEPS = {step.key: step for step in PROCEDURE.steps}


def opened(until: str = "") -> Log:
    log = Log(PROCEDURE, NOW)
    log.begin()
    if until:
        log.walk_to(until)
    return log


def view(log: Log) -> MixView:
    return mix_view(PROCEDURE, log.at, log.facts, log.now)


def test_start_page_shows_hazards_and_all_steps_ahead():
    page = view(Log(PROCEDURE, NOW))
    assert page.hazards[0] == "Danger:"
    assert "Causes serious eye damage." in page.hazards
    assert [option.answer for option in page.options] == [START]
    assert len(page.read_ahead) == len(PROCEDURE.steps)
    assert "Weigh 110 g of powder into the jar, on the scale." in page.read_ahead


def test_first_aid_for_the_eyes_comes_first_and_nothing_twice():
    page = view(Log(PROCEDURE, NOW))
    assert page.first_aid[0].startswith("In the eyes: rinse at once")
    assert len(set(page.first_aid)) == len(page.first_aid) == 5


def test_start_is_not_offered_while_a_number_is_missing():
    log = Log(PROCEDURE, NOW)
    del log.facts["largest_charge_powder_g"]
    page = view(log)
    assert page.options == ()
    (warning,) = page.warnings
    assert warning.startswith(
        "This cannot be worked out: the largest charge (vessel in Setup) is missing."
    )


@pytest.mark.parametrize("key", STEPS)
def test_every_step_has_a_page(key: str):
    log = opened(key)
    page = view(log)
    assert page.step_key == key
    assert page.place == f"Step {list(STEPS).index(key) + 1} of {len(STEPS)}"
    assert page.sentence
    assert "missing" not in page.sentence
    assert page.may_stop
    is_wait = STEPS[key].kind is StepKind.WAIT
    assert bool(page.options) is not is_wait  # just begun, a wait offers nothing
    assert bool(page.countdown) is is_wait
    assert page.warnings == ()


def test_gate_shows_one_button_for_each_answer_and_the_refusing_one_differs():
    page = view(opened("label"))
    assert [(option.label, option.weight) for option in page.options] == [
        ("Calcium hydroxide, CAS 1305-62-0", "primary"),
        ("Something else, or not sure", "stop"),
    ]


def test_powder_step_shows_grams_hazards_and_one_tap():
    page = view(opened("weigh"))
    assert page.sentence == "Weigh 110 g of powder into the jar, on the scale."
    assert page.hazards[0] == "Danger:"
    assert [(o.label, o.answer) for o in page.options] == [("110 g weighed", "110")]
    assert page.amount is not None
    assert page.amount.unit == "g"


def test_amounts_that_are_held_are_explained():
    log = opened("weigh")
    above, unusual = log.give("1100"), log.give("54")
    assert isinstance(above, Held)
    assert isinstance(unusual, Held)
    assert held_sentence(above) == (
        "1100 g is more than this vessel may be given: 150 g. Weigh less powder in."
    )
    assert confirm_label(above) == ""
    assert held_sentence(unusual).startswith("54 g is far from the 110 g worked out")
    assert confirm_label(unusual) == "Keep 54 g"
    empty = log.give("")
    assert isinstance(empty, Held)
    assert held_sentence(empty) == "Type the value first."


def test_recorded_high_pH_is_told_with_its_value():
    log = opened("pH")
    log.facts["last_pH"] = 8.5
    found = log.give("below")
    assert isinstance(found, Held)
    assert held_sentence(found).startswith("Your last record says pH 8.50.")


def test_rest_counts_down_in_three_stages():
    log = opened("rest")
    begun = log.now
    assert begun == datetime(2026, 11, 24, 9, 5, tzinfo=UTC)
    log.now = begun + timedelta(minutes=10)
    assert view(log).countdown == "1 h 50 min until you may go on, at 11:05. Advised until 13:05."
    assert view(log).options == ()
    log.now = begun + timedelta(hours=2, minutes=10)
    assert view(log).countdown == "You may go on. Better wait 1 h 50 min more, until 13:05."
    assert [(o.answer, o.weight) for o in view(log).options] == [(CONTINUE_EARLY, "caution")]
    log.now = begun + timedelta(hours=5)
    assert view(log).countdown == "The wait ended at 13:05, 60 min ago."
    assert [(o.answer, o.weight) for o in view(log).options] == [(CONTINUE, "primary")]


def test_stirring_counts_down_to_one_end():
    log = opened("stir")
    log.now += timedelta(minutes=2, seconds=10)
    assert view(log).countdown == "3 min left, until 09:05."
    assert view(log).tick_until == datetime(2026, 11, 24, 9, 5, tzinfo=UTC)


def test_wait_that_ends_tomorrow_names_the_day():
    log = Log(PROCEDURE, NOW.replace(hour=22))
    log.begin()
    log.walk_to("rest")
    assert "Wed 25 Nov, 02:05" in view(log).countdown


def test_pause_of_limewater_is_told_from_switching_off_to_switching_on():
    log = opened("stirrer_off")
    assert view(log).paused == "Limewater is paused since 09:00."
    log.walk_to("all_on")
    assert view(log).paused
    log.go_on()
    assert view(log).paused == ""


def test_resumed_after_a_while_the_gear_is_asked_for():
    log = opened("swirl")
    log.now += timedelta(minutes=25)
    assert view(log).warnings == ("Put this on again before you go on: goggles, mask, gloves.",)


def test_moved_clock_is_told_and_the_wait_can_be_started_anew():
    log = opened("rest")
    log.now -= timedelta(days=1)
    page = view(log)
    assert page.warnings[0].startswith("This phone's clock was moved back.")
    assert [option.answer for option in page.options] == [WAIT_AGAIN]


def test_stop_by_a_gate_tells_why_and_that_nothing_was_changed():
    log = opened("goggles")
    log.give("missing")
    page = view(log)
    assert page.state is RunState.STOPPED
    assert page.notes == (
        "Open nothing without goggles: lime blinds. Get some first.",
        "Nothing was changed on the system.",
    )
    assert [option.answer for option in page.options] == [START]


@pytest.mark.parametrize(
    ("key", "part"),
    [
        ("mask", "Nothing was changed"),
        ("swirl", "Limewater is still switched off."),
        ("wipe_seal", "It must rest 4 hours and run clear into a jug before any dose."),
        ("rest", "It must rest 4 hours and run clear into a jug before any dose."),
        ("first_hour", "Limewater is on again"),
    ],
)
def test_stop_by_the_keeper_tells_before_and_after_what_it_leaves_behind(key: str, part: str):
    log = opened(key)
    assert part in view(log).stop_ask
    stopped = stop(PROCEDURE, log.at)
    assert isinstance(stopped, Answered)
    log.add(stopped)
    assert view(log).sentence == "You stopped this run."
    assert part in view(log).notes[-1]


def test_finished_run_tells_the_next_check_and_offers_a_new_one():
    log = opened()
    log.walk_through()
    page = view(log)
    assert page.sentence == "Finished. Check the strength of the limewater in 24 hours."
    assert page.paused == ""
    assert [option.answer for option in page.options] == [START]


def test_number_that_went_missing_in_a_run_gives_no_number():
    log = opened("weigh")
    del log.facts["recharge_powder_g"]
    page = view(log)
    assert page.options == ()
    assert page.sentence.startswith("This cannot be worked out: the powder for a recharge")
