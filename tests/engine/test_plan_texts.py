"""What the sentences say must be true of the keeper's own way of delivery and of small numbers."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine.decision import Decision
from engine.reasons import Reason
from engine.records import Delivery
from mobile.state.sentences import sentence
from mobile.texts.plan import TEXTS
from tests.support.keeper_log import NOW, KeeperLog, all_reasons, dkh, kettle

WITHOUT_PUMP = (Delivery.DRIP, Delivery.TOP_OFF_VESSEL, Delivery.TOP_OFF_CONTAINER)


def said(reasons: list[Reason] | tuple[Reason, ...]) -> str:
    return " ".join(sentence(TEXTS, reason.code, reason.numbers) for reason in reasons)


def of(delivery: Delivery, **setup) -> KeeperLog:
    """Return a keeper at the start, who entered his demand and has tested once."""
    fields = {
        "delivery": delivery,
        "lime_container_L": 20.0,
        "entered_demand_meq_per_L_per_day": dkh(1.35),
        **setup,
    }
    return KeeperLog().setup(**fields).test(1.0, 8.3)


def situations(delivery: Delivery) -> list[Decision]:
    logs = [
        of(delivery),
        of(delivery, keeper_cap_L_per_day=None),
        of(delivery).read(0.1, pH_nbs=8.6),
        of(delivery).strength(0.2, 0.4),
        of(delivery).pump(0.5, 3.0),
        of(delivery, evaporation_low_L_per_day=2.0).pump(5.0, 5.0),
        kettle(delivery=delivery, lime_container_L=20.0),
        kettle(3.0, delivery=delivery, lime_container_L=20.0).strength(0.2, 0.4),
    ]
    return [log.decide() for log in logs]


@pytest.mark.parametrize("delivery", WITHOUT_PUMP)
def test_who_has_no_pump_is_told_of_none(delivery):
    for decision in situations(delivery):
        text = said([*decision.change.reasons, *all_reasons(decision)])
        assert "pump" not in text.lower(), text


@pytest.mark.parametrize("delivery", [Delivery.TOP_OFF_VESSEL, Delivery.TOP_OFF_CONTAINER])
def test_a_top_off_is_never_said_to_give_more_than_evaporates(delivery):
    for decision in situations(delivery):
        assert "more than evaporates" not in said(all_reasons(decision))


def test_tests_minutes_apart_give_no_range_of_use():
    text = said(
        KeeperLog().setup().pump(60.0, 5.3).test(0.02, 8.3).test(0.01, 7.9).decide().plan.reasons
    )
    assert "Test again in a day or two." in text
    assert "a day to" not in text
    assert "dKH" not in text


def test_one_of_a_kind_is_not_spoken_of_in_the_plural():
    behind, ahead = kettle(), kettle().water_change(10.0, 45.0)
    behind.records[-1] = replace(behind.records[-1], recorded_at=NOW + timedelta(hours=3))
    ahead.records.append(
        replace(ahead.records[1], id="x", at=NOW + timedelta(days=2), recorded_at=NOW)
    )
    text = said([*all_reasons(behind.decide()), *all_reasons(ahead.decide())])
    assert "1 entries" not in text
    assert "1 water changes" not in text
    assert "taken as equal: 1." in text
