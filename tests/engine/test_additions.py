import pytest

from engine.chemistry.salts import COMPOUNDS, effect
from engine.demand.facts import gather
from engine.errors import EngineError
from engine.plan.additions import (
    ALKALINITY_RISE_MEQ_PER_L,
    CALCIUM_RISE_MG_PER_L,
    MAGNESIUM_RISE_MG_PER_L,
    AdditionCode,
    AdditionPlan,
    What,
    Wish,
    halt_of,
    plan_additions,
)
from engine.records import Setup
from mobile.state.sentences import sentence
from mobile.texts.additions import TEXTS
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, dkh

BICARBONATE, CARBONATE = "sodium_bicarbonate", "sodium_carbonate"
CHLORIDE = "calcium_chloride_2_water"
MAGNESIUM, EPSOM = "magnesium_chloride_6_water", "magnesium_sulfate_7_water"


def a_setup(**changes) -> Setup:
    record = KeeperLog().setup(**{"net_volume_error_share": 0.01, **changes}).records[0]
    assert isinstance(record, Setup)
    return record


def raise_alkalinity(now=7.0, target=8.0, salt=BICARBONATE, assay=1.0) -> Wish:
    return Wish(what=What.ALKALINITY, now=dkh(now), target=dkh(target), salt=salt, assay=assay)


def raise_calcium(now=380.0, target=420.0, salt=CHLORIDE, assay=1.0) -> Wish:
    return Wish(what=What.CALCIUM, now=now, target=target, salt=salt, assay=assay)


def raise_magnesium(now=1200.0, target=1300.0, salt=MAGNESIUM, assay=1.0) -> Wish:
    return Wish(what=What.MAGNESIUM, now=now, target=target, salt=salt, assay=assay)


def total(plan: AdditionPlan, what: What) -> float:
    return sum(day.grams for day in plan.days if day.what is what)


@pytest.mark.parametrize(
    ("wish", "grams"),
    [  # the worked examples of the chemistry reference, 450 litres (section 8)
        (raise_alkalinity(), 13.48),
        (raise_alkalinity(salt=CARBONATE), 8.505),
        (raise_calcium(), 66.03),
        (raise_magnesium(), 376.4),
    ],
)
def test_grams_are_those_of_the_reference_for_the_smallest_volume(wish, grams):
    plan = plan_additions([wish], a_setup(), pH_nbs=8.0)
    assert total(plan, wish.what) == pytest.approx(grams * 0.99, rel=1e-3)


def test_a_weaker_product_takes_more():
    pure = total(plan_additions([raise_calcium()], a_setup()), What.CALCIUM)
    flakes = total(plan_additions([raise_calcium(assay=0.78)], a_setup()), What.CALCIUM)
    assert flakes == pytest.approx(pure / 0.78)


def test_no_day_brings_more_than_its_limit_in_the_smallest_tank():
    setup = a_setup(net_volume_error_share=0.2)
    wishes = [raise_alkalinity(6.5, 9.0), raise_calcium(300.0, 450.0), raise_magnesium(900, 1400)]
    plan = plan_additions(wishes, setup)
    limits = {
        What.ALKALINITY: ALKALINITY_RISE_MEQ_PER_L,
        What.CALCIUM: CALCIUM_RISE_MG_PER_L,
        What.MAGNESIUM: MAGNESIUM_RISE_MG_PER_L,
    }
    for day in plan.days:
        brought = effect(COMPOUNDS[day.salt], day.grams, volume_L=450.0 * 0.8, assay=1.0)
        rise = {
            What.ALKALINITY: brought.alkalinity_meq_per_L,
            What.CALCIUM: brought.calcium_mg_per_L,
            What.MAGNESIUM: brought.magnesium_mg_per_L,
        }[day.what]
        assert rise <= limits[day.what] * (1.0 + 1e-9)


def test_keepers_own_limit_on_the_rise_counts():
    plan = plan_additions([raise_alkalinity()], a_setup(net_rise_meq_per_L_per_day=dkh(0.1)))
    assert len(plan.days) == 10
    assert len(plan_additions([raise_alkalinity()], a_setup()).days) == 4


def test_a_limit_of_nothing_adds_nothing():
    assert not plan_additions([raise_alkalinity()], a_setup(net_rise_meq_per_L_per_day=0.0)).days


def test_magnesium_then_calcium_then_alkalinity_never_on_one_day():
    plan = plan_additions([raise_alkalinity(), raise_magnesium(), raise_calcium()], a_setup())
    whats = [day.what for day in plan.days]
    assert whats == sorted(whats, key=list(What).index)
    assert [day.day for day in plan.days] == list(range(1, len(plan.days) + 1))


def test_what_is_recorded_is_the_alkalinity_of_the_grams():
    day = plan_additions([raise_alkalinity()], a_setup()).days[0]
    assert day.alkalinity_meq == pytest.approx(day.grams / 84.0067 * 1000.0, rel=1e-4)
    assert plan_additions([raise_calcium()], a_setup()).days[0].alkalinity_meq == 0.0


REFUSED = {
    AdditionCode.WRONG_SALT: ([raise_calcium(salt=BICARBONATE)], {}),
    AdditionCode.NO_LIME: ([raise_alkalinity(salt="calcium_hydroxide")], {}),
    AdditionCode.STARVED: ([raise_alkalinity(5.5, salt=CARBONATE)], {"pH_nbs": 8.0}),
    AdditionCode.PH_TOO_HIGH: ([raise_alkalinity(salt=CARBONATE)], {"pH_nbs": 8.3}),
    AdditionCode.SALINITY_FIRST: ([raise_calcium()], {"salinity": 32.0}),
    AdditionCode.NOTHING_TO_ADD: ([raise_calcium(430.0, 420.0)], {}),
}


@pytest.mark.parametrize("code", REFUSED)
def test_refusal_weighs_nothing(code):
    wishes, facts = REFUSED[code]
    plan = plan_additions(wishes, a_setup(), **facts)
    assert plan.days == ()
    assert [reason.code for reason in plan.reasons] == [code]


def test_carbonate_without_a_pH_is_refused():
    plan = plan_additions([raise_alkalinity(salt=CARBONATE)], a_setup())
    assert plan.reasons[0].code == AdditionCode.PH_TOO_HIGH


def test_one_objection_stops_all_of_it():
    plan = plan_additions([raise_magnesium(), raise_calcium(salt=BICARBONATE)], a_setup())
    assert plan.days == ()


def test_low_salinity_explains_low_calcium():
    reason = plan_additions([raise_calcium()], a_setup(), salinity=32.0).reasons[0]
    assert reason.numbers["corrected_mg_per_L"] == pytest.approx(380.0 * 35.0 / 32.0)


@pytest.mark.parametrize("bad", [float("nan"), -1.0, float("inf")])
def test_values_are_finite_and_not_negative(bad):
    with pytest.raises(EngineError):
        plan_additions([raise_calcium(now=bad)], a_setup())
    with pytest.raises(EngineError):
        plan_additions([raise_calcium(assay=bad)], a_setup())


def every_reason():
    found = [
        *plan_additions(
            [raise_alkalinity(), raise_magnesium(salt=EPSOM), raise_calcium()], a_setup()
        ).reasons
    ]
    for wishes, facts in REFUSED.values():
        found += plan_additions(wishes, a_setup(), **facts).reasons
    return [*found, *plan_additions([raise_calcium()], a_setup(), pH_nbs=9.1).reasons, *halts()]


def halts():
    for log in (KeeperLog().setup().incident(0.1), KeeperLog().setup().read(0.1, pH_nbs=8.6)):
        facts = gather(log.records, system=SYSTEM, now=NOW)
        halt = halt_of(facts, facts.setup)
        assert halt is not None
        yield from plan_additions([raise_alkalinity()], facts.setup, halt=halt).reasons


def test_a_calm_tank_halts_nothing():
    log = KeeperLog().setup().read(0.1, pH_nbs=8.3).test(0.2, 8.0)
    facts = gather(log.records, system=SYSTEM, now=NOW)
    assert halt_of(facts, facts.setup) is None


def test_every_code_is_given_and_has_a_sentence():
    assert {reason.code for reason in every_reason()} == set(AdditionCode)
    assert set(TEXTS) == set(AdditionCode)
    for reason in every_reason():
        said = sentence(TEXTS, reason.code, reason.numbers)
        assert "{" not in said
        assert said.endswith(".")
