"""The solver's doors: what it takes, what it refuses, and that every pair leads home."""

import pytest

from engine.carbonate import (
    pCO2_uatm_from_dry_air_ppm,
    pH_free_from_pH_total,
    pH_nbs_from_pH_total,
    pH_seawater_scale_from_pH_total,
    pH_total_from_pH_free,
    pH_total_from_pH_nbs,
    pH_total_from_pH_seawater_scale,
    solve,
)
from engine.chemistry.alkalinity import water_at
from engine.errors import InvalidQuantity, OutsideValidity

TANK = {"total_alkalinity_umol_per_kg": 2500.0, "salinity": 35.0, "temperature_degC": 25.0}
HERE = {"salinity": 35.0, "temperature_degC": 25.0}


def test_an_ordinary_tank():
    state = solve(pH_nbs=8.10, **TANK)
    assert state.pH_total == pytest.approx(7.9634, abs=1e-4)
    assert state.dic_umol_per_kg == pytest.approx(2228.22, abs=0.01)
    assert state.pCO2_uatm == pytest.approx(544.1, abs=0.1)
    assert state.omega_aragonite == pytest.approx(3.175, abs=1e-3)


@pytest.mark.parametrize("pH_total", [3.2, 5.0, 7.0, 8.0, 9.0, 10.5, 11.9])
def test_every_input_pair_leads_to_the_same_state(pH_total):
    core = water_at(35.0, 25.0)
    hydrogen = 10.0**-pH_total
    carbonate = 2000e-6 * core.charge_shares(hydrogen).mean
    alkalinity = (carbonate + core.other_alkalinity(hydrogen).total) * 1e6
    water = {**TANK, "total_alkalinity_umol_per_kg": alkalinity}
    first = solve(dic_umol_per_kg=2000.0, **water)
    assert first.pH_total == pytest.approx(pH_total, abs=1e-9)
    for again in (
        solve(pH_total=first.pH_total, **water),
        solve(pH_nbs=first.pH_nbs, **water),
        solve(pCO2_uatm=first.pCO2_uatm, **water),
    ):
        assert again.pH_total == pytest.approx(pH_total, abs=1e-9)
        assert again.dic_umol_per_kg == pytest.approx(2000.0, rel=1e-8)


def test_ph_scales_return_to_where_they_started():
    for there, back in (
        (pH_nbs_from_pH_total, pH_total_from_pH_nbs),
        (pH_free_from_pH_total, pH_total_from_pH_free),
        (pH_seawater_scale_from_pH_total, pH_total_from_pH_seawater_scale),
    ):
        assert back(there(8.05, **HERE), **HERE) == pytest.approx(8.05, abs=1e-14)


def test_ph_scales_of_a_state_agree_with_the_conversions():
    state = solve(pH_total=8.05, **TANK)
    assert state.pH_nbs == pytest.approx(pH_nbs_from_pH_total(8.05, **HERE), abs=1e-14)
    assert state.pH_free == pytest.approx(pH_free_from_pH_total(8.05, **HERE), abs=1e-14)
    assert state.pH_seawater_scale == pytest.approx(
        pH_seawater_scale_from_pH_total(8.05, **HERE), abs=1e-14
    )


@pytest.mark.parametrize(("degC", "offset"), [(24.0, 0.1342), (25.0, 0.1365), (27.0, 0.1412)])
def test_nbs_scale_stands_above_the_total_scale_and_more_so_in_warmth(degC, offset):
    assert pH_nbs_from_pH_total(8.0, salinity=35.0, temperature_degC=degC) - 8.0 == pytest.approx(
        offset, abs=1e-4
    )


def test_mixing_the_scales_up_would_change_pco2_by_almost_half():
    right = solve(pH_nbs=8.1, **TANK).pCO2_uatm
    wrong = solve(pH_total=8.1, **TANK).pCO2_uatm
    assert right / wrong == pytest.approx(1.47, abs=0.02)


def test_measured_calcium_overrides_that_of_natural_seawater():
    natural = solve(pH_nbs=8.1, **TANK)
    poor = solve(pH_nbs=8.1, calcium_umol_per_kg=0.5 * natural.calcium_umol_per_kg, **TANK)
    assert poor.omega_aragonite == pytest.approx(0.5 * natural.omega_aragonite, rel=1e-12)
    assert poor.pCO2_uatm == natural.pCO2_uatm


def test_salt_with_much_borate_has_less_carbon_at_the_same_ph():
    usual = solve(pH_nbs=8.2, **TANK)
    rich = solve(pH_nbs=8.2, total_borate_umol_per_kg=2000.0, **TANK)
    assert rich.dic_umol_per_kg < usual.dic_umol_per_kg - 200.0


@pytest.mark.parametrize(
    ("pH_nbs", "flag"), [(9.49, False), (9.51, True)], ids=["below 9.5", "above 9.5"]
)
def test_beyond_ph_nbs_9_5_the_state_says_that_precipitation_is_not_modelled(pH_nbs, flag):
    water = {**TANK, "total_alkalinity_umol_per_kg": 5000.0}
    assert solve(pH_nbs=pH_nbs, **water).precipitation_not_modelled is flag


@pytest.mark.parametrize(
    "second", [{}, {"pH_nbs": 8.1, "pH_total": 8.0}, {"dic_umol_per_kg": 2000.0, "pCO2_uatm": 4e2}]
)
def test_exactly_one_second_quantity_is_wanted(second):
    with pytest.raises(InvalidQuantity) as caught:
        solve(**TANK, **second)
    assert caught.value.code == "exactly_one_expected"


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), float("-inf")])
@pytest.mark.parametrize(
    "name",
    [
        "total_alkalinity_umol_per_kg",
        "salinity",
        "temperature_degC",
        "calcium_umol_per_kg",
        "pH_nbs",
        "total_borate_umol_per_kg",
    ],
)
def test_what_is_not_a_number_is_refused_at_every_door(name, bad):
    with pytest.raises(InvalidQuantity):
        solve(**{**TANK, "pH_nbs": 8.1, name: bad})


@pytest.mark.parametrize("name", ["pH_total", "pH_nbs", "dic_umol_per_kg", "pCO2_uatm"])
def test_nan_as_second_quantity_is_refused(name):
    with pytest.raises(InvalidQuantity):
        solve(**TANK, **{name: float("nan")})


@pytest.mark.parametrize(
    ("changes", "formula"),
    [
        ({"salinity": 10.0}, "k1_LDK00"),
        ({"temperature_degC": 34.0}, "kf_free_PF87"),
        ({"total_alkalinity_umol_per_kg": 1e6}, "carbonate.solve"),
        ({"pH_nbs": 2.9}, "carbonate.solve"),
        ({"pH_nbs": 12.5}, "carbonate.solve"),
    ],
)
def test_out_of_range_names_formula_and_limits(changes, formula):
    with pytest.raises(OutsideValidity) as caught:
        solve(**{**TANK, "pH_nbs": 8.1, **changes})
    assert caught.value.formula == formula
    assert caught.value.low < caught.value.high


def test_a_ph_that_leaves_no_room_for_carbon_is_refused():
    with pytest.raises(OutsideValidity) as caught:
        solve(**{**TANK, "total_alkalinity_umol_per_kg": 300.0}, pH_total=10.0)
    assert caught.value.variable == "dic_umol_per_kg"


def test_knowns_without_a_ph_between_3_and_12_are_refused():
    with pytest.raises(OutsideValidity) as caught:
        solve(**{**TANK, "total_alkalinity_umol_per_kg": 150_000.0}, dic_umol_per_kg=1.0)
    assert caught.value.variable == "pH_total"


def test_air_at_the_water_surface_is_wet_and_under_its_pressure():
    sea_level = pCO2_uatm_from_dry_air_ppm(1000.0, **HERE)
    mountain = pCO2_uatm_from_dry_air_ppm(1000.0, pressure_atm=0.8, **HERE)
    assert sea_level == pytest.approx(969.34, abs=0.01)
    assert mountain == pytest.approx(769.34, abs=0.01)
