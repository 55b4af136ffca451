"""How fast the air works: a pair from the log proposes a rate, or is refused with its reason."""

import pytest

from engine.carbonate import pCO2_uatm_from_dry_air_ppm
from engine.chemistry.gas_exchange import Air, Rates, Segment, run_course
from engine.chemistry.own_exchange import ExchangeCode, Pair, own_exchange
from engine.plan.ph_guard import Water
from engine.reasons import Reason
from engine.vocabulary import MEQ_PER_DKH
from mobile.texts.air import TEXTS
from tests.support.app import Running, not_for_people

WHERE = {"salinity": 35.0, "temperature_degC": 25.0}


def fallen(k: float, hours: float, pH: float = 8.55, room_ppm: float = 600.0) -> float:
    """Return the pH that a tank with a known exchange falls to: what is to be found again."""
    water = Water(alkalinity_meq_per_L=8.5 * MEQ_PER_DKH, **WHERE)
    uatm = pCO2_uatm_from_dry_air_ppm(room_ppm, **WHERE)
    air = Air(pCO2_uatm=uatm, exchange_per_day=k)
    segment = Segment(hours=hours, rates=Rates(respiration_mmol=0.05))
    return round(run_course(water.at_pH_nbs(pH), air, (segment,))[-1].pH_nbs, 2)


def pair(after_pH: float, hours: float = 8.0, **more: float) -> Pair:
    level = 8.5 * MEQ_PER_DKH
    given = {
        "before_meq_per_L": level,
        "before_pH_nbs": 8.55,
        "after_meq_per_L": level,
        "after_pH_nbs": after_pH,
        "hours": hours,
        "room_ppm": 600.0,
    }
    return Pair(**(given | more))


@pytest.mark.parametrize(("k", "hours"), [(20.0, 8.0), (20.0, 12.0), (40.0, 4.0), (40.0, 8.0)])
def test_known_exchange_is_inside_what_is_told_and_the_proposal_is_on_the_safe_side(
    k: float, hours: float
):
    found = own_exchange(pair(fallen(k, hours), hours), **WHERE)
    assert found.rate_per_day is not None
    numbers = found.reasons[0].numbers
    low, high = float(numbers["low_times"]), float(numbers["high_times"])
    assert low < k < high
    assert 0.7 * found.rate_per_day <= low * 1.0001


@pytest.mark.parametrize(
    ("given", "code"),
    [
        (pair(8.4, 1.0), ExchangeCode.TOO_SOON),
        (pair(8.4, 20.0), ExchangeCode.TOO_LATE),
        (pair(8.53), ExchangeCode.TOO_LITTLE),
        (pair(8.4, after_meq_per_L=10.0 * MEQ_PER_DKH), ExchangeCode.ALKALINITY_ROSE),
        (pair(8.75), ExchangeCode.NOT_EXPLAINED),
        (pair(7.5), ExchangeCode.NOT_EXPLAINED),
        (pair(fallen(10.0, 8.0)), ExchangeCode.TOO_UNSURE),
    ],
)
def test_pair_that_tells_nothing_is_refused_with_its_reason(given: Pair, code: ExchangeCode):
    found = own_exchange(given, **WHERE)
    assert found.rate_per_day is None
    assert [reason.code for reason in found.reasons] == [code]


def test_room_that_was_never_measured_is_said():
    found = own_exchange(pair(fallen(40.0, 4.0), 4.0, room_ppm=None), **WHERE)  # pyright: ignore[reportArgumentType]
    if found.rate_per_day is not None:
        assert Reason(ExchangeCode.ROOM_ASSUMED, {}) in found.reasons
    else:
        assert found.reasons[0].code in (ExchangeCode.TOO_UNSURE, ExchangeCode.NOT_EXPLAINED)


def test_every_code_has_a_sentence():
    assert {code for code in TEXTS if code.startswith("air_")} == set(ExchangeCode)


async def two_moments(app: Running, before: str, after: str) -> None:
    await app.record("room_co2", "600")
    await app.record("pH_nbs", before)
    if app.has("keep"):
        await app.tap("keep")
    await app.record("total_alkalinity", "8.5")
    app.clock.move(hours=8)
    await app.record("pH_nbs", after)
    if app.has("keep"):
        await app.tap("keep")
    await app.record("total_alkalinity", "8.5")
    await app.go("/setup/pH_limits")
    await app.tap("tool")


async def test_rate_is_proposed_and_saved_by_one_tap(app: Running):
    await two_moments(app, "8.55", str(fallen(40.0, 8.0)))
    assert app.path == "/setup/air/measure"
    assert app.says("First: pH 8.55 and 8.5 dKH, 8 h ago.")
    assert not app.has("use-rate"), "first it asks whether lime and lamps were off"
    await app.tap("sure-no")
    assert app.all_texts("air-said") == [TEXTS["not_off"]]
    await app.tap("sure-yes")
    assert [text for text in app.screen.texts() if not_for_people(text)] == []
    rate = float(app.text("use-rate").split()[1])
    await app.tap("use-rate")
    assert app.path == "/setup/pH_limits"
    before, after = app.stored("setup")
    assert after["gas_exchange_per_day"] == rate
    same = set(before) - {"id", "at", "recorded_at", "gas_exchange_per_day", "typed"}
    assert {key: after[key] for key in same} == {key: before[key] for key in same}


async def test_pair_that_tells_nothing_saves_nothing(app: Running):
    await two_moments(app, "8.2", "8.19")
    await app.tap("sure-yes")
    (said,) = app.all_texts("air-said")
    assert said.startswith("pH moved by only 0.01, and 0.05 is needed.")
    assert not app.has("use-rate")
    assert len(app.stored("setup")) == 1


async def test_without_readings_it_says_what_to_record(app: Running):
    await app.go("/setup/air/measure")
    assert app.text("air-none") == TEXTS["none"]
    await app.tap("record_pH")
    assert app.path == "/record/pH_nbs"
