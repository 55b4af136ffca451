"""The shelf, solutions and kits: what is left, when it ends, when to order."""

from datetime import timedelta
from itertools import pairwise

import pytest

from engine.decision import decide
from engine.demand.facts import gather
from engine.jobs.jobs import ahead_of
from engine.limewater import saturated_alkalinity_meq_per_L, solubility_g_per_L
from engine.plan.season import Season, year
from engine.reasons import Reason
from engine.records import (
    Container,
    PackOpened,
    PowderStock,
    SecondSource,
    Setup,
    SupplyItem,
    SupplyStock,
)
from engine.stock.charge import (
    bed_height_share,
    largest_charge_g,
    lime_container_powder_g,
    weighed_g_per_day,
)
from engine.stock.codes import StockCode
from engine.stock.powder import Powder
from engine.stock.shelf import Shelf, shelf_now
from engine.stock.supplies import Supply
from engine.stock.told import charge_reasons, in_use_reasons, next_charge
from engine.units import to_float
from tests.support.keeper_log import SYSTEM, KeeperLog, kettle


def shelf(log: KeeperLog) -> Shelf:
    facts = gather(log.records, system=SYSTEM, now=log.now)
    found = shelf_now(log.decide(), facts, None)
    assert isinstance(found, Shelf), found
    return found


def supplies(log: KeeperLog) -> tuple[Supply, ...]:
    facts = gather(log.records, system=SYSTEM, now=log.now)
    ahead = ahead_of(decide(log.records, system=SYSTEM, now=log.now), facts)
    assert ahead is not None
    return ahead.supplies


def in_use(log: KeeperLog) -> Powder:
    found = log.decide().powder
    assert isinstance(found, Powder), found
    return found


def setup_of(log: KeeperLog) -> Setup:
    found = log.decide().setup
    assert found is not None
    return found


def codes(reasons: tuple[Reason, ...]) -> list[str]:
    return [found.code for found in reasons]


# ---- in the vessel


def test_after_an_empty_out_the_vessels_own_water_takes_its_share_first():
    plain = in_use(kettle().recharge(1.0, 125.0)).left.floats("g").best
    emptied = in_use(kettle().add_emptied(2.0).recharge(1.0, 125.0)).left.floats("g").best
    assert plain - emptied == pytest.approx(5.0 * solubility_g_per_L(24.0), rel=1e-9)


def test_an_empty_out_ends_the_old_bed_and_narrows_the_interval():
    old = in_use(kettle().recharge(14.0, 200.0).recharge(1.0, 125.0))
    new = in_use(kettle().recharge(14.0, 200.0).add_emptied(2.0).recharge(1.0, 125.0))
    assert old.old_bed_g > 60.0
    assert new.old_bed_g == 0.0
    width = [p.left.floats("g").high - p.left.floats("g").low for p in (old, new)]
    assert width[1] < width[0]


def test_emptied_after_the_last_recharge_nothing_is_known():
    assert isinstance(kettle().recharge(3.0, 125.0).add_emptied(1.0).decide().powder, Reason)


def test_a_strong_check_late_in_a_run_moves_the_low_end_up():
    before = in_use(kettle().recharge(13.5, 125.0)).left.floats("g")
    after = in_use(kettle().recharge(13.5, 125.0).strength(0.1, 1.0)).left.floats("g")
    assert before.low == 0.0
    assert after.best > before.best
    assert after.high - after.low < before.high - before.low + 5.0


def test_a_weak_check_says_so_instead_of_a_day_ahead():
    log = kettle().recharge(12.0, 125.0).strength(0.1, 0.3)
    assert in_use(log).left.floats("g").low == 0.0
    told = codes(in_use_reasons(log.decide()))
    assert told[0] == StockCode.FOUND_WEAK
    assert StockCode.RUNS_WEAK not in told


def test_weak_limewater_on_a_fresh_charge_points_at_the_bar():
    log = kettle().recharge(2.0, 125.0).strength(0.1, 0.4)
    assert in_use(log).weak_despite_powder
    assert StockCode.WEAK_DESPITE_POWDER in codes(in_use_reasons(log.decide()))


def test_course_runs_down_to_nothing_and_its_band_holds_the_middle():
    course = in_use(kettle().recharge(5.0, 125.0)).course
    assert [day for day, _ in course] == sorted(day for day, _ in course)
    assert course[0][0] == pytest.approx(-5.0)
    assert course[-1][1].high == 0.0
    assert all(span.low <= span.best <= span.high for _, span in course)
    assert all(a[1].best >= b[1].best for a, b in pairwise(course))


# ---- what to weigh


def test_the_old_bed_takes_room_from_the_charge_and_can_fill_it():
    assert largest_charge_g(5.0) == pytest.approx(150.0)
    assert largest_charge_g(5.0, 220.0) == pytest.approx(5000 * 0.2 * 0.32 - 220.0)
    assert largest_charge_g(5.0, 400.0) == 0.0


def test_bed_stands_lower_settled_than_loose():
    # 150 g at 0.64 and at 0.32 g/mL in 5,000 mL
    assert bed_height_share(150.0, 5.0) == pytest.approx((0.046875, 0.09375))


def test_wanted_days_of_the_setup_decide_the_charge():
    log = kettle(powder_days=7.0).recharge(3.0, 60.0)
    charge = next_charge(log.decide())
    assert charge is not None
    assert to_float(charge.days, "day") == pytest.approx(7.0)
    found = charge_reasons(log.decide(), charge, setup_of(log))
    assert codes(found) == [StockCode.CHARGE, StockCode.BED_HEIGHT, StockCode.NO_SCOOP]


def test_a_scoop_is_only_spoken_of_once_it_was_weighed():
    log = kettle(scoop_g=2.5).recharge(3.0, 60.0)
    charge = next_charge(log.decide())
    assert charge is not None
    told = charge_reasons(log.decide(), charge, setup_of(log))[-1]
    assert told.code == StockCode.CHARGE_SCOOPS
    assert told.numbers["scoops_count"] == round(to_float(charge.powder, "g") / 2.5)


# ---- common practice, no source (issue 6, "Shown by")


def test_two_litres_a_day_take_about_ninety_grams_a_month():
    """Common practice, no source: about 90 g a month; 0.6 to 1.2 US cups of 240 mL."""
    setup = setup_of(kettle(vessel_L=5.0))
    saturated = saturated_alkalinity_meq_per_L(25.0)
    month_g = 30.4 * weighed_g_per_day(setup, 2.0, saturated)
    assert month_g == pytest.approx(90.0, rel=0.20)
    # bulk density of the powder 0.32 to 0.64 g/mL (from memory)
    assert 0.5 < month_g / 0.64 / 240.0 < 0.8
    assert 1.0 < month_g / 0.32 / 240.0 < 1.5


def test_a_hundred_grams_last_about_a_month_at_two_litres_a_day():
    """Common practice, no source."""
    setup = setup_of(kettle())
    a_day = weighed_g_per_day(setup, 2.0, saturated_alkalinity_meq_per_L(25.0))
    assert 100.0 / a_day == pytest.approx(30.0, abs=4.0)


def test_two_level_teaspoons_saturate_about_two_to_four_litres():
    """Common practice, no source: a level teaspoon is 1.6 to 3.2 g; solubility is [BBS56]."""
    litres = [2.0 * grams * 0.95 / solubility_g_per_L(25.0) for grams in (1.6, 3.2)]
    assert litres[0] == pytest.approx(2.0, abs=0.05)
    assert litres[1] == pytest.approx(4.0, abs=0.1)


def test_a_cold_reservoir_takes_more_than_a_warm_one():
    """Handbook table [PERRY], g/kg: 1.76 at 10 degC, 1.53 at 30 degC: 15 % more."""
    cold, warm = (
        lime_container_powder_g(25.0, temperature_degC=t, assay=0.95) for t in (10.0, 30.0)
    )
    assert cold / warm == pytest.approx(1.76 / 1.53, rel=0.01)


# ---- on the shelf


def test_reorder_day_takes_off_lead_time_and_margin():
    log = kettle(powder_lead_days=10.0, powder_margin_days=5.0).stock(1.0, 500.0, counted=True)
    found = shelf(log)
    assert found.empty_days is not None
    assert found.reorder_days == pytest.approx(found.empty_days.low - 15.0)
    a_day = weighed_g_per_day(setup_of(log), 5.3, saturated_alkalinity_meq_per_L(24.0))
    assert found.empty_days.best == pytest.approx(500.0 / a_day, abs=0.1)
    assert StockCode.REORDER_BY in codes(found.reasons)


def test_little_on_the_shelf_says_order_now():
    assert StockCode.REORDER_NOW in codes(shelf(kettle().stock(1.0, 60.0, counted=True)).reasons)


def test_what_lies_in_the_vessel_counts_for_the_shelfs_end():
    alone = shelf(kettle().stock(20.0, 500.0, counted=True))
    both = shelf(kettle().recharge(1.0, 125.0).stock(0.5, 500.0, counted=True))
    assert alone.empty_days is not None
    assert both.empty_days is not None
    assert both.empty_days.best > alone.empty_days.best + 8.0


def test_use_follows_the_season():
    """Summed by hand over the months: the year takes what the season's own litres take."""
    log = kettle(
        evaporation_low_L_per_day=3.6,
        evaporation_high_L_per_day=7.5,
        evaporation_high_month=1,
        evaporation_low_month=7,
    ).stock(1.0, 900.0, counted=True)
    facts = gather(log.records, system=SYSTEM, now=log.now)
    ahead = year(log.decide(), facts)
    assert isinstance(ahead, Season)
    found = shelf_now(log.decide(), facts, ahead)
    assert isinstance(found, Shelf)
    litres = {(m.year, m.month): m.limewater_L_per_day for m in ahead.months}
    assert max(litres.values()) > 1.3 * min(litres.values())
    each_L = weighed_g_per_day(setup_of(log), 1.0, saturated_alkalinity_meq_per_L(24.0))
    days = [log.now + timedelta(days=n) for n in range(365)]
    # the last days fall into this month a year on: the same month's use again
    by_hand = sum(
        each_L * litres.get((d.year, d.month), litres.get((d.year - 1, d.month), 5.3)) for d in days
    )
    assert found.year_g == pytest.approx(by_hand, rel=1e-6)
    assert found.by_season
    assert StockCode.SEASON_INCLUDED in codes(found.reasons)
    flat = shelf(log)
    assert flat.year_g != pytest.approx(by_hand, rel=0.01)
    assert StockCode.SEASON_LEFT_OUT in codes(flat.reasons)


def test_packs_are_counted_closed_and_open():
    log = kettle().add(PowderStock, 30.0, powder_g=3000.0, pack_g=1000.0, price=24.0)
    log.add(PackOpened, 20.0, powder_g=1000.0).recharge(19.0, 130.0).recharge(5.0, 120.0)
    found = shelf(log)
    assert (found.closed_packs, found.open_g) == (2, pytest.approx(750.0))
    assert StockCode.SHELF_PACKS in codes(found.reasons)
    assert StockCode.PACK_AGE in codes(found.reasons)


def test_a_price_of_next_to_no_powder_hides_no_jobs():
    """Found by tests/properties/test_any_log.py: nothing at all was said of jobs and shelf."""
    log = kettle().add(PowderStock, 9.0, powder_g=1e-9, price=1_000_000.0)
    found = shelf(log)
    assert found.year_g is not None
    assert found.year_price is None


def test_year_in_packs_and_money_by_the_last_price():
    log = kettle(currency="EUR").add(PowderStock, 9.0, powder_g=2000.0, pack_g=1000.0, price=16.0)
    found = shelf(log)
    a_day = weighed_g_per_day(setup_of(log), 5.3, saturated_alkalinity_meq_per_L(24.0))
    assert found.year_g == pytest.approx(365.0 * a_day)
    assert found.year_packs == pytest.approx(365.0 * a_day / 1000.0)
    assert found.year_price == pytest.approx(365.0 * a_day * 16.0 / 2000.0)


def test_a_pack_open_for_over_a_year_is_old():
    log = kettle().stock(500.0, 900.0, counted=False).add(PackOpened, 400.0, powder_g=500.0)
    assert StockCode.PACK_OLD in codes(shelf(log).reasons)


# ---- solutions and kits


def two_part(meq_per_day: float = 60.0) -> KeeperLog:
    log = kettle(second_source=SecondSource.TWO_PART, two_part_meq_per_mL=2.0)
    return log.second(60.0, meq_per_day)


def test_a_solution_is_used_by_what_the_second_source_gives():
    log = two_part().add(SupplyStock, 10.0, item=SupplyItem.ALKALINITY_PART, solution_mL=1000.0)
    (found,) = supplies(log)
    assert found.left == pytest.approx(1000.0 - 10.0 * 30.0)
    assert found.days_left is not None
    assert found.days_left.best == pytest.approx(700.0 / 30.0)


def test_a_count_replaces_and_later_purchases_add():
    log = two_part(0.0)
    for days_ago, amount, counted in (
        (20.0, 900.0, False),
        (10.0, 300.0, True),
        (5.0, 500.0, False),
    ):
        log.add(
            SupplyStock,
            days_ago,
            item=SupplyItem.CALCIUM_PART,
            solution_mL=amount,
            counted=counted,
        )
    (found,) = supplies(log)
    assert found.left == pytest.approx(800.0)


def test_a_kit_is_used_by_the_tests_on_record():
    log = kettle().add(SupplyStock, 10.0, item=SupplyItem.ALKALINITY_KIT, tests_count=50.0)
    (found,) = supplies(log)
    assert found.left == 46.0, "tests 9, 6, 3 and half a day ago"
    assert found.use_per_day == pytest.approx(8.0 / 28.0)


def test_a_kit_past_its_date_says_so():
    log = kettle().add(
        SupplyStock, 40.0, item=SupplyItem.NITRATE_KIT, tests_count=50.0, good_for_days=30.0
    )
    (found,) = supplies(log)
    assert found.expires_days == pytest.approx(-10.0)
    assert StockCode.SUPPLY_EXPIRED in codes(found.reasons)
    assert StockCode.SUPPLY_USE_UNKNOWN in codes(found.reasons)


def test_a_lime_container_is_no_vessel():
    log = kettle().recharge(1.0, 30.0, container=Container.LIME)
    assert isinstance(log.decide().powder, Reason)
