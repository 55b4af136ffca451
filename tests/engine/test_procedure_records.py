"""What the runs of the procedures leave in the log."""

from datetime import UTC, datetime

import pytest

from engine.procedures.answers import Answered, Held
from engine.records import (
    Container,
    DeliverySetting,
    Happening,
    LimewaterStrength,
    PumpCheck,
    Recharge,
    Refill,
    Setup,
    StrengthMethod,
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
    log = run("true_volume", until="after", how="salinity")
    log.give("35.2", confirmed=True)
    found = log.give("take")
    assert isinstance(found, Held)
    assert found.code == "volume_keep_block"
    assert made(log, Setup) == []


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
