"""The exchange rate of one's own tank from a before/after pair."""

import pytest

from engine.carbonate import solve
from engine.chemistry.exchange_rate import exchange_rate_per_day, exchange_rate_with_interval
from engine.chemistry.gas_exchange import Air, Rates, Segment, run_course
from engine.chemistry.uncertainty import Uncertain, relative
from engine.errors import OutsideValidity

WHERE = {"salinity": 35.0, "temperature_degC": 25.0}


def dosed(alkalinity=2744.3, dic=2210.25):
    return solve(total_alkalinity_umol_per_kg=alkalinity, dic_umol_per_kg=dic, **WHERE)


@pytest.mark.parametrize("k", [0.5, 5.0, 20.0, 50.0, 100.0])
@pytest.mark.parametrize(
    ("hours", "rates"),
    [
        (3.0, Rates()),
        (12.0, Rates()),
        # Longer, fast exchange rests where animals and air balance: see the next test.
        (3.0, Rates(calcification_mmol=0.1, respiration_mmol=0.2)),
    ],
)
def test_the_rate_that_made_a_course_is_found_again(k, hours, rates):
    air = Air(pCO2_uatm=500.0, exchange_per_day=k)
    end = run_course(dosed(), air, [Segment(hours=hours, rates=rates)])[-1]
    found = exchange_rate_per_day(
        dosed(), pH_nbs_after=end.pH_nbs, hours=hours, air_pCO2_uatm=500.0, rates=rates
    )
    assert found == pytest.approx(k, rel=1e-3)


def test_an_end_that_a_slow_and_a_fast_exchange_both_explain_tells_no_rate():
    rates = Rates(calcification_mmol=0.1, respiration_mmol=0.2)
    air = Air(pCO2_uatm=500.0, exchange_per_day=300.0)
    end = run_course(dosed(), air, [Segment(hours=12.0, rates=rates)])[-1]
    with pytest.raises(OutsideValidity):
        exchange_rate_per_day(
            dosed(), pH_nbs_after=end.pH_nbs, hours=12.0, air_pCO2_uatm=500.0, rates=rates
        )


def test_ph_that_moves_away_from_the_air_tells_no_rate():
    with pytest.raises(OutsideValidity) as caught:
        exchange_rate_per_day(
            dosed(), pH_nbs_after=dosed().pH_nbs + 0.1, hours=6.0, air_pCO2_uatm=500.0
        )
    assert caught.value.code == "exchange_not_identifiable"


def test_ph_beyond_the_airs_balance_tells_no_rate():
    with pytest.raises(OutsideValidity) as caught:
        exchange_rate_per_day(dosed(), pH_nbs_after=7.9, hours=6.0, air_pCO2_uatm=500.0)
    assert caught.value.code == "exchange_not_identifiable"


def pair(probe_offset_sd=0.05, repeat_sd=0.005, hours=12.0):
    start = dosed()
    end = run_course(start, Air(pCO2_uatm=500.0, exchange_per_day=20.0), [Segment(hours=hours)])[-1]
    return exchange_rate_with_interval(
        total_alkalinity_umol_per_kg=relative(2744.3, 0.02),
        pH_nbs_before=Uncertain(value=start.pH_nbs, sd=repeat_sd),
        pH_nbs_after=Uncertain(value=end.pH_nbs, sd=repeat_sd),
        probe_offset_sd=probe_offset_sd,
        hours=hours,
        air_pCO2_uatm=Uncertain(value=500.0, sd=25.0),
        respiration_mmol_per_L_per_day=Uncertain(value=0.0, sd=0.01),
        **WHERE,
    )


def test_interval_holds_the_true_rate_and_narrows_with_a_better_probe():
    usual, good = pair(), pair(probe_offset_sd=0.01, repeat_sd=0.002)
    assert usual.low < 20.0 < usual.high
    assert good.low < 20.0 < good.high
    assert good.high - good.low < 0.75 * (usual.high - usual.low)


def test_a_pair_too_close_together_is_refused_rather_than_guessed():
    with pytest.raises(OutsideValidity) as caught:
        pair(repeat_sd=0.05, hours=1.0)
    assert caught.value.code == "exchange_not_identifiable"
