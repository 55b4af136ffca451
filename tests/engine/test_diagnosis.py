"""Why alkalinity or pH drifts: the cause that the log shows comes first, with its measurement."""

from dataclasses import replace
from random import Random

import pytest

from engine.demand.facts import gather
from engine.diagnosis.codes import CauseCode, Diagnosis, Finding, Likelihood, Measure
from engine.diagnosis.drift import CUSUM_ALARM, cusum, diagnose
from engine.plan.happenings import ANIMALS, FANS, POWER_CUT, PUMP_STOPPED, SKIMMER_OVERFLOW
from engine.records import Delivery, SecondSource, WaterTest
from mobile.state.sentences import sentence
from mobile.texts.diagnosis import LIKELIHOOD, TEXTS
from tests.support.keeper_log import SYSTEM, KeeperLog, dkh


def of(log: KeeperLog) -> Diagnosis:
    return diagnose(log.decide(), gather(log.records, system=SYSTEM, now=log.now))


def drifting(per_day_dKH: float, pump: float = 5.3, *, days: int = 24, **setup) -> KeeperLog:
    """Return a test every second day on a straight line that ends at 8.0, with usual scatter."""
    scatter = Random(3)
    log = KeeperLog().setup(100.0, **setup).pump(100.0, pump)
    for back in range(days, -1, -2):
        log.test(back + 0.2, 8.0 - per_day_dKH * back + scatter.gauss(0.0, 0.1))
    return log


def checked(log: KeeperLog) -> KeeperLog:
    """Return the log with strength and pump measured and right."""
    return log.strength(1.0, 0.99).pump_check(1.0, 100.0, 100.0)


def first(log: KeeperLog) -> tuple[CauseCode, Likelihood]:
    cause = of(log).causes[0]
    return cause.code, cause.likelihood


def two_part(per_day_dKH: float, second: float) -> KeeperLog:
    return drifting(
        per_day_dKH, second_source=SecondSource.TWO_PART, two_part_meq_per_mL=2.0
    ).second(100.0, second)


def top_off(per_day_dKH: float) -> KeeperLog:
    return drifting(per_day_dKH, delivery=Delivery.TOP_OFF_VESSEL)


def of_pH(pH: float) -> KeeperLog:
    return drifting(0.0).read(0.5, pH_nbs=pH)


def weak() -> KeeperLog:
    return drifting(-0.25).strength(0.5, 0.7)


def worn() -> KeeperLog:
    return drifting(-0.2).pump_check(0.5, 100.0, 85.0)


CASES = {
    CauseCode.WEAK_LIME: weak,
    CauseCode.WEAK_LIME_UNCHECKED: lambda: drifting(-0.25),
    CauseCode.PUMP_WORN: worn,
    CauseCode.PUMP_UNCHECKED: lambda: drifting(-0.25),
    CauseCode.PUMP_STOPPED: lambda: drifting(-0.25).happened(2.0, PUMP_STOPPED),
    CauseCode.PUMP_GIVES_MORE: lambda: drifting(0.2).pump_check(0.5, 100.0, 118.0),
    CauseCode.DEMAND_UP: lambda: checked(drifting(-0.25)).happened(5.0, ANIMALS),
    CauseCode.DEMAND_DOWN: lambda: checked(drifting(0.25)),
    CauseCode.EVAPORATION_DOWN: lambda: top_off(-0.25).happened(4.0, FANS),
    CauseCode.EVAPORATION_UP: lambda: top_off(0.25).happened(4.0, FANS),
    CauseCode.SECOND_SOURCE_OFF: lambda: two_part(-0.3, 50.0),
    CauseCode.SECOND_SOURCE_MORE: lambda: two_part(0.3, 50.0),
    CauseCode.RECHARGED: lambda: drifting(0.3).strength(6.0, 0.75).recharge(5.0, 125.0),
    CauseCode.SLUG: lambda: drifting(0.25).happened(2.0, SKIMMER_OVERFLOW),
    CauseCode.REAGENT: lambda: drifting(-0.25),
    CauseCode.SALINITY: lambda: drifting(-0.1).read(20.0, salinity=35.2).read(1.0, salinity=33.4),
    CauseCode.NITRATE: lambda: drifting(-0.15).read(40.0, nitrate=5.0).read(1.0, nitrate=45.0),
    CauseCode.NITRATE_UNTESTED: lambda: drifting(-0.25),
    CauseCode.ROOM_UNMEASURED: lambda: of_pH(7.7),
    CauseCode.ROOM_CO2_HIGH: lambda: of_pH(7.7).read(0.4, room_co2=1500.0),
    CauseCode.ROOM_CO2_LOW: lambda: of_pH(8.48).read(0.4, room_co2=420.0),
    CauseCode.LIME_STOPPED: lambda: drifting(0.35).pump(0.3, 3.9).read(0.2, pH_nbs=7.8),
    CauseCode.PROBE: lambda: of_pH(7.7),
}
SEEN = {
    Finding.STEADY: lambda: drifting(0.0),
    Finding.FALLS: lambda: drifting(-0.25),
    Finding.RISES: lambda: drifting(0.25),
    Finding.RUNS_LOW: lambda: ran(-2.5),
    Finding.RUNS_HIGH: lambda: ran(1.5),
    Finding.PH_HIGH: lambda: of_pH(8.48),
    Finding.PH_LOW: lambda: of_pH(7.7),
    Finding.NO_DEMAND: lambda: KeeperLog().setup().test(1.0, 8.3),
    Finding.LOOK_AT_ANIMALS: lambda: checked(drifting(0.25)),
}


def ran(jump_dKH: float) -> KeeperLog:
    """Return a month of level tests, then four that stand apart and go on level."""
    scatter = Random(5)
    log = KeeperLog().setup(100.0).pump(100.0, 5.3)
    for back in range(40, -1, -1):
        value = 8.2 + (jump_dKH if back < 4 else 0.0) + scatter.gauss(0.0, 0.1)
        log.test(back + 0.2, value)
    return log


def test_every_code_has_a_case_and_a_sentence():
    assert set(CASES) == set(CauseCode)
    assert set(SEEN) == set(Finding)
    assert set(TEXTS) == {*CauseCode, *Finding, *Measure}
    assert set(LIKELIHOOD) == set(Likelihood)


@pytest.mark.parametrize("code", CauseCode)
def test_cause_is_given_and_its_sentences_filled(code):
    mine = [cause for cause in of(CASES[code]()).causes if cause.code is code]
    assert mine
    for said in (mine[0].reason, mine[0].measure):
        text = sentence(TEXTS, said.code, said.numbers)
        assert "{" not in text
        assert text[-1] in ".?"


@pytest.mark.parametrize("finding", Finding)
def test_finding_is_given_and_its_sentence_filled(finding):
    reasons = of(SEEN[finding]()).reasons
    mine = [reason for reason in reasons if reason.code == finding]
    assert mine
    assert "{" not in sentence(TEXTS, finding, mine[0].numbers)


# The causes that the tank's keeper should hear of, one by one: where the log shows it, its word and
# the cheapest measurement that would settle it.
ASKED_FOR = {
    "spent or carbonated lime": (CauseCode.WEAK_LIME, "likely", Measure.STRENGTH),
    "the same unmeasured": (CauseCode.WEAK_LIME_UNCHECKED, "possible", Measure.STRENGTH),
    "pump tube wear": (CauseCode.PUMP_WORN, "likely", Measure.PUMP),
    "pump stopped": (CauseCode.PUMP_STOPPED, "likely", Measure.LOOK),
    "demand up": (CauseCode.DEMAND_UP, "likely", Measure.SAME_HOUR),
    "demand down": (CauseCode.DEMAND_DOWN, "likely", Measure.SAME_HOUR),
    "less evaporates": (CauseCode.EVAPORATION_DOWN, "likely", Measure.REFILLS),
    "more evaporates": (CauseCode.EVAPORATION_UP, "likely", Measure.REFILLS),
    "second source off": (CauseCode.SECOND_SOURCE_OFF, "possible", Measure.SECOND_SOURCE),
    "test reagent": (CauseCode.REAGENT, "unlikely", Measure.REFERENCE),
    "room CO2 high": (CauseCode.ROOM_CO2_HIGH, "likely", Measure.WINDOW),
    "room CO2 low": (CauseCode.ROOM_CO2_LOW, "likely", Measure.WINDOW_SHUT),
    "salinity artefact": (CauseCode.SALINITY, "possible", Measure.SALINITY),
    "skimmer overflow or restart slug": (CauseCode.SLUG, "likely", Measure.LOOK),
    "nitrate rising": (CauseCode.NITRATE, "possible", Measure.NITRATE),
}


@pytest.mark.parametrize("name", ASKED_FOR)
def test_cause_has_numbers_a_word_and_the_cheapest_measurement(name):
    code, word, measure = ASKED_FOR[name]
    cause = next(cause for cause in of(CASES[code]()).causes if cause.code is code)
    assert cause.likelihood == word
    assert cause.measure.code == measure
    assert cause.reason.numbers
    assert all(f"{{{key}}}" in TEXTS[code] for key in cause.reason.numbers), "each number is said"


def test_steady_has_no_causes():
    found = of(drifting(0.0))
    assert found.finding is Finding.STEADY
    assert found.causes == ()


def test_weak_lime_that_explains_the_fall_comes_first():
    # 30 % of 5.3 L at 40.9 meq/L is 65 meq a day; the fall is 0.25 dKH in 450 L, 40 meq
    assert first(weak()) == (CauseCode.WEAK_LIME, Likelihood.LIKELY)
    cause = of(weak()).causes[0]
    assert cause.explains_share is not None
    assert 0.5 < cause.explains_share < 2.5
    assert cause.measure.code == Measure.STRENGTH


def test_worn_pump_that_explains_the_fall_comes_first():
    assert first(worn()) == (CauseCode.PUMP_WORN, Likelihood.LIKELY)
    assert of(worn()).causes[0].measure.code == Measure.PUMP


def test_with_equipment_measured_and_right_it_is_the_animals():
    found = of(CASES[CauseCode.DEMAND_UP]())
    assert found.causes[0].code is CauseCode.DEMAND_UP
    assert found.causes[0].likelihood is Likelihood.LIKELY


def test_falling_demand_first_says_look_at_the_animals():
    found = of(checked(drifting(0.25)))
    assert found.reasons[0].code == Finding.LOOK_AT_ANIMALS
    assert found.causes[0].code is CauseCode.DEMAND_DOWN


def test_animals_are_looked_at_even_while_other_causes_are_open():
    assert of(drifting(0.25)).reasons[0].code == Finding.LOOK_AT_ANIMALS


def test_a_new_tube_on_a_raised_setting_comes_first():
    log = drifting(0.24).pump_check(0.5, 100.0, 118.0).strength(1.0, 0.99)
    assert first(log)[0] is CauseCode.PUMP_GIVES_MORE


def test_a_slug_that_was_recorded_comes_first():
    assert first(drifting(0.25).happened(2.0, POWER_CUT))[0] is CauseCode.SLUG


def test_closed_windows_come_first_when_the_room_was_measured():
    assert first(CASES[CauseCode.ROOM_CO2_HIGH]())[0] is CauseCode.ROOM_CO2_HIGH


def test_measured_strength_near_full_is_not_blamed():
    causes = {cause.code: cause for cause in of(checked(drifting(-0.25))).causes}
    assert causes[CauseCode.WEAK_LIME].likelihood is Likelihood.UNLIKELY
    assert causes[CauseCode.PUMP_WORN].likelihood is Likelihood.UNLIKELY


def test_evaporation_is_no_cause_where_a_pump_doses():
    codes = {cause.code for cause in of(drifting(-0.25)).causes}
    assert CauseCode.EVAPORATION_DOWN not in codes


def test_nitrate_takes_what_the_reference_says():
    # 50 mg/L eats 2.3 dKH (practice)
    log = drifting(-0.15).read(51.0, nitrate=5.0).read(1.0, nitrate=55.0)
    cause = next(c for c in of(log).causes if c.code is CauseCode.NITRATE)
    taken = cause.reason.numbers["taken_meq_per_day"]
    assert isinstance(taken, float)
    assert taken * 50.0 / 450.0 == pytest.approx(dkh(2.26), rel=0.01)


def test_ranks_fall():
    order = list(Likelihood)
    for make in CASES.values():
        ranks = [order.index(cause.likelihood) for cause in of(make()).causes]
        assert ranks == sorted(ranks)


# --- the CUSUM


def test_cusum_is_silent_on_noise():
    rng = Random(1)
    alarms = sum(cusum([rng.gauss(0.0, 1.0) for _ in range(30)]) != 0.0 for _ in range(300))
    assert alarms <= 30


def test_cusum_speaks_up_on_a_shift():
    rng = Random(2)
    heard = 0
    for _ in range(100):
        quiet = [rng.gauss(0.0, 1.0) for _ in range(20)]
        heard += cusum([*quiet, *(rng.gauss(1.5, 1.0) for _ in range(6))]) > CUSUM_ALARM
    assert heard >= 65


def test_cusum_tells_the_side():
    assert cusum([2.0] * 5) > 0.0
    assert cusum([-2.0] * 5) < 0.0


def test_one_wild_test_is_no_alarm():
    assert cusum([0.0] * 10 + [25.0]) == 0.0


def test_an_old_alarm_is_over():
    assert cusum([2.5] * 4 + [0.0] * 12) == 0.0


def test_a_fall_that_the_plan_foresees_is_no_drift():
    """Evaporation caps the lime and there is no second source: the plan itself says it is short."""
    log = KeeperLog().setup(100.0, evaporation_low_L_per_day=3.6, evaporation_high_L_per_day=4.6)
    log.pump(100.0, 3.2)
    for back in range(24, -1, -2):
        log.test(back + 0.2, 7.6 + 0.1 * back)
    foreseen = of(log)
    assert log.decide().remainder is not None
    assert foreseen.finding is Finding.STEADY
    faster = KeeperLog().setup(100.0).pump(100.0, 3.2)
    for back in range(24, -1, -2):
        faster.test(back + 0.2, 7.6 + 0.1 * back)
    assert of(faster).finding is Finding.FALLS, "there the plan would give what is missing"


def test_a_new_tank_left_to_water_changes_does_not_drift():
    log = KeeperLog().setup(100.0).pump(100.0, 0.0)
    for back in range(24, -1, -2):
        log.test(back + 0.2, 8.0 + 0.1 * back)
    assert log.decide().plan.reasons[0].code == "new_tank"
    assert of(log).finding is Finding.STEADY


def reagent(log: KeeperLog) -> Likelihood:
    return next(cause.likelihood for cause in of(log).causes if cause.code is CauseCode.REAGENT)


def labelled(log: KeeperLog, *lots: str) -> KeeperLog:
    """Return the log with the newest tests' bottles named, the others left blank."""
    tests = [r for r in log.records if isinstance(r, WaterTest)][-len(lots) :]
    named = {test.id: lot for test, lot in zip(tests, lots, strict=True)}
    log.records = [
        replace(r, reagent_lot=named[r.id]) if isinstance(r, WaterTest) and r.id in named else r
        for r in log.records
    ]
    return log


def test_the_first_label_after_blanks_is_no_new_bottle():
    calm = reagent(drifting(-0.25))
    assert reagent(labelled(drifting(-0.25), "A")) == calm
    assert reagent(labelled(drifting(-0.25), "A", "", "A")) == calm
    assert reagent(labelled(drifting(-0.25), "A", "", "B")) != calm
