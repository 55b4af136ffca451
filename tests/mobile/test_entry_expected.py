"""A slip of the point in an amount is asked about; the answer "keep" saves it once."""

import pytest

from tests.support.app import Running


async def test_refill_ten_times_too_large_is_asked_about(app: Running):
    for digits in ("12.5", "13", "12"):
        await app.record("refill", digits)
    assert len(app.stored("refill")) == 3
    await app.record("refill", "130")
    assert app.text("finding").startswith("130 L is not what was expected")
    assert len(app.stored("refill")) == 3
    await app.tap("keep")
    assert [record["volume_L"] for record in app.stored("refill")][-1] == 130.0


@pytest.mark.parametrize(("measured", "asked"), [("97", False), ("970", True), ("9.7", True)])
async def test_pump_run_far_from_its_setting_is_asked_about(
    app: Running, measured: str, asked: bool
):
    await app.go("/record/pump_check")
    await app.type("100", "expected_mL")
    await app.type(measured, "run_1_mL")
    await app.tap("save")
    assert app.has("finding") is asked
    assert len(app.stored("pump_check")) == (not asked)


async def test_water_change_larger_than_the_tank_is_asked_about(app: Running):
    await app.record("water_change", "4500")
    assert "is not what was expected" in app.text("finding")
    assert app.stored("water_change") == []


async def test_conductivities_that_give_no_strength_are_told(app: Running):
    await app.go("/record/strength_conductivity")
    await app.type("9.5", "reading_mS_per_cm")
    await app.type("7.9", "own_saturated_mS_per_cm")
    await app.tap("save")
    assert app.text("finding").startswith("These readings give no strength.")
    assert app.stored("limewater_strength") == []
