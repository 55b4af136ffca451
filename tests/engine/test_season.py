"""Water ahead and the year: level, salinity, evaporation by month, what to retune when."""

from datetime import timedelta
from math import cos, exp, pi
from random import Random

import pytest

from engine.demand.facts import gather
from engine.demand.inputs import recorded_inputs
from engine.demand.strength import strength_now
from engine.plan.evaporation import Evaporation, evaporation_span
from engine.plan.evaporation_season import SeasonalEvaporation, seasonal_evaporation
from engine.plan.happenings import FANS
from engine.plan.season import Season, year
from engine.plan.season_codes import SeasonCode
from engine.plan.water_balance import (
    SALINITY_BAND,
    WaterBalance,
    water_balance_as_set,
    water_balance_by_plan,
)
from engine.reasons import Reason
from engine.records import Delivery, SecondSource
from mobile.state.sentences import sentence, told
from mobile.texts.season import TEXTS
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, dkh, kettle

MONTHS = {"evaporation_high_month": 1, "evaporation_low_month": 7}


def facts_of(log: KeeperLog):
    return gather(log.records, system=SYSTEM, now=log.now)


def as_set(log: KeeperLog) -> WaterBalance:
    found = water_balance_as_set(log.decide(), facts_of(log))
    assert isinstance(found, WaterBalance), found
    return found


def season(log: KeeperLog) -> Season:
    found = year(log.decide(), facts_of(log))
    assert isinstance(found, Season), found
    return found


def own_months(**setup) -> KeeperLog:
    return kettle(
        **{"evaporation_low_L_per_day": 3.6, "evaporation_high_L_per_day": 7.5, **MONTHS, **setup}
    )


def two_part(**setup) -> KeeperLog:
    return kettle(second_source=SecondSource.TWO_PART, two_part_meq_per_mL=2.0, **setup).second(
        59.0, 100.0
    )


def refilled(days: int, swing: float, *, seed: int = 1, **setup) -> KeeperLog:
    """Return refills every third day: 6 L a day, so much more in mid January."""
    scatter = Random(seed)
    log = kettle(**setup)
    for back in range(days, -1, -3):
        at = NOW - timedelta(days=back + 1.5)
        wave = 6.0 + swing * cos(2.0 * pi * (at.timetuple().tm_yday - 15.0) / 365.25)
        log.refill(float(back) + 0.1, 3.0 * wave * (1.0 + scatter.gauss(0.0, 0.08)))
    return log


def months_and_refills(days: int = 28, **setup) -> KeeperLog:
    """Return named months, and refills of 6 L a day in this one where they say about 7."""
    return refilled(
        days,
        0.0,
        shared_container=True,
        evaporation_low_L_per_day=3.6,
        evaporation_high_L_per_day=7.5,
        **MONTHS,
        **setup,
    )


def curve(log: KeeperLog) -> SeasonalEvaporation | None:
    facts = facts_of(log)
    setup = facts.setup
    assert setup is not None
    inputs = recorded_inputs(facts, setup, strength_now(facts, setup), None)
    return seasonal_evaporation(facts, setup, inputs)


CASES = {
    SeasonCode.WATER_UNKNOWN: lambda: kettle(evaporation_low_L_per_day=None),
    SeasonCode.WATER_BALANCED: kettle,
    SeasonCode.WATER_EXCESS: lambda: kettle(8.0),
    SeasonCode.WATER_OVERFLOW: lambda: kettle(8.0, sump_room_L=30.0),
    SeasonCode.WATER_ROOM_UNSET: lambda: kettle(8.0),
    SeasonCode.SALINITY_ASSUMED: kettle,
    SeasonCode.SALINITY_HOLDS: kettle,
    SeasonCode.SALINITY_FALLS_TO: lambda: kettle(8.0),
    SeasonCode.SALINITY_MAY_FALL: lambda: kettle(6.8),
    SeasonCode.SALINITY_RISES_TO: lambda: two_part().read(1.0, salinity=34.3),
    SeasonCode.SALINITY_FALLS_PERHAPS: lambda: kettle(8.0).read(1.0, salinity=34.3),
    SeasonCode.SALINITY_RISES_PERHAPS: lambda: two_part().read(1.0, salinity=35.2),
    SeasonCode.SALINITY_OUTSIDE: lambda: kettle(8.0).read(1.0, salinity=33.0),
    SeasonCode.TWO_PART_SALT: two_part,
    SeasonCode.SKIMMATE_LOSS: lambda: kettle(skimmate_L_per_day=0.5),
    SeasonCode.SEASON_UNKNOWN: kettle,
    SeasonCode.SEASON_MEASURED: lambda: refilled(400, 1.0, shared_container=True),
    SeasonCode.SEASON_OWN_MONTHS: own_months,
    SeasonCode.SEASON_OWN_MONTHS_SCALED: months_and_refills,
    SeasonCode.SEASON_NO_PLAN: lambda: kettle(second_source=SecondSource.REACTOR),
    SeasonCode.SEASON_SHORT: lambda: own_months(
        second_source=SecondSource.TWO_PART, two_part_meq_per_mL=2.0
    ).second(59.0, 0.0),
    SeasonCode.SEASON_SHORT_ALONE: own_months,
    SeasonCode.SEASON_COVERED: lambda: own_months(
        evaporation_low_L_per_day=7.0, evaporation_high_L_per_day=9.0
    ),
    SeasonCode.RETUNE_EVAPORATION: own_months,
    SeasonCode.RETUNE_ALKALINITY: lambda: own_months(
        delivery=Delivery.TOP_OFF_VESSEL, evaporation_low_L_per_day=4.0
    ),
    SeasonCode.RETUNE_NONE: lambda: own_months(
        evaporation_low_L_per_day=7.0, evaporation_high_L_per_day=9.0
    ),
}


def said(log: KeeperLog) -> list[Reason]:
    decision, facts = log.decide(), facts_of(log)
    found: list[Reason] = []
    for part in (
        water_balance_as_set(decision, facts),
        water_balance_by_plan(decision, facts),
        year(decision, facts),
    ):
        found += [part] if isinstance(part, Reason) else part.reasons
    return found


def test_every_code_has_a_case_and_a_sentence():
    assert set(CASES) == set(SeasonCode)
    assert set(TEXTS) == set(SeasonCode)


@pytest.mark.parametrize("code", SeasonCode)
def test_code_is_given_and_its_sentence_filled(code):
    mine = [reason for reason in said(CASES[code]()) if reason.code == code]
    assert mine
    text = sentence(TEXTS, code, mine[0].numbers)
    assert "{" not in text
    assert text.endswith(".")


# --- level and salinity


def test_salinity_falls_as_the_published_course():
    # 500 L, 10 L in and 8 L out: 35 goes to 31.042 in 30 days (chemistry section 9, case B)
    log = kettle(
        10.0, net_volume_L=500.0, evaporation_low_L_per_day=8.0, evaporation_high_L_per_day=8.0
    )
    found = as_set(log)
    assert found.salinity_change_PSU_per_day.best == pytest.approx(-35.0 * 2.0 / 500.0)
    assert found.days_to_band_end is not None
    days = found.days_to_band_end.best
    assert 35.0 * exp(-2.0 * days / 500.0) == pytest.approx(SALINITY_BAND[0])


def test_days_to_the_end_of_the_band_are_as_wide_as_the_salinity_test_is_unsure():
    # common practice: 0.3 PSU by meter, 0.7 by refractometer; 0.5 between them is 0.82 at 90 %
    log = kettle(
        10.0, net_volume_L=500.0, evaporation_low_L_per_day=9.9, evaporation_high_L_per_day=9.9
    )
    days = as_set(log).days_to_band_end
    assert days is not None
    fall = 0.1 / 500.0  # share a day
    for found, start in ((days.low, 35.0 - 0.8225), (days.high, 35.0 + 0.8225)):
        assert start * exp(-fall * found) == pytest.approx(SALINITY_BAND[0], abs=0.001)
    assert days.high > 2.5 * days.low


def test_a_test_that_may_already_stand_beyond_the_band_gives_no_day_to_wait():
    log = kettle(evaporation_low_L_per_day=4.0, evaporation_high_L_per_day=4.0)
    days = as_set(log.read(0.1, salinity=34.3)).days_to_band_end
    assert days is not None
    assert days.low == 0.0 < days.best < days.high


def test_what_may_be_reached_already_is_not_said_to_be_reached_in_less_than_an_hour():
    log = kettle(evaporation_low_L_per_day=4.0, evaporation_high_L_per_day=4.0)
    found = {r.code: r.numbers for r in as_set(log.read(0.1, salinity=34.3)).reasons}
    assert SeasonCode.SALINITY_FALLS_TO not in found
    text = told(TEXTS, SeasonCode.SALINITY_FALLS_PERHAPS, found[SeasonCode.SALINITY_FALLS_PERHAPS])
    assert "It may be at 34 PSU already, or take up to" in text
    assert text.endswith("Test salinity first.")


def test_salt_of_a_two_part_is_that_of_the_reference():
    # 0.5 meq/L a day for a year: 10.666 g/L, about +10.42 g/kg (chemistry section 9, case D)
    log = two_part()
    log.second(58.0, 0.5 * 450.0)
    change = as_set(log).salinity_change_PSU_per_day.best * 365.0
    assert change == pytest.approx(10.42, abs=0.03)


def test_limewater_leaves_no_salt():
    assert as_set(kettle()).salinity_change_PSU_per_day == (0.0, 0.0, 0.0)


def test_days_until_the_sump_is_full():
    found = as_set(
        kettle(8.5, sump_room_L=20.0, evaporation_low_L_per_day=6.0, evaporation_high_L_per_day=7.0)
    )
    assert found.excess_L_per_day == (1.5, 2.0, 2.5)
    assert found.days_to_overflow == pytest.approx((8.0, 10.0, 20.0 / 1.5))


def test_skimmate_takes_salt():
    found = as_set(kettle(skimmate_L_per_day=0.45))
    assert found.salinity_change_PSU_per_day.best == pytest.approx(-35.0 * 0.45 / 450.0)


def test_a_top_off_cannot_give_more_than_evaporates():
    log = own_months(delivery=Delivery.TOP_OFF_VESSEL)
    assert as_set(log).excess_L_per_day.high == 0.0


def test_water_of_the_two_part_counts():
    # 2 meq/mL, 600 meq a day: 300 mL of each part
    log = two_part(evaporation_low_L_per_day=5.0, evaporation_high_L_per_day=5.0)
    log.second(58.0, 600.0)
    assert as_set(log).excess_L_per_day.best == pytest.approx(5.3 + 0.6 - 5.0)


# --- evaporation through the year


def test_half_a_year_of_refills_is_needed():
    assert curve(refilled(170, 1.0, shared_container=True)) is None
    assert curve(refilled(200, 1.0, shared_container=True)) is not None


def test_harmonic_finds_the_season_of_a_whole_year():
    for seed in range(5):
        found = curve(refilled(400, 1.5, seed=seed, shared_container=True))
        assert found is not None
        assert found.source == "measured"
        january, july = NOW.replace(month=1, day=15), NOW.replace(month=7, day=16)
        assert found.at(january).best == pytest.approx(7.5, rel=0.07)
        assert found.at(july).best == pytest.approx(4.5, rel=0.1)
        assert found.at(july).low < found.at(july).best < found.at(july).high


def test_no_season_is_invented_where_there_is_none():
    found = curve(refilled(400, 0.0, shared_container=True))
    assert found is not None
    assert (found.cosine_L_per_day**2 + found.sine_L_per_day**2) ** 0.5 < 0.25


def test_one_slip_of_the_point_does_not_make_a_season():
    log = refilled(400, 0.0, shared_container=True)
    calm = curve(log)
    log.refill(100.6, 180.0)
    wild = curve(log)
    assert calm is not None
    assert wild is not None
    month = NOW.replace(month=11, day=1)
    assert wild.at(month).low == pytest.approx(calm.at(month).low, rel=0.15)


def test_fans_start_the_measurement_anew():
    log = refilled(400, 1.0, shared_container=True).happened(100.0, FANS)
    assert curve(log) is None
    assert curve(refilled(400, 1.0, shared_container=True).happened(250.0, FANS)) is not None


def test_own_months_stay_inside_the_stated_range():
    found = curve(own_months())
    assert found is not None
    for month in range(1, 13):
        low, _, high = found.at(NOW.replace(month=month, day=15))
        assert 3.6 - 0.01 <= low < high <= 7.5 + 0.01
    assert found.at(NOW.replace(month=1, day=15)).best > 6.5
    assert found.at(NOW.replace(month=7, day=15)).best < 4.5


def test_named_months_take_the_size_that_refills_show():
    named, seen = season(own_months()), season(months_and_refills())
    assert (named.source, seen.source) == ("own_months", "own_months_scaled")
    shares = [
        after.evaporation_L_per_day.best / before.evaporation_L_per_day.best
        for before, after in zip(named.months, seen.months, strict=True)
    ]
    assert max(shares) - min(shares) < 1e-6  # the months stay as named
    said = curve(own_months())
    assert said is not None
    two_weeks_ago = said.at(NOW - timedelta(days=14)).best
    evaporation = months_and_refills().decide().evaporation
    assert isinstance(evaporation, Evaporation)
    refills = evaporation_span(evaporation)
    assert refills is not None
    assert shares[0] == pytest.approx(refills.best / two_weeks_ago)
    assert shares[0] < 0.95


def test_a_few_days_of_refills_scale_no_year():
    assert season(months_and_refills(days=3)).source == "own_months"


def test_refills_scale_named_months_by_no_more_than_half_or_double():
    """A range mistyped by a point is asked about elsewhere; the year does not follow it wholly."""
    small = {"evaporation_low_L_per_day": 0.36, "evaporation_high_L_per_day": 0.75}
    log = refilled(28, 0.0, shared_container=True, **small, **MONTHS)
    named = season(own_months(**small)).months
    for before, after in zip(named, season(log).months, strict=True):
        twice = 2.0 * before.evaporation_L_per_day.best
        assert after.evaporation_L_per_day.best == pytest.approx(twice)


def test_which_months_are_high_is_never_presumed():
    summer = curve(own_months(evaporation_high_month=7, evaporation_low_month=1))
    assert summer is not None
    july, january = NOW.replace(month=7, day=15), NOW.replace(month=1, day=15)
    assert summer.at(july).best > summer.at(january).best
    assert curve(kettle()) is None


# --- the table


def test_twelve_months_from_the_present_one():
    months = season(own_months()).months
    assert [(m.year, m.month) for m in months] == [
        (2027 + (number > 10), (number + 1) % 12 + 1) for number in range(12)
    ]


def test_limewater_and_second_source_together_meet_the_need():
    log = own_months()
    for month in season(log).months:
        assert month.limewater_L_per_day <= month.possible_L_per_day
        both = month.limewater_L_per_day * 40.897 + month.second_meq_per_day.best
        assert both == pytest.approx(month.need_meq_per_day.best, rel=0.031)


def test_lime_in_the_top_off_lifts_alkalinity_in_the_months_of_high_evaporation():
    """Common practice: high where all that evaporates is limewater, level on a metering pump."""
    top_off = season(
        own_months(
            delivery=Delivery.TOP_OFF_VESSEL,
            evaporation_low_L_per_day=4.0,
            evaporation_high_L_per_day=6.6,
        )
    )
    by_month = {m.month: m.alkalinity_meq_per_L for m in top_off.months}
    assert by_month[1] > by_month[7] + dkh(0.5)
    pump = season(own_months())
    levels = [m.alkalinity_meq_per_L for m in pump.months]
    assert max(levels) - min(levels) < dkh(0.2)


def test_a_setting_that_a_month_forbids_is_marked_and_the_day_is_told():
    found = season(own_months())
    marked = [m.month for m in found.months if m.setting_too_high]
    assert 7 in marked
    assert 1 not in marked
    assert found.retune.code is SeasonCode.RETUNE_EVAPORATION
    assert found.retune.on is not None
    assert (found.retune.on.year, found.retune.on.month) == (2027, 3)


def test_short_months_are_those_of_little_evaporation():
    found = season(own_months())
    short = [m.month for m in found.months if m.second_meq_per_day.best > 0.0]
    assert 7 in short
    assert 1 not in short


def test_two_part_of_unknown_strength_brings_the_water_of_the_weakest():
    def litres(strength: float | None) -> float:
        log = kettle(second_source=SecondSource.TWO_PART, two_part_meq_per_mL=strength)
        log.second(60.0, 100.0)
        facts = gather(log.records, system=SYSTEM, now=log.now)
        found = water_balance_as_set(log.decide(), facts)
        assert isinstance(found, WaterBalance)
        return found.two_part_L_per_day

    assert litres(None) == litres(1.0) == pytest.approx(0.2)
