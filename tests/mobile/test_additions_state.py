"""One-off additions from the log: no part twice from one reading, none in an overdose."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine.plan.additions import What
from engine.records import Addition
from mobile.state import additions, additions_draft, updates
from mobile.state.snapshot import Snapshot
from mobile.texts.additions import TEXTS as SENTENCES
from mobile.texts.additions_page import TEXTS
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, dkh

DAILY_LIMIT = dkh(0.3)


def low_tank() -> KeeperLog:
    log = KeeperLog().setup(60).pump(60, 4.0)
    for number in range(1, 8):
        log.test(number * 2 + 0.3, 7.9)
    return log.read(0.05, total_alkalinity=dkh(7.4))


def worked_out(log: KeeperLog, hours: float = 0.0) -> additions.Result:
    at = NOW + timedelta(hours=hours)
    snapshot = updates.with_records(Snapshot(now=at), tuple(log.records), SYSTEM, at)
    draft = additions_draft.toggled(additions_draft.Draft(), What.ALKALINITY)
    return additions.result(replace(snapshot, ready=True), draft)


def test_a_part_is_not_offered_again_from_the_reading_before_it():
    log, given = low_tank(), []
    for step in range(7):
        hours = 12.1 * step
        found = worked_out(log, hours)
        if found.today is None or found.wait:
            continue
        given.append((hours, found.today.rise))
        at = NOW + timedelta(hours=hours)
        fields = additions.today_fields(found.today, 1.0)
        log.records.append(
            Addition(id=f"kettle:{900 + step}", at=at, recorded_at=at, system=SYSTEM, **fields)
        )
    assert len(given) == 1
    assert sum(rise for _, rise in given) <= DAILY_LIMIT


def test_the_next_part_waits_a_day_and_comes_from_a_new_test():
    log = low_tank()
    fields = additions.today_fields(worked_out(log).today, 1.0)
    log.records.append(Addition(id="kettle:900", at=NOW, recorded_at=NOW, system=SYSTEM, **fields))
    log.read(-13.0 / 24.0, total_alkalinity=dkh(7.6))
    assert worked_out(log, 14.0).wait
    later = worked_out(log, 24.5)
    assert later.today is not None
    assert not later.wait
    del log.records[-1]
    assert worked_out(log, 24.5).today is None


@pytest.mark.parametrize(
    ("add", "code"),
    [
        (lambda log: log.incident(0.01), "add_incident"),
        (lambda log: log.read(0.01, pH_nbs=9.1), "add_alarm"),
        (lambda log: log.read(0.01, pH_nbs=8.6), "add_alarm"),
    ],
)
def test_nothing_is_offered_in_an_overdose_and_it_says_why(add, code):
    found = worked_out(add(low_tank()))
    assert found.today is None
    assert found.sentences == (SENTENCES[code],)


def test_a_test_before_the_last_part_is_said_to_be_old():
    log = low_tank()
    log.addition(0.02, 50.0)
    at = NOW + timedelta(hours=30)
    snapshot = updates.with_records(Snapshot(now=at), tuple(log.records), SYSTEM, at)
    (now, *_) = additions.figures(snapshot, additions_draft.Draft(), What.ALKALINITY)
    assert (now.offered, now.hint) == ("", TEXTS["test_before"])
