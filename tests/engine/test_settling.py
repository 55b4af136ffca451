import pytest

from engine.chemistry.steady_state import alkalinity_with_first_order_demand_meq_per_L
from engine.plan.settling import settling
from engine.units import Span
from tests.support.keeper_log import dkh, kettle


def course(short_share: float, level_dKH: float = 8.3):
    setup = kettle().decide().setup
    assert setup is not None
    level = dkh(level_dKH)
    return setup, settling(
        setup,
        level_meq_per_L=Span(level, level, level),
        demand_meq_per_day=200.0,
        short_meq_per_day=200.0 * short_share,
    )


def test_it_follows_the_first_order_course():
    setup, found = course(0.4)
    per_day = 0.15 / dkh(1.0) * 200.0 / setup.net_volume_L
    at_band = alkalinity_with_first_order_demand_meq_per_L(
        dkh(8.3),
        floor_meq_per_L=dkh(8.3) - dkh(1.0) / 0.15,
        demand_per_day=per_day,
        given_meq_per_L_per_day=0.6 * 200.0 / setup.net_volume_L,
        days=found.to_band_low.best,
    )
    assert at_band == pytest.approx(dkh(7.5))
    assert found.rest_meq_per_L.best == pytest.approx(dkh(8.3 - 0.4 / 0.15))


def test_practice_scenario_settles_near_six():
    # 1.35 dKH a day, 0.45 short: near 6.2 dKH, below 7.5 at day 2.5 and 7.0 at day 5
    _, found = course(0.45 / 1.35)
    assert dkh(5.9) < found.rest_meq_per_L.best < dkh(6.4)


def test_a_small_shortfall_never_leaves_the_band():
    _, found = course(0.1)
    assert found.rest_meq_per_L.best > dkh(7.5)
    assert found.to_band_low.best == 30.0


def test_below_the_band_already():
    _, found = course(0.4, 7.2)
    assert found.to_band_low.best == 0.0
    assert found.to_floor.best > 0.0


def test_days_are_in_order():
    for short in (0.05, 0.2, 0.5, 1.0):
        _, found = course(short)
        assert found.to_band_low.low <= found.to_band_low.best <= found.to_band_low.high
        assert found.rest_meq_per_L.low <= found.rest_meq_per_L.best <= found.rest_meq_per_L.high
