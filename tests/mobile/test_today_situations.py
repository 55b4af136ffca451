"""Ten situations of a keeper's week, and what Today must say in each (practice.md, section 4).

What to do, the figures, the reason, what not to do, and what comes next. Every figure is worked
out here by hand from the invented tank: limewater of 24 degC is 40.9 meq/L, one dKH is 0.3566
meq/L. Sentences, order and thresholds are common practice, no source.
"""

from dataclasses import replace

import pytest

from engine.records import (
    Container,
    Delivery,
    Happening,
    IncidentEvent,
    Refill,
    SecondSource,
    WaterTest,
)
from mobile.procedures import load_procedure
from mobile.state.today import today
from tests.mobile.test_screens_procedures import go_on, step_shown
from tests.support.app import Phone, first_records
from tests.support.keeper_log import KeeperLog, dkh, kettle
from tests.support.today import Told, numbers, of_log, of_scenario

LIME = 40.9  # meq/L of saturated limewater at 24 degC
DKH = 0.3566  # meq/L
VOLUME = 450.0
USE = 5.3 * LIME / VOLUME / DKH  # dKH a day of a tank held steady by 5.3 L: 1.35


def cared_for(log: KeeperLog) -> KeeperLog:
    """Add what a careful keeper measured: charge, pump, strength, refills to the mark."""
    log.recharge(4.0, 125.0).pump_check(10.0, 83.0, 83.0, 83.0, 82.5).strength(2.0, 0.98)
    for days_ago in range(20, -1, -3):
        log.refill(days_ago + 0.2, 21.0)
    return log


# --- 1


def test_1_all_well_says_so_proudly_with_level_powder_and_fresh_water():
    told = of_log(cared_for(kettle()))
    # This keeper's fresh water feeds the vessel from 25 L: right as set, and not safe.
    assert (told.view.tone, told.view.lead) == (
        "warn",
        "5.3 L a day is right. The set-up is not safe.",
    )
    safe = today(replace(told.snapshot, dangers=None))
    assert (safe.tone, safe.lead) == ("good", "Nothing to do. 5.3 L a day is right.")
    assert told.view.why == ()
    assert told.view.as_told is None
    assert not told.view.mind
    assert "Alkalinity 8.3 dKH, tested 12 h ago." in told.water
    low, high = numbers(told.water, "Expected now: # to # dKH")
    assert 7.8 <= low < 8.3 < high <= 8.7
    assert "Next alkalinity test: " in told.next_up
    # 125 g x 0.95 less a tenth; 5.3 L x 1.51 g/L of pure lime a day, four days used
    low, high = numbers(told.next_up, "Powder for # to # days")
    left = 125.0 * 0.95 * 0.92 / (5.3 * 1.51) - 4.0
    assert low < left < high
    assert low >= left - 4.0
    assert high <= left + 4.0
    assert "Refill the fresh-water container" in told.next_up


# --- 2


def test_2_a_test_of_eight_days_ago_is_asked_for_and_nothing_is_raised():
    log = KeeperLog().setup().pump(60.0, 5.3)
    for days_ago in range(29, 5, -3):
        log.test(float(days_ago), 8.3)
    told = of_log(log)
    assert told.view.tone == "warn"
    assert told.view.lead == (
        "Test alkalinity: the last test is 8 days old. Leave the pump at 5.3 L a day."
    )
    assert "Test before the lights come on. Until then nothing is raised." in told.first
    assert "Nothing to do" not in told.everything
    assert told.view.as_told is None
    # (8.3 - 6.5) / 1.35 a day is 1.3 days; the old test makes both ends wider
    late = numbers(told.first, "below 6.5 dKH in # h to # days")
    assert late[0] / 24.0 < (8.3 - 6.5) / USE < late[1]
    assert "Without limewater" not in told.water, "said once"
    assert "An alkalinity test is due" in told.next_up


def test_2_a_drip_is_left_as_a_drip():
    drip = {"delivery": Delivery.DRIP, "vessel_L": None, "lime_container_L": 2.0}
    log = KeeperLog().setup(**drip).pump(60.0, 1.4)
    for days_ago in range(29, 5, -3):
        log.test(float(days_ago), 8.3)
    assert of_log(log).view.lead.endswith("Leave the drip at 1.4 L a day.")


# --- 3


def test_3_a_weak_vessel_is_recharged_and_the_pump_is_not_turned_up():
    told = of_scenario("garnet_weak_vessel")
    assert told.view.lead == "Recharge the lime. Leave the pump at 5 L a day; do not turn it up."
    share, missing, fall = numbers(
        told.first, "at # % of its strength: the tank misses # meq a day, which is # dKH a day"
    )
    assert share == 36
    assert missing == pytest.approx(5.0 * LIME * 0.64, abs=2.0)
    assert fall == pytest.approx(5.0 * LIME * 0.64 / 500.0 / DKH, abs=0.03)
    grams, days = numbers(told.first, "Recharge by day: # g of powder lasts # days")
    assert grams / 0.95 / days == pytest.approx(5.0 * 1.515 / 0.95 / 0.95, rel=0.25)
    assert days == 14
    assert "powder lasts" not in told.next_up, "a spent bed has no days left"


def test_3_the_true_reading_of_a_weak_vessel_is_believed():
    told = of_scenario("garnet_weak_vessel")
    assert "set aside" not in told.everything
    assert "expected. Nothing was changed" not in told.everything
    assert "at your floor" not in told.everything
    low, high = numbers(told.water, "Expected now: # to # dKH")
    assert low < 7.3 < high


# --- 4


def little_evaporates(**setup) -> KeeperLog:
    """Two weeks of 6.8 L a day, then a muggy one of 4.1."""
    log = kettle(**setup)
    for days_ago in range(21, 7, -2):
        log.refill(days_ago + 0.0, 13.6)
    for days_ago in range(7, -1, -1):
        log.refill(days_ago + 0.1, 4.1)
    return log


def test_4_little_evaporation_lowers_the_pump_and_says_what_the_second_source_gives():
    two_part = {"second_source": SecondSource.TWO_PART, "two_part_meq_per_mL": 2.0}
    told = of_log(little_evaporates(**two_part).second(59.0, 0.0))
    set_to, was = numbers(told.view.lead, "Lower the pump to # L a day (was # L a day).")
    assert was == 5.3
    # 90 % of the week's low end (4.1 less the error of the mark), less the two-part's own water
    assert 0.9 * 4.1 * 0.86 <= set_to <= 0.9 * 4.1
    week, before = numbers(told.first, "This week # L a day evaporated (before: # L a day).")
    assert week == pytest.approx(4.1, abs=0.1)
    assert before == pytest.approx(6.8, abs=0.8)
    missing, each = numbers(
        told.first, "# meq a day is left for the two-part: # mL a day of each part"
    )
    assert missing == pytest.approx((5.3 - set_to) * LIME, rel=0.03)
    assert each == pytest.approx(missing / 2.0, abs=1.0)  # told in whole millilitres
    assert f"Set the second source to {each:g} mL a day (was 0 mL a day)." in told.first
    assert told.view.as_told is not None
    assert told.view.as_told.alkalinity_meq_per_day == pytest.approx(missing, abs=0.5)


def test_4_without_a_second_source_the_days_until_the_band_ends_are_told():
    told = of_log(little_evaporates())
    set_to, _was = numbers(told.view.lead, "Lower the pump to # L a day (was # L a day).")
    missing, fall = numbers(told.first, "# meq a day is missing: alkalinity falls by # dKH a day.")
    assert missing == pytest.approx((5.3 - set_to) * LIME, rel=0.03)
    assert fall == pytest.approx(missing / VOLUME / DKH, rel=0.03)
    early, late = numbers(told.first, "It passes 7.5 dKH in # h to # days")
    assert early / 24.0 < (8.3 - 7.5) / fall < late
    assert "Test daily and get a second source." in told.first
    assert "tomorrow, then every day" in told.next_up


def test_4_once_lowered_the_missing_amount_still_leads():
    log = little_evaporates()
    first, _ = numbers(of_log(log).view.lead, "Lower the pump to # L a day (was # L a day).")
    told = of_log(log.pump(0.001, first))
    assert told.view.lead.startswith(f"Leave the pump at {first:g} L a day.")
    assert told.view.tone == "warn"
    assert "meq a day is missing" in told.first
    assert "Nothing to do" not in told.everything


# --- 5


def demand_fell(**setup) -> KeeperLog:
    """A tank held at 8.2 dKH by 9 L a day, that then rises to 9.4 in four days."""
    wide = {"evaporation_low_L_per_day": 11.0, "evaporation_high_L_per_day": 13.0}
    log = KeeperLog().setup(keeper_cap_L_per_day=12.0, **wide, **setup).pump(60.0, 9.0)
    for days_ago in range(25, 3, -3):
        log.test(float(days_ago), 8.2)
    for days_ago, value in ((3.0, 8.5), (2.0, 8.8), (1.0, 9.1), (0.04, 9.4)):
        log.test(days_ago, value)
    return log


def test_5_less_demand_says_look_at_the_animals_before_the_dose():
    log = demand_fell().pump_check(3.0, 83.0, 83.0, 83.0, 82.5).strength(3.0, 0.98)
    told = of_log(log)
    assert told.view.lead.startswith("Look at the animals, temperature and salinity first. Lower")
    set_to, was = numbers(told.view.lead, "Lower the pump to # L a day (was # L a day).")
    # 9 L held it; 0.3 dKH a day of rise is 1.2 L, and some more to come down again
    rise_L = 0.3 * DKH * VOLUME / LIME
    assert was == 9
    assert 9.0 - 3.0 * rise_L <= set_to <= 9.0 - 0.7 * rise_L
    start, end, days = numbers(told.first, "rose from # dKH to # dKH in # days on an unchanged")
    assert (start, end, days) == (8.2, 9.4, 4)
    (less,) = numbers(told.first, "take about # % less than is given")
    assert less == pytest.approx(100.0 * 0.3 / (9.0 * LIME / VOLUME / DKH), abs=4.0)
    assert "Limewater and pump were checked and are right." in told.first
    assert "Next alkalinity test: tomorrow" in told.next_up
    assert "Look at the animals" not in told.mind, "said once"


def test_5_unchecked_equipment_is_to_be_checked_too():
    told = of_log(demand_fell())
    assert "Check the strength of the limewater and the pump, too." in told.first
    assert "are right" not in told.first


# --- 6


def with_newest(*, lot_of_newest: str, newest_dKH: float = 8.9) -> Told:
    log = KeeperLog().setup().pump(60.0, 5.3)
    usual = (8.2, 8.1, 8.0, 8.2, 8.1, 8.2, 8.0, 8.1, 8.1)
    for days_ago, value in zip((21, 19, 17, 14, 12, 10, 7, 5, 3), usual, strict=True):
        log.read(float(days_ago), lot="A 17", total_alkalinity=dkh(value))
    return of_log(log.read(0.04, lot=lot_of_newest, total_alkalinity=dkh(newest_dKH)))


@pytest.mark.parametrize("lot", ["A 17", "B 02"])
def test_6_a_test_far_from_what_was_expected_is_repeated_and_changes_nothing(lot):
    told = with_newest(lot_of_newest=lot)
    assert told.view.lead == "Repeat the alkalinity test. Leave the pump at 5.3 L a day."
    assert told.view.tone == "warn"
    test, _hours, off, low, high = numbers(
        told.first, "# dKH of # h ago is # dKH off: # to # dKH was expected"
    )
    assert test == 8.9
    assert off == pytest.approx(8.9 - 8.1, abs=0.1)
    assert 7.5 <= low < 8.1 < high < 8.9
    assert "Nothing was changed for it." in told.first
    assert "before you believe either" in told.first
    assert told.view.as_told is None
    assert "Repeat the alkalinity test" in told.next_up


def test_6_a_new_bottle_is_named():
    assert "It is the first test of B 02." in with_newest(lot_of_newest="B 02").first
    assert "the first test of" not in with_newest(lot_of_newest="A 17").first


def test_6_a_new_bottle_that_reads_as_expected_is_no_matter():
    told = with_newest(lot_of_newest="B 02", newest_dKH=8.3)
    assert told.view.lead.startswith("5.3 L a day is right.")


def test_6_a_second_test_that_agrees_is_believed():
    log = KeeperLog().setup().pump(60.0, 5.3)
    for days_ago in range(21, 3, -2):
        log.read(float(days_ago), lot="A 17", total_alkalinity=dkh(8.1))
    for days_ago in (0.2, 0.1):
        log.read(days_ago, lot="B 02", total_alkalinity=dkh(8.9))
    told = of_log(log)
    assert "Repeat the alkalinity test" not in told.view.lead
    assert "B 02 reads about" in " ".join(told_on_plan(told))


def told_on_plan(told: Told) -> tuple[str, ...]:
    from mobile.state.plan import plan

    assert told.snapshot.decision is not None
    return plan(told.snapshot, told.snapshot.decision).why


# --- 7


def test_7_a_high_pH_stops_the_lime_says_why_and_for_how_long_that_is_safe():
    told = of_log(kettle().read(0.1, pH_nbs=8.52))
    assert told.view.tone == "danger"
    assert told.view.lead.startswith("Stop the limewater for now.")
    assert "A pH of 8.52 is on record." in told.first
    assert "until a whole day stays below 8.40" in told.first
    assert "Do not make it up later." in told.first
    assert "windows" in told.first
    assert "Open the windows" not in told.everything, "fresh air lifts pH further"
    hours, days = numbers(told.first, "below 6.5 dKH in # h to # days")
    assert hours / 24.0 < (8.3 - 6.5) / USE < days
    assert "is given, above the limit" not in told.everything


# --- 8


def test_8_an_unsafe_set_up_says_rise_pH_salinity_and_the_size_that_would_be_safe():
    lime_container = {"delivery": Delivery.PUMP_CONTAINER, "lime_container_L": 25.0}
    log = KeeperLog().setup(**lime_container).pump(60.0, 5.3).recharge(4.0, 50.0, Container.LIME)
    for days_ago in (21.0, 18.0, 15.0, 12.0, 9.0, 6.0, 3.0, 0.5):
        log.test(days_ago, 8.3)
    told = of_log(log)
    low, high = numbers(
        told.hazard, "If the 25 L lime container empties at once, alkalinity rises by # to # dKH."
    )
    assert low < 25.0 * LIME / VOLUME / DKH < high
    assert "pH passes 9.50." in told.hazard
    (salinity,) = numbers(told.hazard, "Salinity falls to # PSU.")
    assert salinity == pytest.approx(35.0 * VOLUME / (VOLUME + 25.0), abs=0.1)
    (safe_L,) = numbers(told.hazard, "A lime container of # L would keep it below 8.80")
    # practice: 4.5 L in the middle, at the worst end about half of it
    assert 2.0 <= safe_L <= 4.5
    assert "Change this before the next fill." in told.hazard


# --- 9


def test_9_an_overflow_takes_the_lime_line_out_and_says_when_it_is_used_up():
    told = of_scenario("old_dairy_overflow")
    assert told.view.tone == "danger"
    assert "feed the top-off with plain water" in told.view.lead
    rise, now, _hours = numbers(told.first, "Alkalinity rose by # dKH to # dKH within # h.")
    assert rise == pytest.approx(6.0 * 41.4 / 400.0 / DKH, abs=0.1)
    assert now == 9.8
    assert "Lift the lime line out of the sump and test again." in told.first
    assert "A slug of limewater: skimmer overflow" in told.first
    early, late = numbers(told.first, "back at 8.3 dKH in # h to # days")
    assert early / 24.0 < (9.8 - 8.3) / 1.3 < late
    assert "No chemical against it." in told.first
    assert "Salinity 34.5 PSU" in told.water
    assert "powder lasts" not in told.everything


def test_9_before_any_test_the_refill_that_ran_over_is_sized_and_measuring_is_asked_for():
    log = untested_slug()
    told = of_log(log)
    assert told.view.tone == "danger"
    (extra,) = numbers(told.first, "The top-off ran # L more than usual.")
    assert extra == pytest.approx(6.0, abs=0.1)
    low, high = numbers(told.first, "alkalinity rose by # to # dKH")
    assert low < 6.0 * LIME / 400.0 / DKH < high
    (salinity,) = numbers(told.first, "salinity is about # PSU")
    assert salinity == pytest.approx(34.5, abs=0.1)
    assert "Lift the lime line out now." in told.first
    assert "Measure pH and alkalinity" in told.first
    assert "plain water in the top-off" in told.first
    assert "Measure pH and alkalinity now" in told.next_up


def untested_slug() -> KeeperLog:
    """A tank of 400 L with lime in its top-off, that took 6 L too many last night."""
    container = {
        "delivery": Delivery.TOP_OFF_CONTAINER,
        "net_volume_L": 400.0,
        "lime_container_L": 20.0,
        "evaporation_low_L_per_day": 4.0,
        "evaporation_high_L_per_day": 4.9,
    }
    log = KeeperLog().setup(**container).recharge(12.0, 40.0, Container.LIME)
    for days_ago in (21.0, 18.0, 15.0, 12.0, 9.0, 6.0, 3.0, 0.9):
        log.test(days_ago, 8.1)
    log.read(0.9, salinity=35.0)
    for days_ago in range(14, 0, -2):
        log.refill(days_ago + 0.1, 8.8, Container.LIME)
    return log.refill(0.1, 8.8 + 6.0, Container.LIME)


def test_9_an_overflow_without_any_figure_still_stops_until_it_is_tested():
    log = untested_slug()
    log.records = [r for r in log.records if not isinstance(r, Refill)]
    assert "Lift the lime line out" not in of_log(log).first
    told = of_log(log.happened(0.2, "skimmer_overflow"))
    assert "nothing was tested since" in told.first
    assert told.view.tone == "danger"
    assert "nothing was tested since" not in of_log(log.test(0.1, 8.2)).first


@pytest.mark.parametrize("days_ago", [0.2, 1.5])
def test_9_plain_top_off_that_overflows_brings_no_lime(days_ago):
    told = of_log(kettle().happened(days_ago, "skimmer_overflow"))
    assert "Lift the lime line out now" not in told.everything


# --- 10


async def test_10_just_recharged_says_how_long_it_rests_and_that_there_is_no_hurry(phone: Phone):
    app = await phone.open(records=(*first_records(phone.clock.now), *steady_tests(phone)))
    steps = {step.key: step for step in load_procedure("recharge_vessel").steps}
    await app.go("/mix/recharge_vessel")
    await app.tap("answer-start")
    while (key := step_shown(app)) != "rest":
        await go_on(app, steps[key], {})
    phone.clock.move(hours=2, minutes=10)
    await app.go("/")
    assert app.text("decision").startswith("Limewater is paused since")
    assert app.says("1 h 50 min"), "four hours of rest, less 2 h 10 min"
    assert app.says("Without limewater: below 7.5 dKH")
    assert app.says("What is missed is never made up.")
    assert app.says("Then: ")
    assert app.says("it runs into the jug")
    assert not app.has("as-told")


def steady_tests(phone: Phone) -> tuple:
    """Return three weeks of tests at 8.3 dKH of the first run's system."""
    log = KeeperLog(now=phone.clock.now, system="reef").pump(30.0, 5.0)
    for days_ago in (21.0, 18.0, 15.0, 12.0, 9.0, 6.0, 3.0, 0.5):
        log.test(days_ago, 8.3)
    return tuple(log.records)


# --- what holds in all of them


def test_an_incident_comes_before_every_other_lead():
    log = demand_fell().incident(0.05, IncidentEvent.STARTED)
    told = of_log(log)
    assert told.view.tone == "danger"
    assert told.view.lead.startswith("Stop the limewater for now.")


def test_no_sentence_stands_twice_on_today():
    for told in (
        of_log(cared_for(kettle())),
        of_log(little_evaporates()),
        of_log(demand_fell()),
        with_newest(lot_of_newest="B 02"),
        of_scenario("old_dairy_overflow"),
        of_scenario("garnet_weak_vessel"),
    ):
        view = told.view
        lines = [view.lead, *view.why, *view.hazard, *view.next_up]
        lines += [line.text for line in (*view.mind, *view.water)]
        assert len(lines) == len(set(lines))


def test_a_happening_that_is_no_slug_does_not_stop():
    log = untested_slug()
    log.records = [r for r in log.records if not isinstance(r, (Refill, Happening))]
    assert of_log(log.happened(0.2, "lamp")).view.tone != "danger"


def test_a_slug_is_past_once_it_was_tested():
    log = untested_slug()
    log.records = [r for r in log.records if not isinstance(r, (Refill, WaterTest))]
    for days_ago in (21.0, 18.0, 15.0, 12.0, 9.0, 6.0):
        log.test(days_ago, 8.1)
    late = log.happened(2.5, "skimmer_overflow")
    assert "nothing was tested since" in of_log(late).first
    assert "nothing was tested since" not in of_log(late.test(1.0, 8.1)).first
