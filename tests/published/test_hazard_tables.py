"""The hazard engine against the computed tables: closed courses, thresholds, decay in air.

Tables: PyCO2SYS 1.8.3.4 with the conventions of engine/chemistry/equilibrium.py
(tests/published/tables).
"""

import csv
from collections import defaultdict
from pathlib import Path

import pytest

from engine.carbonate import solve
from engine.chemistry.constants import MEQ_PER_GRAM_CALCIUM_HYDROXIDE
from engine.chemistry.dose_physics import TankWater
from engine.hazards.bands import (
    BAND_LIMITS,
    Band,
    Precipitation,
    precipitation_of,
)
from engine.hazards.course import Lime, open_course, point_at, reaches_pH_h

TABLES = Path(__file__).parent / "tables"
VOLUME_L = 100.0
STRENGTH_MEQ_PER_L = 40.60


def rows(name):
    with (TABLES / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def tank(alkalinity, *, degC=25.0, **second):
    state = solve(
        total_alkalinity_umol_per_kg=alkalinity, salinity=35.0, temperature_degC=degC, **second
    )
    return TankWater.from_state(VOLUME_L, state)


def lime(water, *, litres=0.0, meq_per_L=0.0, rate=None):
    """Limewater on top of the tank, or alkalinity that brings no water."""
    return Lime(
        water=water,
        strength_meq_per_L=STRENGTH_MEQ_PER_L,
        litres=litres,
        rate_L_per_h=rate,
        suspended_g=meq_per_L * VOLUME_L / MEQ_PER_GRAM_CALCIUM_HYDROXIDE,
    )


CLOSED = rows("co2_limewater_closed.csv")


@pytest.mark.parametrize("degC", [24.0, 25.0])
@pytest.mark.parametrize("mode", ["evap", "dilute"])
def test_closed_course_equals_the_table_row_by_row(mode, degC):
    compared = beyond = 0
    for row in CLOSED:
        if row["mode"] != mode or float(row["T_C"]) != degC:
            continue
        water = tank(
            float(row["TA_start_umolkg"]), degC=degC, dic_umol_per_kg=float(row["DIC_start_umolkg"])
        )
        dose = float(row["dose_meq_per_L_tank"])
        coming = (
            lime(water, litres=dose * VOLUME_L / STRENGTH_MEQ_PER_L)
            if mode == "dilute"
            else lime(water, meq_per_L=dose)
        )
        point = point_at(coming, 0.0)
        assert point.salinity == pytest.approx(float(row["S_end"]), abs=1e-4)
        assert coming.pH_nbs_at(0.0) == pytest.approx(float(row["pH_nbs"]), abs=2e-6)
        if float(row["pH_nbs"]) > 9.5:
            assert point.pH_nbs is None
            assert point.omega_aragonite is None
            assert point.band is Band.EXPECT_LOSSES
            beyond += 1
            continue
        assert point.pH_nbs == pytest.approx(float(row["pH_nbs"]), abs=2e-6)
        omega = float(row["saturation_aragonite"])
        assert point.omega_aragonite == pytest.approx(omega, rel=1e-3)
        compared += 1
    assert compared > 100
    assert beyond > 0


THRESHOLDS = rows("overdose_thresholds.csv")


def test_time_to_each_ph_is_that_of_the_threshold_table():
    compared = 0
    for row in THRESHOLDS:
        if row["quantity"] != "pH_nbs":
            continue
        water = tank(float(row["TA_umolkg"]), pH_nbs=float(row["start_pH_NBS"]))
        # Ten hours bring 4 meq/L, with no water worth the name.
        coming = Lime(water=water, strength_meq_per_L=4e6, litres=1e-4, rate_L_per_h=1e-5)
        hours = reaches_pH_h((coming,), float(row["threshold"]))
        dose = float(row["dose_meq_per_L"])
        assert hours is not None
        assert coming.brought_meq_per_L(hours) == pytest.approx(dose, abs=3e-4), row
        compared += 1
    assert compared == 42


def test_saturation_at_the_thresholds_dose_is_the_threshold():
    compared = 0
    for row in THRESHOLDS:
        dose = float(row["dose_meq_per_L"])
        if row["quantity"] != "saturation_aragonite" or dose == 0.0:
            continue
        water = tank(float(row["TA_umolkg"]), pH_nbs=float(row["start_pH_NBS"]))
        point = point_at(lime(water, meq_per_L=dose), 0.0)
        if point.omega_aragonite is None:
            assert float(row["threshold"]) >= 20.0
            continue
        assert point.omega_aragonite == pytest.approx(float(row["threshold"]), rel=5e-4)
        compared += 1
    assert compared > 30


def test_open_course_is_that_of_the_decay_table():
    courses = defaultdict(list)
    for row in rows("ph_decay.csv"):
        key = tuple(float(row[n]) for n in ("TA_start", "pCO2_air", "dose_meqL", "k_per_day"))
        courses[key].append((float(row["t_h"]), float(row["pH_nbs"])))
    for (alkalinity, air, dose, k), table in courses.items():
        coming = lime(tank(alkalinity, pCO2_uatm=air), meq_per_L=dose)
        points = open_course(
            coming, air_pCO2_uatm=air, exchange_per_day=k, hours=table[-1][0], step_h=0.25
        )
        found = {round(point.hours, 6): point.pH_nbs for point in points}
        for hours, pH_nbs in table:
            assert found[hours] == pytest.approx(pH_nbs, abs=1e-4)
    assert sum(len(table) for table in courses.values()) == 45


def test_severity_follows_the_published_order():
    """Moras 2022: none at 5, runaway above 7. Ringham 2024: bulk at pH > 10 with more than 30."""
    order = list(Precipitation)
    waters = [(8.3, 5.0), (8.45, 8.0), (8.7, 11.0), (8.9, 13.0), (9.7, 25.0), (10.2, 31.0)]
    found = [precipitation_of(*water) for water in waters]
    assert found == order
    assert found[0] is Precipitation.NORMAL


@pytest.mark.parametrize("omega", [5.0, 5.5, 6.0, 6.5, 6.9, 7.0])
def test_a_saturation_of_five_to_seven_never_alarms(omega):
    assert precipitation_of(8.4, omega) is Precipitation.NORMAL


def test_every_band_of_animals_comes_before_the_brucite_limit():
    water = tank(2500.0, pH_nbs=8.1)
    coming = Lime(water=water, strength_meq_per_L=4e6, litres=1e-4, rate_L_per_h=1e-5)
    hours = [reaches_pH_h((coming,), limit.pH_nbs) for limit in BAND_LIMITS]
    assert hours == sorted(hours)
    assert [limit.band for limit in BAND_LIMITS][-1] is Band.EXPECT_LOSSES
