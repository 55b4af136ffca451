"""One-off additions: offered values, bad input, refusals with reasons, today's part recorded."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine.chemistry.salts import (
    CALCIUM_CHLORIDE_DIHYDRATE,
    SODIUM_BICARBONATE,
    grams_for_alkalinity,
    grams_for_calcium,
)
from engine.records import Addition, Reading, Setup, WaterTest
from engine.vocabulary import MEQ_PER_DKH
from tests.support.app import START, Phone, Running, first_records, not_for_people


def test_of(hours_ago: float, **values: float) -> WaterTest:
    at = START - timedelta(hours=hours_ago)
    readings = tuple(
        Reading(parameter=code, value=value, typed=str(value), typed_unit="")
        for code, value in values.items()
    )
    return WaterTest(id="x:1", at=at, recorded_at=at, system="reef", readings=readings)


test_of.__test__ = False  # pyright: ignore[reportFunctionMemberAccess]


async def opened(phone: Phone, *records: WaterTest | Addition) -> Running:
    app = await phone.open(records=(*first_records(START - timedelta(days=9)), *records))
    await app.go("/plan/additions")
    return app


def said(app: Running) -> list[str]:
    return app.all_texts("addition-said")


async def test_it_is_reached_from_plan(app: Running):
    await app.go("/plan")
    assert app.says("One-off addition")
    await app.tap("page-additions")
    assert app.path == "/plan/additions"


async def test_last_test_and_target_are_offered_and_grams_spread_over_days(phone: Phone):
    app = await opened(phone, test_of(20, total_alkalinity=7.3 * MEQ_PER_DKH))
    await app.tap("raise-alkalinity")
    assert app.text("figure-alkalinity_now") == "7.3 dKH"
    assert app.text("figure-alkalinity_target") == "8.2 dKH"
    await app.tap("work-out")
    # 0.9 dKH at 0.3 a day; the smallest the 450 L may be is 405
    each = grams_for_alkalinity(SODIUM_BICARBONATE, 0.3 * MEQ_PER_DKH, volume_L=405.0, assay=1.0)
    assert app.says("Days 1 to 3")
    assert app.says(f"{each:.3g} g of sodium bicarbonate each day")
    assert any("a spot away from any limewater" in text for text in said(app))
    await app.tap("record-part")
    (added,) = app.stored("addition")
    assert added["salt"] == "bicarbonate"
    assert added["salt_g"] == pytest.approx(each)
    assert added["alkalinity_meq"] == pytest.approx(0.3 * MEQ_PER_DKH * 405.0)
    assert not app.has("record-part"), "not twice a day"
    assert app.text("addition-wait").startswith("An addition was recorded just now. Test 12 h")


async def test_three_at_once_come_in_order_on_days_of_their_own(phone: Phone):
    tested = test_of(
        5, total_alkalinity=7.9 * MEQ_PER_DKH, calcium=405.0, magnesium=1280.0, salinity=35.0
    )
    app = await opened(phone, tested)
    await app.tap("raise-alkalinity", "raise-calcium", "raise-magnesium", "work-out")
    shown = app.screen.texts()
    order = [shown.index(title) for title in ("Day 1", "Day 2", "Day 3")]
    assert order == sorted(order)
    first, second, third = (shown[index + 1] for index in order)
    assert "magnesium chloride, hexahydrate" in first
    assert "calcium chloride, dihydrate" in second
    assert "sodium bicarbonate" in third
    assert any("Magnesium first, then calcium, alkalinity last" in text for text in said(app))


async def test_weaker_product_takes_more_and_brings_the_same(phone: Phone):
    app = await opened(phone, test_of(5, calcium=405.0, salinity=35.0))
    await app.tap("raise-calcium")
    await app.type("420", "calcium_target")
    await app.type("80", "calcium_assay")
    await app.tap("work-out", "record-part")
    (added,) = app.stored("addition")
    pure = grams_for_calcium(CALCIUM_CHLORIDE_DIHYDRATE, 15.0, volume_L=405.0, assay=1.0)
    assert added["salt_g"] == pytest.approx(pure / 0.8)
    assert added["calcium_mg"] == pytest.approx(15.0 * 405.0)
    assert added["alkalinity_meq"] == 0.0
    await app.go(f"/history/{added['id']}")
    await app.tap("amend")
    await app.erase(9)
    await app.type("10")
    await app.tap("save")
    new = app.stored("amendment")[-1]["replacement"]
    assert new["calcium_mg"] == pytest.approx(15.0 * 405.0 * 10.0 / added["salt_g"]), "80 % stays"


async def test_old_test_is_not_taken_for_now(phone: Phone):
    app = await opened(phone, test_of(80, calcium=405.0))
    await app.tap("raise-calcium")
    assert app.text("figure-calcium_now") == "–"
    assert app.says("No test of the last 3 days: test it, and type it.")
    await app.tap("work-out")
    assert app.all_texts("fault") == ["Calcium now: Type the value first."]


@pytest.mark.parametrize(
    ("key", "digits", "fault"),
    [
        ("calcium_now", "9999", "Calcium now: 9999 cannot be right"),
        ("calcium_now", "200", "Calcium now: 200 mg/L is outside the usual"),
        ("calcium_assay", "30", "Share of this salt in the product: Type a share from 50 to 100"),
        ("calcium_assay", "300", "Share of this salt in the product: Type a share from 50 to 100"),
    ],
)
async def test_bad_input_is_said_and_weighs_nothing(
    phone: Phone, key: str, digits: str, fault: str
):
    app = await opened(phone, test_of(5, calcium=405.0))
    await app.tap("raise-calcium")
    await app.type(digits, key)
    await app.tap("work-out")
    (only,) = app.all_texts("fault")
    assert only.startswith(fault)
    assert app.text(f"figure-{key}") == digits
    assert not app.has("record-part")


async def test_nothing_chosen_is_said(phone: Phone):
    app = await opened(phone)
    await app.tap("work-out")
    assert app.all_texts("fault") == ["Choose first what should rise."]


@pytest.mark.parametrize(
    ("values", "taps", "reason"),
    [
        ({"total_alkalinity": 8.4 * MEQ_PER_DKH}, ("raise-alkalinity",), "Nothing to add"),
        (
            {"total_alkalinity": 5.5 * MEQ_PER_DKH},
            ("raise-alkalinity", "alkalinity-salt-carbonate"),
            "Raise it with bicarbonate",
        ),
        (
            {"total_alkalinity": 7.5 * MEQ_PER_DKH, "pH_nbs": 8.4},
            ("raise-alkalinity", "alkalinity-salt-carbonate"),
            "Carbonate lifts pH",
        ),
        ({"calcium": 380.0, "salinity": 32.0}, ("raise-calcium",), "Salinity is 32 PSU."),
    ],
)
async def test_refusal_gives_its_reason_and_no_grams(
    phone: Phone, values: dict[str, float], taps: tuple[str, ...], reason: str
):
    app = await opened(phone, test_of(5, **values))
    await app.tap(*taps, "work-out")
    assert any(reason in text for text in said(app)), app.screen.texts()
    assert not app.has("record-part")


async def test_every_text_of_the_page_is_for_people(phone: Phone):
    tested = test_of(5, total_alkalinity=7.0 * MEQ_PER_DKH, calcium=380.0, magnesium=1200.0)
    app = await opened(phone, tested)
    await app.tap("raise-alkalinity", "raise-calcium", "raise-magnesium", "work-out")
    assert [text for text in app.screen.texts() if not_for_people(text)] == []


def test_calcium_of_a_weighed_salt_is_counted_as_recorded():
    from engine.demand.calcium import _calcium_mg_per_L

    setup, _setting = first_records()
    assert isinstance(setup, Setup)
    frame = {"id": "x:1", "at": START, "recorded_at": START, "system": "reef"}
    salt = Addition(**frame, alkalinity_meq=0.0, salt="own mix", salt_g=50.0, calcium_mg=4500.0)  # pyright: ignore[reportArgumentType]
    assert _calcium_mg_per_L(salt, setup) == pytest.approx(10.0)
    assert _calcium_mg_per_L(replace(salt, calcium_mg=None), setup) == 0.0
