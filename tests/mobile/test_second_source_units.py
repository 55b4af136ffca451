from engine.reasons import Code, Reason
from engine.records import SecondSource
from mobile.state import second_source, updates
from mobile.state.snapshot import Snapshot
from tests.support.keeper_log import SYSTEM, kettle


def test_a_setting_recorded_as_alkalinity_is_told_in_the_unit_of_the_new_one():
    log = kettle(second_source=SecondSource.TWO_PART, two_part_meq_per_mL=1.0).second(60.0, 20.0)
    now = log.now
    snapshot = updates.with_records(Snapshot(now=now), tuple(log.records), SYSTEM, now)
    numbers = {"second_meq_per_day": 36.0, "second_was_meq_per_day": 20.0}
    told = second_source.told(snapshot, Reason(Code.SET_SECOND_SOURCE, numbers)).numbers
    assert told["second_meq_per_day"] == "36 mL a day"
    assert told["second_was_meq_per_day"] == "20 mL a day"
