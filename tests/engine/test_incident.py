"""An overdose as it runs: acts, readings due, the gate, the rule for starting again."""

from datetime import timedelta

import pytest

from engine.carbonate import solve
from engine.demand.facts import Facts, gather
from engine.hazards.incident import (
    ACTS,
    incidents,
    next_reading,
    restart_missing,
    restart_share,
    running,
)
from engine.hazards.incident_recovery import last_state, recovery
from engine.limits import Action, DosePlan, Refusal
from engine.log.record_codec import from_dict, to_dict
from engine.reasons import Code
from engine.records import Amendment, Container, Delivery, Incident, IncidentEvent
from engine.units import to_float
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, dkh, kettle

MIN = 1.0 / 1440.0
HOUR = 1.0 / 24.0


def house(pump_L_per_day: float = 5.3) -> KeeperLog:
    """Return a steady keeper whose last test is three days old."""
    log = kettle(pump_L_per_day)
    del log.records[-1]
    return log


def facts(log: KeeperLog) -> Facts:
    return gather(log.records, system=SYSTEM, now=NOW)


def due_h(log: KeeperLog) -> tuple[float | None, float | None]:
    """Return the hours since the start at which pH and alkalinity are due."""
    found = facts(log)
    state = running(found.of(Incident))
    assert state is not None
    due = next_reading(found, state)

    def hours(at):
        return None if at is None else round((at - state.started_at).total_seconds() / 3600.0, 2)

    return hours(due.pH_at), hours(due.alkalinity_at)


def test_an_incident_is_kept_as_it_was_recorded():
    log = kettle().incident(0.1, IncidentEvent.ACT_DONE, act="gloves", note="drill")
    record = log.records[-1]
    assert from_dict(to_dict(record)) == record


def test_it_runs_until_the_keeper_says_what_ended_it():
    log = kettle().incident(200.0)
    state = running(facts(log).of(Incident))
    assert state is not None
    assert state.runs
    log.incident(1.0, IncidentEvent.ENDED)
    assert running(facts(log).of(Incident)) is None


def test_acts_are_told_once_with_the_time_of_the_first():
    log = kettle().incident(0.1)
    for days_ago, act in ((0.09, "gloves"), (0.08, "lift_line"), (0.07, "gloves")):
        log.incident(days_ago, IncidentEvent.ACT_DONE, act=act)
    state = running(facts(log).of(Incident))
    assert state is not None
    assert [act for act, _ in state.acts] == ["gloves", "lift_line"]
    assert state.acts[0][1] == NOW - timedelta(days=0.09)


def test_a_start_that_was_withdrawn_is_no_incident():
    log = kettle().incident(0.1)
    log.add(Amendment, 0.05, supersedes=log.records[-1].id)
    assert incidents(facts(log).of(Incident)) == ()
    assert isinstance(log.decide().plan, DosePlan)


def test_acts_begin_with_the_hands_and_the_line():
    assert ACTS[:2] == ("gloves", "lift_line")
    assert ACTS.index("lift_line") < ACTS.index("unplug_pump")


@pytest.mark.parametrize(
    ("readings", "expected_h"),
    [
        ([], 0.0),  # never read: at once
        ([0.05], 0.25),
        ([0.05, 0.25], 0.5),
        ([0.05, 0.25, 0.45], 1.0),  # a few minutes early counts
        ([0.05, 1.0], 2.0),
        ([0.05, 4.4], 5.0),  # skipped hours are not made up
    ],
)
def test_pH_is_due_at_a_quarter_half_and_whole_hour_then_hourly(readings, expected_h):
    log = kettle().incident(12.0 * HOUR)
    for hours in readings:
        log.read((12.0 - hours) * HOUR, pH_nbs=8.9)
    assert due_h(log)[0] == expected_h


def test_pH_is_read_on_until_it_is_below_the_calm_limit():
    log = kettle().incident(12.0 * HOUR).read(6.0 * HOUR, pH_nbs=8.5)
    assert due_h(log)[0] == 7.0
    assert due_h(log.read(5.0 * HOUR, pH_nbs=8.49))[0] is None


def test_a_low_first_reading_does_not_end_the_reading():
    assert due_h(kettle().incident(HOUR).read(58.0 * MIN, pH_nbs=8.3))[0] == 0.25


def test_a_water_change_begins_the_readings_anew():
    log = kettle().incident(5.0 * HOUR).read(2.0 * HOUR, pH_nbs=8.9, total_alkalinity=dkh(11.0))
    log.water_change(1.5 * HOUR, 120.0, dkh(8.0))
    assert due_h(log) == (3.75, 4.5)


def test_alkalinity_is_due_at_once_then_daily():
    log = house().incident(2.9)
    assert due_h(log)[1] == 0.0
    assert due_h(log.test(2.4, 11.0))[1] == 36.0


def test_no_lime_while_it_runs_and_that_stands_first():
    log = kettle().read(0.2, pH_nbs=9.1).incident(0.1)
    plan = log.decide().plan
    assert isinstance(plan, Refusal)
    assert plan.code is Code.INCIDENT_RUNNING
    assert plan.action is Action.STOP
    assert Code.PH_TOO_HIGH in [r.code for r in plan.reasons]


def test_no_lime_while_it_runs_without_a_set_up_either():
    plan = KeeperLog().incident(0.1).decide().plan
    assert isinstance(plan, Refusal)
    assert (plan.code, plan.action) == (Code.INCIDENT_RUNNING, Action.STOP)


def test_one_that_was_none_leaves_no_trace_in_the_dose():
    log = kettle().incident(0.2).incident(0.1, IncidentEvent.NO_OVERDOSE)
    found = log.decide().plan
    plain = kettle().decide().plan
    assert isinstance(found, DosePlan)
    assert isinstance(plain, DosePlan)
    assert found.L_per_day == plain.L_per_day


def missing(log: KeeperLog) -> list[str]:
    found = facts(log)
    state = running(found.of(Incident))
    assert state is not None
    assert found.setup is not None
    return [str(reason.code) for reason in restart_missing(found, found.setup, state)]


def test_it_may_end_only_after_alkalinity_and_pH_are_back():
    log = house().incident(2.0)
    unread = [Code.RESTART_ALKALINITY_UNREAD, Code.RESTART_PH_UNREAD]
    assert missing(log) == unread
    assert missing(log.read(1.5, total_alkalinity=dkh(10.0), pH_nbs=8.8)) == [
        Code.RESTART_ALKALINITY_HIGH,
        Code.RESTART_PH_UNREAD,  # of yesterday
    ]
    assert missing(log.read(0.3, total_alkalinity=dkh(9.0), pH_nbs=8.4)) == [Code.RESTART_PH_HIGH]
    assert missing(log.read(0.1, pH_nbs=8.39)) == []


def test_readings_of_before_do_not_count():
    log = kettle().read(0.5, total_alkalinity=dkh(8.3), pH_nbs=8.2).incident(0.4)
    assert len(missing(log)) == 2


@pytest.mark.parametrize(
    ("ended_days", "share"), [(0.1, 0.5), (2.9, 0.5), (3.1, 0.75), (6.9, 0.75)]
)
def test_lime_starts_again_at_half_then_three_quarters(ended_days, share):
    log = kettle(6.0).incident(ended_days + 1.0).incident(ended_days, IncidentEvent.ENDED)
    plan = log.decide().plan
    assert isinstance(plan, DosePlan)
    assert plan.binding[0] is Code.CAP_RESTART
    assert to_float(plan.caps[0].limewater, "L/day") == pytest.approx(share * 6.0)


def test_after_a_week_the_overdose_caps_nothing():
    log = kettle().incident(9.0).incident(7.1, IncidentEvent.ENDED)
    assert restart_share(facts(log)) is None


def test_half_is_of_the_dose_before_although_the_first_act_was_to_set_it_to_nothing():
    log = kettle(6.0).incident(1.5).pump(1.5, 0.0).pump(1.0, 6.0).incident(0.9, IncidentEvent.ENDED)
    plan = log.decide().plan
    assert isinstance(plan, DosePlan), plan
    found = {cap.code: cap.L_per_day for cap in plan.caps}
    assert found[Code.CAP_RESTART] == pytest.approx(3.0)


def expected(log: KeeperLog):
    found = facts(log)
    state = running(found.of(Incident))
    assert state is not None
    assert found.setup is not None
    return recovery(found, found.setup, state)


def test_nothing_is_expected_before_pH_and_alkalinity_are_both_read():
    log = house().incident(0.2)
    assert expected(log) is None
    assert expected(log.read(0.19, pH_nbs=8.96)) is None
    assert expected(log.read(0.185, total_alkalinity=dkh(11.7))) is not None


def test_past_the_model_nothing_is_expected():
    assert expected(house().incident(0.2).read(0.19, pH_nbs=9.6, total_alkalinity=5.0)) is None


def test_air_alone_agrees_with_the_reference_after_six_hours():
    # practice.md section 2: +3.2 dKH (pH 8.96), 800 ppm: six hours of good air (k 20) 8.88,
    # k 50 8.78; computed with the carbonate equations there, S 35, 25 degC.
    log = house().incident(0.5).read(0.499, pH_nbs=8.96, total_alkalinity=dkh(11.7), salinity=35.0)
    found = expected(log)
    assert found is not None
    point = found.at(NOW - timedelta(days=0.499) + timedelta(hours=6))
    assert point is not None
    assert point.pH_nbs.low == pytest.approx(8.78, abs=0.02)
    assert point.pH_nbs.best == pytest.approx(8.88, abs=0.02)
    assert point.total_alkalinity_meq_per_L == pytest.approx(dkh(11.7), abs=0.001)


def test_a_water_change_brings_pH_and_alkalinity_down_at_its_time():
    # practice.md section 0.9: at 11.5 dKH and pH 8.92, half of an 8 dKH mix gives 9.75 and 8.61.
    log = house().incident(0.5).read(0.49, pH_nbs=8.92, total_alkalinity=dkh(11.5), salinity=35.0)
    log.water_change(0.489, 225.0, dkh(8.0))
    found = expected(log)
    assert found is not None
    after = [p for p in found.points if p.at == NOW - timedelta(days=0.489)][-1]
    assert after.total_alkalinity_meq_per_L == pytest.approx(dkh(9.75), abs=0.02)
    assert after.pH_nbs.best == pytest.approx(8.61, abs=0.04)


def test_expected_pH_falls_between_changes_and_strong_air_is_never_slower():
    log = house().incident(0.5).read(0.49, pH_nbs=9.0, total_alkalinity=dkh(11.5))
    found = expected(log)
    assert found is not None
    for before, after in zip(found.points, found.points[1:], strict=False):
        assert after.pH_nbs.low <= before.pH_nbs.low + 1e-9
        assert after.pH_nbs.low <= after.pH_nbs.best <= after.pH_nbs.high


def test_newest_full_reading_is_the_water_that_the_card_starts_from():
    log = house().incident(0.5).read(0.49, pH_nbs=9.0, total_alkalinity=dkh(11.5), salinity=35.0)
    log.read(0.1, pH_nbs=8.7, total_alkalinity=dkh(10.5))
    found = facts(log)
    state = running(found.of(Incident))
    assert state is not None
    assert found.setup is not None
    water = last_state(found, found.setup, state)
    assert water is not None
    same = solve(
        pH_nbs=8.7,
        total_alkalinity_umol_per_kg=water.total_alkalinity_umol_per_kg,
        salinity=35.0,
        temperature_degC=25.0,
    )
    assert water.dic_umol_per_kg == pytest.approx(same.dic_umol_per_kg)


@pytest.mark.parametrize("mixed_g", [None, 30.0])
def test_half_a_mix_after_an_overdose_through_a_limed_top_off(mixed_g):
    log = KeeperLog().setup(60, delivery=Delivery.TOP_OFF_CONTAINER, lime_container_L=30.0)
    for days_ago in range(30, 0, -2):
        log.test(days_ago - 0.7, 8.0)
    if mixed_g is not None:  # about half of saturation
        log.recharge(40.0, mixed_g, Container.LIME)
    before = log.decide().change.mix_share
    log.incident(2.0).incident(0.2, IncidentEvent.ENDED)
    decision = log.read(0.1, pH_nbs=8.2).decide()
    assert isinstance(decision.plan, DosePlan)
    assert Code.CAP_RESTART in decision.plan.binding
    strength = decision.limewater.share.best if mixed_g is not None else 1.0
    assert decision.change.mix_share <= 0.5 * min(1.0, strength) + 0.01 < before
