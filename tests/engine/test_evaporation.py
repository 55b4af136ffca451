import pytest

from engine.limits import DosePlan
from engine.reasons import Code, Reason
from engine.records import Container, SecondSource
from engine.units import to_float
from tests.support.keeper_log import KeeperLog, kettle


def evaporation(log: KeeperLog) -> tuple[float, float, str]:
    found = log.decide().evaporation
    assert not isinstance(found, Reason)
    assert found is not None
    return to_float(found.low, "L/day"), to_float(found.high, "L/day"), found.source


def refilled(litres: float, *, every: float = 2.0, count: int = 13, **setup) -> KeeperLog:
    log = kettle(**setup)
    for number in range(count):
        log.refill(0.5 + every * number, litres)
    return log


# Refills every two days, 5 % each, make up for each other: 5 % / 3.5^0.5.
EVERY_TWO_DAYS_ERROR = 0.05 / 3.5**0.5


def measured(litres_a_day: float) -> object:
    """Return the low end that is measured where refills show so much."""
    return pytest.approx(litres_a_day * (1.0 - EVERY_TWO_DAYS_ERROR))


def test_entered_range_serves_without_refills():
    assert evaporation(kettle()) == (6.3, 7.5, "entered")


def test_entered_low_end_alone_is_both_ends():
    log = kettle(evaporation_high_L_per_day=None)
    assert evaporation(log) == (6.3, 6.3, "entered")


def test_shared_container_falls_by_the_whole_evaporation():
    low, high, source = evaporation(refilled(12.0, shared_container=True))
    assert (low, high) == (measured(6.0), pytest.approx(6.0 * (1.0 + EVERY_TWO_DAYS_ERROR)))
    assert source == "measured"


def test_separate_container_shows_only_what_limewater_does_not():
    low, high, _ = evaporation(refilled(2.0, shared_container=False))
    assert (low, high) == (measured(6.3), pytest.approx(6.3 * (1.0 + EVERY_TWO_DAYS_ERROR)))


def test_lime_container_refills_are_not_counted_beside_the_setting():
    log = refilled(2.0, shared_container=False)
    log.refill(1.0, 15.0, container=Container.LIME)
    assert evaporation(log)[0] == measured(6.3)


def test_two_part_brings_water_too():
    # 500 meq a day at 2 meq/mL is 250 mL of each part, half a litre together.
    log = refilled(
        12.0,
        shared_container=True,
        second_source=SecondSource.TWO_PART,
        two_part_meq_per_mL=2.0,
    ).second(60.0, 500.0)
    assert evaporation(log)[0] == measured(6.5)


def test_a_refill_not_to_the_mark_adds_to_the_next():
    log = kettle()
    for days_ago in (20.5, 16.5, 12.5, 8.5, 4.5, 0.5):
        log.refill(days_ago, 12.0)
        log.refill(days_ago + 2.0, 12.0, to_mark=False)
    # marks every four days
    assert evaporation(log)[0] == pytest.approx(6.0 * (1.0 - 0.05 / 1.75**0.5))


def test_less_than_a_week_of_refills_does_not_count():
    assert evaporation(refilled(12.0, count=4)) == (6.3, 7.5, "entered")


def first_days(litres: float, days: int) -> KeeperLog:
    log = kettle(shared_container=True)
    for day in range(days + 1):
        log.refill(day + 0.2, litres)
    return log


def test_two_days_of_refills_below_the_entered_range_lower_it_and_it_is_said():
    decision = first_days(4.0, 2).decide()
    low, high, source = evaporation(first_days(4.0, 2))
    assert (low, high, source) == (pytest.approx(4.0), 7.5, "entered")
    assert decision.evaporation.reasons[0].code == Code.REFILLS_BELOW_ENTERED
    assert isinstance(decision.plan, DosePlan)
    assert decision.plan.binding[0] == Code.CAP_EVAPORATION
    assert decision.plan.L_per_day <= 4.0


@pytest.mark.parametrize(
    ("litres", "days"), [(4.0, 1), (6.2, 3), (9.0, 3)], ids=["one day", "within error", "more"]
)
def test_first_refills_change_nothing_that_they_do_not_contradict(litres, days):
    # nothing is raised before a week: a mark missed once would lift the cap
    found = first_days(litres, days).decide().evaporation
    assert evaporation(first_days(litres, days)) == (6.3, 7.5, "entered")
    assert [each.code for each in found.reasons] == [Code.EVAPORATION_ENTERED]


def test_one_short_refill_among_right_ones_lowers_only_by_the_mean():
    log = kettle(shared_container=True)
    for days_ago, litres in ((4.2, 6.8), (3.2, 6.8), (2.2, 2.0), (1.2, 6.8), (0.2, 6.8)):
        log.refill(days_ago, litres)
    assert evaporation(log)[0] == pytest.approx((2.0 + 3 * 6.8) / 4.0)


def test_few_weeks_give_the_lowest_and_highest_spell_and_the_error_of_the_mark():
    log = kettle()
    for days_ago, litres in ((8.5, 9.0), (6.5, 12.0), (4.5, 16.0), (2.5, 10.0), (0.5, 14.0)):
        log.refill(days_ago, litres)
    low, high, _ = evaporation(log)
    assert low == pytest.approx(5.0 * 0.95)
    assert high == pytest.approx(8.0 * 1.05)


def test_old_refills_give_way_to_the_entered_range():
    log = kettle()
    for days_ago in (25.0, 22.0, 19.0, 16.0):
        log.refill(days_ago, 30.0)
    assert evaporation(log) == (6.3, 7.5, "entered")


def test_without_refills_or_entry_there_is_none():
    found = kettle(evaporation_low_L_per_day=None).decide().evaporation
    assert isinstance(found, Reason)
    assert found.code == Code.EVAPORATION_UNSET


def test_a_dry_week_and_a_muggy_one_are_both_inside_the_range():
    log = kettle()
    for number in range(13):
        log.refill(0.5 + 2.0 * number, 8.0 if number < 7 else 14.0)
    low, high, _ = evaporation(log)
    assert 4.0 * (1.0 - EVERY_TWO_DAYS_ERROR) <= low < 4.6
    assert 6.5 < high <= 7.0 * (1.0 + EVERY_TWO_DAYS_ERROR)


@pytest.mark.parametrize("mistyped", [130.0, 31.0, 1300.0])
def test_a_mistyped_refill_does_not_lift_the_low_end(mistyped):
    right, wrong = kettle(), kettle()
    for days_ago in range(14, -1, -2):
        right.refill(days_ago, 13.0)
        wrong.refill(days_ago, mistyped if days_ago == 6 else 13.0)
    low, high, _ = evaporation(wrong)
    assert low <= 1.2 * evaporation(right)[0]
    assert high < 13.0


def test_a_mistyped_refill_does_not_remove_the_cap_of_the_dose():
    def plan_with(refill_L: float) -> float:
        log = KeeperLog().setup(keeper_cap_L_per_day=20.0).pump(60.0, 5.3)
        for days_ago in (12.0, 9.0, 6.0, 3.0, 0.1):
            log.test(days_ago, 7.5 + 0.1 * days_ago)
        for days_ago in range(14, -1, -2):
            log.refill(days_ago, refill_L if days_ago == 6 else 8.0)
        plan = log.decide().plan
        assert isinstance(plan, DosePlan)
        return plan.L_per_day

    assert plan_with(8.0) <= 0.9 * 4.0
    assert plan_with(80.0) <= 1.2 * 0.9 * 4.0


def test_five_weekly_means_carry_the_error_of_a_refill():
    log = kettle()
    for days_ago in (26.5, 19.5, 12.5, 5.5, 0.5):
        log.refill(days_ago, 42.0 if days_ago != 0.5 else 30.0)
    assert evaporation(log)[0] <= 6.0 * 0.96


def test_a_change_raises_nothing_above_what_was_last_measured():
    for what in ("cover", "fans"):
        log = refilled(6.0, shared_container=True)
        before = evaporation(log)
        assert (before[0], before[2]) == (measured(3.0), "measured")
        low, _, source = evaporation(log.happened(0.05, what))
        assert source == "entered"
        assert low == before[0]


def test_old_refills_leave_the_low_end_as_it_was_last_measured():
    log = kettle(shared_container=True)
    for number in range(13):
        log.refill(15.5 + 2.0 * number, 6.0)
    low, _, source = evaporation(log)
    assert source == "entered"
    assert low == measured(3.0)


def test_two_days_of_refills_after_a_change_end_the_old_measure():
    log = kettle(shared_container=True)
    for number in range(10):
        log.refill(3.5 + 2.0 * number, 6.0)
    log.happened(3.4, "cover")
    for days_ago in (3.2, 2.2, 1.2, 0.2):
        log.refill(days_ago, 7.0)
    assert evaporation(log)[::2] == (6.3, "entered")
