"""The open entry as a value: keys pressed, units changed, what a save would say."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine.records import SecondSource, Setup
from mobile.state import entry, entry_draft, setup_draft, setup_pages
from mobile.state.entry import Ready
from mobile.state.entry_draft import ERASE, Draft
from mobile.state.forms import FORMS, offered
from mobile.state.setup_pages import BY_KEY, OFFERED
from tests.support.app import START, first_records


@pytest.mark.parametrize(
    ("keys", "typed"),
    [
        ("8.2", "8.2"),
        (".5", "0.5"),
        ("8..2.", "8.2"),
        ("1234567890", "123456789"),
        (("8", ".", ERASE, ERASE, ERASE), ""),
        (("8", ERASE, "9"), "9"),
    ],
)
def test_keys_make_one_number(keys: tuple[str, ...], typed: str):
    text = ""
    for key in keys:
        text = entry_draft.press_text(text, key)
    assert text == typed


def test_changing_the_unit_keeps_the_digits():
    draft = entry_draft.press(entry_draft.opened(FORMS["calcium"], {}), "4")
    changed = entry_draft.with_unit(draft, "calcium", "mmol/L")
    assert changed.texts == {"calcium": "4"}
    assert changed.units == {"calcium": "mmol/L"}


def test_entry_opens_in_the_unit_used_last_when_it_is_ours():
    form = FORMS["total_alkalinity"]
    opened = entry_draft.opened(form, {"total_alkalinity": "meq/L"})
    assert opened.units["total_alkalinity"] == "meq/L"
    assert (
        entry_draft.opened(form, {"total_alkalinity": "drops"}).units["total_alkalinity"] == "dKH"
    )


@pytest.mark.parametrize(
    ("span", "said"),
    [
        (timedelta(minutes=15), "15 min ago"),
        (timedelta(hours=1), "1 h ago"),
        (timedelta(days=2, hours=3, minutes=30), "2 d 3 h 30 min ago"),
    ],
)
def test_time_back_is_said_in_whole_parts(span: timedelta, said: str):
    assert entry_draft.ago(span) == said


@pytest.mark.parametrize(
    ("what", "remarks", "told"),
    [
        ("Calcium 420 mg/L", (), "Calcium 420 mg/L"),
        ("Calcium 420 mg/L", ("One.", "Two."), "Calcium 420 mg/L. One. Two"),
        ("", ("One.",), "One"),
    ],
)
def test_what_is_told_has_one_full_stop_between_sentences(
    what: str, remarks: tuple[str, ...], told: str
):
    assert entry.told(Ready({}, START, what, remarks)) == told


def test_second_source_is_offered_only_to_a_system_that_has_one():
    setup, _setting = first_records()
    second = {key for key in FORMS if key.startswith("second_")}

    def seconds(setup: Setup | None) -> set[str]:
        return second & {form.key for form in offered(setup)}

    assert isinstance(setup, Setup)
    assert seconds(None) == seconds(setup) == set()
    assert seconds(replace(setup, second_source=SecondSource.REACTOR)) == {"second_reactor"}
    assert [form.key for form in offered(setup)][:2] == ["total_alkalinity", "refill"]


def test_every_form_opens_with_its_choices_and_a_unit_for_each_number():
    for form in FORMS.values():
        draft = entry_draft.opened(form, {})
        assert set(draft.units) == {field.key for field in form.fields}
        for choice in form.choices:
            taken = draft.answers[choice.key]
            assert taken in choice.options if choice.preset else taken == "", form.key
        assert draft.active == (form.fields[0].key if form.fields else "")
        assert isinstance(draft, Draft)


def test_page_that_is_left_keeps_what_is_in_order_and_drops_what_is_not():
    page = BY_KEY["evaporation"]
    answers = setup_draft.opened(page, OFFERED)
    assert answers.active == "evaporation_low_L_per_day"
    for key in "6.3":
        answers = setup_draft.pressed(answers, key)
    answers = setup_draft.activated(answers, page.asks[1])
    for key in "999999999":
        answers = setup_draft.pressed(answers, key)
    left = setup_draft.left(page, answers)
    assert left["evaporation_low_L_per_day"] == 6.3
    assert left["evaporation_high_L_per_day"] is None


def test_faults_keep_the_answers_of_before():
    page = BY_KEY["targets"]
    answers = setup_draft.activated(setup_draft.opened(page, OFFERED), page.asks[0])
    for key in "99":
        answers = setup_draft.pressed(answers, key)
    read = setup_draft.taken(page, answers, "meq/L")
    assert read.before == OFFERED
    assert len(read.faults) == 1
    assert read.faults[0].startswith("Target: 99 dKH cannot be entered here")


def test_demand_of_a_steady_dose_counts_both_sources_and_none_is_none():
    own = {
        "second_source": "two_part",
        "two_part_meq_per_mL": 1.5,
        "two_part_mL_per_day": 40.0,
    }
    draft = {**OFFERED, "net_volume_L": 400.0, **own}
    assert setup_pages.held_demand_meq_per_L_per_day(draft) == pytest.approx(0.15)
    assert setup_pages.held_demand_meq_per_L_per_day({**OFFERED, "net_volume_L": 400.0}) is None
    reactor = {
        "second_source": "reactor",
        "reactor_effluent_meq_per_L": 12.0,
        "target_total_alkalinity_meq_per_L": 3.0,
        "flow_L_per_day": 20.0,
    }
    draft = {**OFFERED, "net_volume_L": 400.0, **reactor}
    assert setup_pages.held_demand_meq_per_L_per_day(draft) == pytest.approx(20 * 9 / 400)
