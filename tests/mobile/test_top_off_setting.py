"""A setting typed for a vessel in the top-off: kept with the evaporation that it is a part of."""

import pytest

from engine.demand.facts import gather
from engine.plan.evaporation import most_evaporated_L_per_day
from mobile.state import entry
from mobile.state.entry import Ready
from mobile.state.entry_draft import Draft
from mobile.state.forms import FORMS
from tests.engine.test_top_off_part import part


def test_a_typed_setting_is_kept_with_what_it_is_a_part_of():
    log = part(3.0, 6.0, daily_L=9.0)
    facts = gather(log.records, system=log.system, now=log.now)
    most = most_evaporated_L_per_day(facts, facts.setup)
    assert most == pytest.approx(9.0, rel=0.05)
    ready = entry.check(
        FORMS["delivery_setting"],
        Draft(
            "delivery_setting",
            {"limewater_L_per_day": "4.5"},
            {"limewater_L_per_day": "L a day"},
            active="limewater_L_per_day",
        ),
        standing=log.records,
        now=log.now,
        setup=facts.setup,
        confirmed=frozenset({"limewater_L_per_day"}),
    )
    assert isinstance(ready, Ready)
    assert ready.fields["top_off_L_per_day"] == pytest.approx(most)
