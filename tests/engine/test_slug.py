from engine.limits import DosePlan
from engine.reasons import Code
from engine.records import Container, Delivery
from tests.support.keeper_log import KeeperLog, dkh


def top_off(last_refill: float = 3.0) -> KeeperLog:
    """Return a limed top-off of 4 L a day, tested last three and a half days ago."""
    log = KeeperLog().setup(60, delivery=Delivery.TOP_OFF_CONTAINER, lime_container_L=60.0)
    for days_ago in range(40, 3, -2):
        log.test(days_ago - 0.5, 8.0)
    days_ago = 30.0
    while days_ago > last_refill:
        log.refill(days_ago, 4.0, Container.LIME)
        days_ago -= 1.0
    return log


def test_a_slug_is_not_forgotten_at_the_next_ordinary_refill():
    log = top_off(1.5).refill(0.9, 25.0, Container.LIME)
    assert log.decide().plan.reasons[0].code == Code.SLUG_SIZED
    assert log.refill(0.0, 4.0, Container.LIME).decide().plan.reasons[0].code == Code.SLUG_SIZED


def test_a_slug_counts_until_alkalinity_is_tested():
    log = top_off(3.0).refill(2.9, 25.0, Container.LIME)
    assert log.decide().plan.reasons[0].code == Code.SLUG_SIZED
    assert isinstance(log.test(0.1, 8.0).decide().plan, DosePlan)


def test_an_overflow_counts_until_alkalinity_is_tested():
    log = top_off(1.0).happened(2.05, "skimmer_overflow")
    assert log.decide().plan.reasons[0].code == Code.SLUG_UNTESTED


def test_tested_slug_is_past():
    log = top_off(3.0).refill(2.9, 25.0, Container.LIME).read(2.0, total_alkalinity=dkh(8.0))
    assert isinstance(log.decide().plan, DosePlan)
