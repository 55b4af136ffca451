"""Facts for the procedures: what is unknown is left out."""

from datetime import UTC, datetime, timedelta

import pytest

from engine.procedures.facts import recharge_facts
from engine.procedures.runs import missing_fact
from engine.records import Delivery, Reading, Setup, WaterTest
from engine.stock.charge import recharge
from mobile.procedures import load_procedure

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)


def setup(vessel_L: float | None = 5.0) -> Setup:
    return Setup(
        id="d:1",
        at=NOW,
        recorded_at=NOW,
        system="s",
        name="Kettle House",
        net_volume_L=450.0,
        delivery=Delivery.PUMP_VESSEL,
        vessel_L=vessel_L,
        target_total_alkalinity_meq_per_L=2.9,
        band_low_total_alkalinity_meq_per_L=2.7,
        band_high_total_alkalinity_meq_per_L=3.2,
        floor_total_alkalinity_meq_per_L=2.3,
    )


def charge(days: float = 14.0, vessel_L: float | None = 5.0):
    return recharge(setup(vessel_L), limewater_L_per_day=5.3, strength_meq_per_L=41.0, days=days)


def pH_test(value: float, age: timedelta) -> WaterTest:
    reading = Reading(parameter="pH_nbs", value=value, typed="", typed_unit="")
    at = NOW - age
    return WaterTest(id=f"d:{age}", at=at, recorded_at=at, system="s", readings=(reading,))


def test_facts_of_a_usual_vessel_are_enough_to_start():
    facts = recharge_facts(setup(), charge(), (), NOW)
    assert missing_fact(load_procedure("recharge_vessel"), facts) is None
    # practice: about 125 g for a fortnight at 5.3 L a day (assay 0.92, sludge apart)
    assert 110.0 < facts["recharge_powder_g"] < 140.0
    assert facts["recharge_powder_g"] % 1.0 == 0.0
    assert facts["draw_off_L"] == pytest.approx(0.5)
    assert facts["largest_charge_powder_g"] == pytest.approx(150.0)


def test_powder_is_never_more_than_the_vessel_allows():
    facts = recharge_facts(setup(), charge(days=90.0), (), NOW)
    assert facts["recharge_powder_g"] <= facts["largest_charge_powder_g"]


def test_powder_is_rounded_toward_less():
    for days in (0.05, 0.7, 3.0, 9.0, 13.37):
        asked = charge(days=days)
        shown = recharge_facts(setup(), asked, (), NOW)["recharge_powder_g"]
        assert 0.99 * asked.powder.magnitude <= shown <= asked.powder.magnitude


def test_without_a_vessel_or_a_charge_the_procedure_does_not_start():
    procedure = load_procedure("recharge_vessel")
    assert missing_fact(procedure, recharge_facts(setup(None), charge(vessel_L=None), (), NOW))
    assert missing_fact(procedure, recharge_facts(setup(), None, (), NOW))


def test_last_pH_counts_for_a_day():
    standing = (pH_test(8.2, timedelta(hours=30)), pH_test(8.45, timedelta(hours=3)))
    assert recharge_facts(setup(), charge(), standing, NOW)["last_pH"] == 8.45
    assert "last_pH" not in recharge_facts(setup(), charge(), standing[:1], NOW)


def test_recharge_waits_for_the_pH_that_stops_the_dose():
    """A high reading ten hours ago still stops limewater, whatever the newest one says."""
    standing = (pH_test(8.65, timedelta(hours=10)), pH_test(8.35, timedelta(hours=1)))
    assert recharge_facts(setup(), charge(), standing, NOW)["last_pH"] == 8.65
    older = (pH_test(8.65, timedelta(hours=40)), pH_test(8.35, timedelta(hours=1)))
    in_force = recharge_facts(setup(), charge(), older, NOW)["last_pH"]
    assert in_force == 8.35  # its whole day was below 8.4
