"""What the runs of the procedures leave in the log."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from engine.log.meters import drifted
from engine.procedures.answers import Answered, Held
from engine.procedures.runs import RunState
from engine.procedures.sums import with_sums
from engine.records import (
    Container,
    DeliverySetting,
    Happening,
    LimewaterStrength,
    Meter,
    MeterCheck,
    PumpCheck,
    Recharge,
    Refill,
    Setup,
    StrengthMethod,
    SupplyItem,
    SupplyStock,
    WaterChange,
    WaterTest,
)
from mobile.procedures import load_procedure
from tests.support.procedure_runs import Log

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)


def run(key: str, until: str = "", delivery: str = "pump_vessel", **choices: str) -> Log:
    log = Log(load_procedure(key), NOW, delivery=delivery, choices=choices)
    log.begin()
    if until:
        log.walk_to(until)
    else:
        log.walk_through()
    return log


def made(log: Log, kind: type) -> list:
    return [record for record in log.records if isinstance(record, kind)]


def test_pump_check_holds_its_three_runs():
    (check,) = made(run("pump_check"), PumpCheck)
    assert check.expected_mL == 200.0
    assert check.measured_mL == (196.0, 195.0, 197.0)


def test_runs_that_differ_are_measured_again_or_kept_with_a_word():
    log = run("pump_check", until="run_2")
    for millilitres in ("180", "197"):
        assert isinstance(log.give(millilitres), Answered)
    assert log.at.step.key == "spread"
    found = log.give("agree")
    assert isinstance(found, Held)
    assert found.code == "pump_spread_block"
    assert log.known["spread_share"] == pytest.approx(17.0 / 191.0, rel=1e-6)
    log.give("apart")
    assert log.at.step.key == "prime"
    assert "run_1_mL" not in log.known
    log.walk_through()
    (check,) = made(log, PumpCheck)
    assert check.measured_mL == (196.0, 195.0, 197.0)


@pytest.mark.parametrize(
    ("key", "method", "field"),
    [
        ("strength_conductivity", StrengthMethod.CONDUCTIVITY, "reading_mS_per_cm"),
        ("strength_dilution", StrengthMethod.DILUTION, "diluted_total_alkalinity_meq_per_L"),
        ("strength_titration", StrengthMethod.TITRATION, "titration_acid_mL"),
    ],
)
def test_strength_is_kept_with_what_was_read(key: str, method: StrengthMethod, field: str):
    (strength,) = made(run(key), LimewaterStrength)
    assert strength.method is method
    assert 0.8 < strength.fraction_of_saturation < 1.0
    assert getattr(strength, field) > 0.0


def test_strength_that_cannot_be_worked_out_is_not_kept():
    log = run("strength_conductivity", until="reading")
    assert isinstance(log.give("29"), Held)
    log.give("29", confirmed=True)
    assert log.at.step.key == "keep"
    found = log.give("keep")
    assert isinstance(found, Held)
    assert found.code == "mix_fact_missing"
    assert isinstance(log.give("again"), Answered)
    assert log.at.step.key == "degC"
    assert made(log, LimewaterStrength) == []


def test_lime_reservoir_keeps_litres_and_powder_together():
    log = run("lime_reservoir", delivery="pump_container")
    (refill,), (charge,) = made(log, Refill), made(log, Recharge)
    assert (refill.volume_L, refill.container) == (20.0, Container.LIME)
    assert refill.to_mark
    assert (charge.water_L, charge.container) == (20.0, Container.LIME)
    # 20 L at 24 degC (1.515 g/L), a fifth in reserve, 95 % assay
    assert charge.powder_g == pytest.approx(38.2, abs=0.1)


def test_new_vessel_sets_half_then_three_quarters_then_all():
    log = run("new_vessel")
    settings = [record.limewater_L_per_day for record in made(log, DeliverySetting)]
    assert settings == [2.0, 3.0, 4.0]
    assert len(made(log, Recharge)) == 1


def test_new_vessel_waits_for_the_trial_with_plain_water():
    log = Log(load_procedure("new_vessel"), NOW, delivery="pump_vessel")
    log.facts["commissioned_count"] = 0.0
    log.begin()
    log.walk_to("tried")
    found = log.give("tried")
    assert isinstance(found, Held)
    assert found.code == "vessel_tried_block"


def test_stage_that_the_plan_no_longer_allows_is_not_set():
    log = run("new_vessel", until="more")
    del log.facts["three_quarter_plan_L_per_day"]  # the plan was refused meanwhile
    found = log.give("3")
    assert isinstance(found, Held)
    assert found.numbers == {"fact": "three_quarter_plan_L_per_day"}


def test_tube_change_undoes_a_raised_setting():
    (setting,) = made(run("tube_change"), DeliverySetting)
    assert setting.limewater_L_per_day == 4.0
    assert made(run("tube_change", raised="no"), DeliverySetting) == []


def test_water_change_keeps_both_tests_salinity_and_the_new_water():
    log = run("water_change_day")
    (change,) = made(log, WaterChange)
    assert change.volume_L == 60.0
    assert change.new_total_alkalinity_meq_per_L == pytest.approx(8.4 / 2.80387, rel=1e-4)
    read = [reading.parameter for test in made(log, WaterTest) for reading in test.readings]
    assert read == ["total_alkalinity", "salinity", "total_alkalinity"]
    later = run("water_change_day", salinity_how="no")
    assert len(made(later, WaterTest)) == 2


def test_power_cut_is_a_happening_that_the_numbers_listen_to():
    (happening,) = made(run("power_cut_restart"), Happening)
    assert happening.what == "power_cut"


def test_volume_is_corrected_with_its_interval_and_all_else_kept():
    (setup,) = made(run("true_volume", how="fill"), Setup)
    assert (setup.net_volume_L, setup.net_volume_error_share) == (430.0, 0.03)
    assert setup.name == "Kettle House"
    (glass,) = made(run("true_volume", how="glass"), Setup)
    assert glass.net_volume_L == pytest.approx(0.85 * 480.0)
    assert glass.net_volume_error_share == 0.10


def test_volume_with_too_wide_a_range_is_not_taken():
    """Read to 0.05 PSU, a fall of 0.5 tells it to 23 %: never instead of the 10 % in Setup."""
    log = run("true_volume", until="keep", how="salinity")
    log.facts["volume_error_share"] = 0.10
    found = log.give("take")
    assert isinstance(found, Held)
    assert found.code == "volume_keep_block"
    assert found.numbers["found_error_share"] == pytest.approx(0.2326, abs=0.001)
    assert made(log, Setup) == []
    log.facts["volume_error_share"] = 0.30
    assert isinstance(log.give("take"), Answered)
    (setup,) = made(log, Setup)
    assert setup.net_volume_error_share == pytest.approx(0.2326, abs=0.001)


def test_volume_by_salinity_wants_a_fine_meter():
    log = run("true_volume", until="fine", how="salinity")
    log.give("no")
    assert log.at.state is RunState.STOPPED
    assert made(log, Setup) == []


def test_volume_that_does_not_fit_setups_is_said():
    fitting, odd = (
        with_sums(
            ["volume_from_fill", "volume_against_setup"],
            {"counted_L": litres, "net_volume_L": 450.0, "volume_error_share": 0.1},
        )["found_apart_share"]
        for litres in (430.0, 380.0)
    )
    assert isinstance(fitting, float)
    assert isinstance(odd, float)
    assert fitting < 1.0 < odd


def test_meter_found_off_is_remembered_with_its_sign_until_calibrated():
    checks = made(run("meter_checks"), MeterCheck)
    assert {check.meter: (check.off_pH, check.off_share) for check in checks} == {
        Meter.PH_PROBE: (pytest.approx(0.1), None),  # 7.05 and 10.1 in the buffers
        Meter.CONDUCTIVITY: (None, pytest.approx(52.5 / 53.0 - 1.0, abs=1e-5)),
        Meter.ALKALINITY_KIT: (None, pytest.approx(8.2 / 8.0 - 1.0, abs=1e-5)),
    }
    assert set(drifted(checks)) == {Meter.PH_PROBE}
    assert made(run("meter_checks", probe="no", meter="no", reagent="no"), MeterCheck) == []
    set_anew = made(run("meter_checks", probe_set="yes", meter_set="yes"), MeterCheck)
    assert [c.off_pH for c in set_anew if c.meter is Meter.PH_PROBE] == [pytest.approx(0.1), 0.0]
    assert drifted(set_anew) == {}


@pytest.mark.parametrize(
    ("meter", "off", "is_known"),
    [
        (Meter.PH_PROBE, -0.1, True),
        (Meter.PH_PROBE, 0.09, False),
        (Meter.CONDUCTIVITY, -0.02, True),
        (Meter.CONDUCTIVITY, 0.019, False),
        (Meter.ALKALINITY_KIT, 0.05, True),
        (Meter.ALKALINITY_KIT, 0.049, False),
    ],
)
def test_a_meter_counts_as_off_from_its_bound_on(meter: Meter, off: float, is_known: bool):
    off_by = {"off_pH" if meter is Meter.PH_PROBE else "off_share": off}
    check = MeterCheck(id="dev:1", at=NOW, recorded_at=NOW, system="s", meter=meter, **off_by)
    assert (meter in drifted([check])) is is_known


def test_new_kit_ends_what_was_known_of_the_old_one():
    common = {"at": NOW, "recorded_at": NOW, "system": "s"}
    check = MeterCheck(id="dev:1", meter=Meter.ALKALINITY_KIT, off_share=0.1, **common)
    bought = SupplyStock(id="dev:2", item=SupplyItem.ALKALINITY_KIT, tests_count=50.0, **common)
    counted = replace(bought, counted=True)
    assert Meter.ALKALINITY_KIT in drifted([check, counted])
    assert drifted([check, bought]) == {}


def test_new_vessel_on_the_top_off_begins_with_half_and_three_quarters_by_the_clock():
    log = run("new_vessel", delivery="top_off_vessel")
    settings = [record.limewater_L_per_day for record in made(log, DeliverySetting)]
    assert settings == [2.0, 3.0, 4.0]
    # of 7.5 L that may evaporate in a day: 2, 3 and 4 L in 6.4, 9.6 and 12.8 of 24 hours
    hours = [log.known[key] for key in ("half_hours", "three_quarter_hours", "full_hours")]
    assert hours == [6.0, 9.0, 12.0]
    assert with_sums(["full_hours"], {"plan_L_per_day": 9.0, "evaporation_high_L_per_day": 7.5})[
        "full_hours"
    ] == 24.0  # fmt: skip


@pytest.mark.parametrize("delivery", ["pump_vessel", "top_off_vessel"])
def test_every_way_into_a_new_vessel_has_its_three_stages(delivery: str):
    steps = load_procedure("new_vessel").path(delivery, {})
    stages = [s.amount.name for s in steps if s.amount and s.amount.unit == "L a day"]
    assert stages == ["half_set_L_per_day", "more_set_L_per_day", "full_set_L_per_day"]


def test_going_away_without_a_minder_turns_the_lime_off():
    alone = run("going_away", minder="nobody")
    assert [r.limewater_L_per_day for r in made(alone, DeliverySetting)] == [0.0]
    assert made(run("going_away", minder="minder"), DeliverySetting) == []
    (refill,) = made(alone, Refill)
    assert refill.volume_L == pytest.approx(136.5)
    assert not refill.to_mark


def test_drip_sets_tonights_litres_as_the_delivery():
    (setting,) = made(run("drip_setup", delivery="drip"), DeliverySetting)
    assert setting.limewater_L_per_day == 4.0


def test_two_part_strength_goes_into_the_plan_only_when_used():
    (setup,) = made(run("make_two_part"), Setup)
    assert setup.two_part_meq_per_mL == 1.0
    assert made(run("make_two_part", use="no"), Setup) == []
