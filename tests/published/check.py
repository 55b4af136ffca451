"""Every table row and published value against the engine: one function for every Python.

Standard library and engine only, no pytest: `run(folder)` gives the same list of checks on the
host and inside the browser's Python, so that what ships is what was tested.
"""

import csv
import importlib
import math
import tomllib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

from engine import carbonate, limewater, seawater
from engine.chemistry import (
    dose_physics,
    equilibrium,
    gas_exchange,
    salts,
    steady_state,
)
from engine.chemistry import (
    strength_checks as limewater_strength,
)
from engine.errors import OutsideValidity


class Check(NamedTuple):
    """The largest departure of one quantity over the rows of one table, or of one value."""

    name: str
    rows: int
    largest: float
    allowed: float

    @property
    def holds(self) -> bool:
        return self.rows > 0 and self.largest <= self.allowed


Row = dict[str, str]
Departures = Iterator[tuple[str, float]]


def run(folder: Path) -> list[Check]:
    """All checks; `folder` holds values.toml and tables/."""
    return [*tables(folder / "tables"), *(value_check(entry) for entry in entries(folder))]


def tables(folder: Path) -> list[Check]:
    checks = []
    for table, departures, allowed in _TABLES:
        with (folder / table).open(newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        largest: dict[str, tuple[int, float]] = {}
        for row in rows:
            for name, departure in departures(row):
                count, so_far = largest.get(name, (0, 0.0))
                largest[name] = count + 1, max(so_far, departure)
        for name, (count, departure) in largest.items():
            checks.append(Check(f"{table}: {name}", count, departure, allowed[name]))
    return checks


def entries(folder: Path) -> list[dict[str, Any]]:
    return tomllib.loads((folder / "values.toml").read_text(encoding="utf-8"))["value"]


def value_check(entry: dict[str, Any]) -> Check:
    """Departure of the engine from a published value, and what its printed digits allow."""
    departure = abs(computed(entry) - entry["expected"] - entry.get("difference", 0.0))
    half_a_unit = 0.5 * 10.0 ** -entry["printed_digits"]
    # A hair for a value that lies on the edge between two printed digits.
    return Check(entry["id"], 1, departure, entry.get("tolerance", half_a_unit) * (1 + 1e-3))


def computed(entry: dict[str, Any]) -> float:
    """What the engine gives where the entry gives the published figure."""
    module, name = entry["function"].rsplit(".", 1)
    thing = getattr(importlib.import_module(module), name)
    inputs = dict(entry["inputs"])
    if "compound" in inputs:
        inputs["compound"] = salts.COMPOUNDS[inputs["compound"]]
    result = thing(**inputs) if callable(thing) else thing
    if "field" in entry:
        result = getattr(result, entry["field"])
    return _TRANSFORMS[entry.get("transform", "none")](float(result))


_TRANSFORMS: dict[str, Callable[[float], float]] = {
    "none": lambda x: x,
    "ln": math.log,
    "log10": math.log10,
    "minus_log10": lambda x: -math.log10(x),
}


def _relative(ours: float, theirs: str) -> float:
    return abs(ours / float(theirs) - 1.0)


def _state_departures(state: carbonate.CarbonateState, row: Row) -> Departures:
    yield "pH_total", abs(state.pH_total - float(row["pH_total"]))
    yield "pH_nbs", abs(state.pH_nbs - float(row["pH_nbs"]))
    yield "pH_free", abs(state.pH_free - float(row["pH_free"]))
    yield "pCO2", _relative(state.pCO2_uatm, row["pCO2"])
    yield "fCO2", _relative(state.fCO2_uatm, row["fCO2"])
    yield "CO2", _relative(state.co2_umol_per_kg, row["CO2"])
    yield "HCO3", _relative(state.hco3_umol_per_kg, row["HCO3"])
    yield "CO3", _relative(state.co3_umol_per_kg, row["CO3"])
    yield "OH", _relative(state.oh_umol_per_kg, row["OH"])
    yield "omega aragonite", _relative(state.omega_aragonite, row["saturation_aragonite"])
    yield "omega calcite", _relative(state.omega_calcite, row["saturation_calcite"])
    yield "Revelle factor", _relative(state.revelle_factor, row["revelle_factor"])


# The issue asks for 1e-6; what is held is what is reached.
_STATE_ALLOWED = {
    "pH_total": 1e-12,
    "pH_nbs": 1e-12,
    "pH_free": 1e-12,
    "pCO2": 1e-12,
    "fCO2": 1e-12,
    # There [CO2] is DIC less the other two, a small difference of large numbers.
    "CO2": 1e-9,
    "HCO3": 1e-12,
    "CO3": 1e-12,
    "OH": 1e-12,
    "omega aragonite": 1e-12,
    "omega calcite": 1e-12,
    "Revelle factor": 1e-12,
}


def _closed(row: Row) -> Departures:
    yield from _state_departures(
        carbonate.solve(
            total_alkalinity_umol_per_kg=float(row["TA_end_umolkg"]),
            dic_umol_per_kg=float(row["DIC_end_umolkg"]),
            calcium_umol_per_kg=float(row["Ca_end_umolkg"]),
            salinity=float(row["S_end"]),
            temperature_degC=float(row["T_C"]),
        ),
        row,
    )


def _closed_by_dosing(row: Row) -> Departures:
    """The same rows from the start: pH in, limewater added by mass, state out."""
    start_pH = {f"pH_{row['start_scale'].lower()}": float(row["start_pH"])}
    start = carbonate.solve(
        total_alkalinity_umol_per_kg=float(row["TA_start_umolkg"]),
        salinity=float(row["S_start"]),
        temperature_degC=float(row["T_C"]),
        **start_pH,
    )
    yield "DIC start", _relative(start.dic_umol_per_kg, row["DIC_start_umolkg"])
    water = dose_physics.TankWater.from_state(1.0, start)
    result = dose_physics.dose_consequences(
        water,
        dose_L=float(row["dose_mL_per_L_tank"]) / 1000.0,
        strength_meq_per_L=40.60,
        evaporated_L=0.0 if row["mode"] == "dilute" else None,
    )
    yield "S end", _relative(result.closed.salinity, row["S_end"])
    yield "TA end", _relative(result.water.total_alkalinity_umol_per_kg, row["TA_end_umolkg"])
    yield "DIC end", _relative(result.water.dic_umol_per_kg, row["DIC_end_umolkg"])
    yield "Ca end", _relative(result.water.calcium_umol_per_kg, row["Ca_end_umolkg"])
    yield "pH_nbs", abs(result.closed.pH_nbs - float(row["pH_nbs"]))
    yield "omega aragonite", _relative(result.closed.omega_aragonite, row["saturation_aragonite"])


def _in_air(row: Row) -> Departures:
    yield from _state_departures(
        carbonate.solve(
            total_alkalinity_umol_per_kg=float(row.get("TA_umolkg") or row["TA_end_umolkg"]),
            pCO2_uatm=float(row["pCO2_uatm"]),
            calcium_umol_per_kg=float(row["Ca_umolkg"]),
            salinity=float(row["S"]),
            temperature_degC=float(row["T_C"]),
        ),
        row,
    )


def _constants(row: Row) -> Departures:
    ours = equilibrium.constants_at(float(row["S"]), float(row["T_C"]))
    for column, value in (
        ("k_CO2", ours.k0),
        ("k_carbonic_1", ours.k1),
        ("k_carbonic_2", ours.k2),
        ("k_borate", ours.kb),
        ("k_water", ours.kw),
        ("k_bisulfate", ours.ks),
        ("k_fluoride", ours.kf),
        ("k_aragonite", ours.k_aragonite),
        ("k_calcite", ours.k_calcite),
        ("total_borate", seawater.total_borate_umol_per_kg_LKB10(ours.salinity)),
        ("total_sulfate", ours.total_sulfate * 1e6),
        ("total_fluoride", ours.total_fluoride * 1e6),
        ("total_calcium", seawater.calcium_umol_per_kg_RT67(ours.salinity)),
        ("fugacity_factor", ours.fugacity_factor),
        ("vp_factor", 1.0 - ours.vapour_pressure_atm),
        ("fH", ours.activity_coefficient_nbs),
    ):
        yield "every constant", _relative(value, row[column])


def _gas_beta(row: Row) -> Departures:
    state = carbonate.solve(
        total_alkalinity_umol_per_kg=float(row["TA_umolkg"]),
        pCO2_uatm=float(row["pCO2_uatm"]),
        salinity=35.0,
        temperature_degC=25.0,
    )
    yield "DIC", _relative(state.dic_umol_per_kg, row["DIC"])
    yield "beta from Revelle", _relative(state.gas_buffering, row["Revelle*CO2/DIC"])
    yield "beta numeric", _relative(state.gas_buffering, row["beta=dCO2/dDIC|TA (numeric)"])


def _ph_decay(row: Row) -> Departures:
    pCO2 = float(row["pCO2_air"])
    start = carbonate.solve(
        total_alkalinity_umol_per_kg=float(row["TA_start"]),
        pCO2_uatm=pCO2,
        salinity=35.0,
        temperature_degC=25.0,
    )
    air = gas_exchange.Air(pCO2_uatm=pCO2, exchange_per_day=float(row["k_per_day"]))
    segment = gas_exchange.Segment(hours=float(row["t_h"]), dose_meq_per_L=float(row["dose_meqL"]))
    end = gas_exchange.run_course(start, air, [segment])[-1]
    yield "pH_nbs", abs(end.pH_nbs - float(row["pH_nbs"]))
    yield "DIC", _relative(end.dic_umol_per_kg, row["DIC_umolkg"])


def _steady(row: Row) -> Departures:
    conditions = {"salinity": float(row["S"]), "temperature_degC": float(row["T_C"])}
    air = gas_exchange.Air(
        pCO2_uatm=float(row["pCO2_air_uatm"]), exchange_per_day=float(row["k_per_day"])
    )
    try:
        state = steady_state.steady_state(
            total_alkalinity_umol_per_kg=float(row["TA_umolkg"]),
            air=air,
            lime_meq_per_L_per_day=float(row["R_meq_per_L_day"]),
            respiration_mmol_per_L_per_day=float(row["M_netresp_mmolCO2_per_L_day"]),
            **conditions,
        )
    except OutsideValidity:
        yield "refused where pCO2 would be negative", float(float(row["pCO2_water_uatm"]) > 0.0)
        return
    yield "pCO2, uatm", abs(state.pCO2_uatm - float(row["pCO2_water_uatm"]))
    # One row with pCO2 18 uatm has no pH: its author called it infeasible, the closed form
    # (limit 0.521 meq/L/d for 0.500 given) does not.
    if row["pH_nbs"]:
        yield "pH_nbs", abs(state.pH_nbs - float(row["pH_nbs"]))
        yield "omega aragonite", _relative(state.omega_aragonite, row["omega_arag"])


def _overdose(row: Row) -> Departures:
    state = carbonate.solve(
        total_alkalinity_umol_per_kg=float(row["TA_umolkg"]),
        pH_nbs=float(row["start_pH_NBS"]),
        salinity=35.0,
        temperature_degC=25.0,
    )
    water = dose_physics.TankWater.from_state(1.0, state)
    threshold = float(row["threshold"])
    if row["quantity"] == "pH_nbs":
        rise = dose_physics.rise_to_reach_pH_nbs_meq_per_L(water, threshold)
    else:
        rise = dose_physics.rise_to_reach_omega_aragonite_meq_per_L(water, threshold)
    yield "dose, meq/L", abs(rise - float(row["dose_meq_per_L"]))


def _salinity(row: Row) -> Departures:
    salinity, degC = float(row["S_PSS78"]), float(row["t_C(ITS-90)"])
    gravity = seawater.specific_gravity_from_salinity
    yield (
        "density, kg/m3",
        abs(seawater.density_kg_per_m3(salinity, degC) - float(row["rho_EOS80_kgm3"])),
    )
    yield (
        "pure water, kg/m3",
        abs(seawater.pure_water_density_kg_per_m3(degC) - float(row["rho_purewater_same_t"])),
    )
    yield (
        "density TEOS-10, kg/m3",
        abs(seawater.density_kg_per_m3(salinity, degC) - float(row["rho_TEOS10_kgm3"])),
    )
    yield "SG", abs(gravity(salinity, degC, degC) - float(row["SG_t/t"]))
    # 60 degF, which the column's name rounds.
    yield "SG", abs(gravity(salinity, degC, 15.5556) - float(row["SG_t/15.56C"]))
    yield "SG", abs(gravity(salinity, 25.0, 25.0) - float(row["SG_25/25"]))
    # Its author divided by 999.975; the equation gives 999.97495 at 4 degC.
    yield "SG to 4 degC", abs(gravity(salinity, degC, 4.0) - float(row["SG_t/4C(999.975)"]))
    if salinity >= seawater.PSS78_SALINITY_RANGE[0]:
        conductivity = seawater.conductivity_from_salinity(salinity, degC)
        yield "conductivity, mS/cm", abs(conductivity - float(row["C_mScm_PSS78"]))
        yield (
            "conductivity, mS/cm",
            abs(
                seawater.conductivity_from_salinity(salinity, 25.0)
                - float(row["C25_mScm(read at 25)"])
            ),
        )
        yield (
            "salinity",
            abs(seawater.salinity_from_conductivity(float(row["C_mScm_PSS78"]), degC) - salinity),
        )


def _solubility(row: Row) -> Departures:
    degC = float(row["T_C"])
    ours = limewater.solubility_g_per_L(degC)
    low, high = limewater.solubility_interval_g_per_L(degC)
    yield "recommended g/L", abs(ours - float(row["RECOMMENDED_gL"]))
    yield (
        "recommended meq/L",
        abs(limewater.saturated_alkalinity_meq_per_L(degC) - float(row["RECOMMENDED_meqL"])),
    )
    yield (
        "saturated pH",
        abs(limewater.saturated_pH(degC) - float(row["pH_sat_at_T_pitzer+Thermoddem"])),
    )
    if 10.0 <= degC <= 40.0:
        yield "modern data outside -3/+10 %", max(
            max(low - float(row[column]), float(row[column]) - high, 0.0)
            for column in ("phreeqc386_pitzer+Thermoddem_gL", "phreeqc_Thermoddem_gL",
                           "phreeqc_minteqv4_gL", "phreeqc_sit_gL")
        )  # fmt: skip


def _portlandite(row: Row) -> Departures:
    degC = float(row["T_C"])
    if row["database"].startswith("pitzer") and 10.0 <= degC <= 35.0:
        yield "g/L", _relative(limewater.solubility_g_per_L(degC), row["g_per_L"])
        yield "saturated pH", abs(limewater.saturated_pH(degC) - float(row["pH"]))


def _conductivity(row: Row) -> Departures:
    meq_per_L = float(row["c_eq_per_L"]) * 1000.0
    if meq_per_L < limewater_strength.MODEL_RANGE_MEQ_PER_L[0]:
        return
    ours = limewater_strength.conductivity_25C_mS_per_cm(meq_per_L)
    theirs = row["SC_mScm_phreeqc386_phreeqc.dat(CaOH+)"]
    yield "mS/cm", _relative(ours, theirs)
    saturated_meq_per_L, saturated_mS_per_cm = 40.497, 7.8723
    ratio = float(theirs) / saturated_mS_per_cm
    low, high = limewater.CONDUCTIVITY_RATIO_RANGE
    if low <= ratio <= high:
        yield (
            "share of saturation",
            abs(limewater.fraction_of_saturation(ratio) - meq_per_L / saturated_meq_per_L),
        )


_Table = tuple[str, Callable[[Row], Iterable[tuple[str, float]]], dict[str, float]]
_TABLES: tuple[_Table, ...] = (
    ("co2_limewater_closed.csv", _closed, _STATE_ALLOWED),
    (
        "co2_limewater_closed.csv",
        _closed_by_dosing,
        {
            "DIC start": 1e-12,
            "S end": 1e-12,
            "TA end": 1e-12,
            "DIC end": 1e-12,
            "Ca end": 1e-12,
            "pH_nbs": 1e-11,
            "omega aragonite": 1e-11,
        },
    ),
    ("co2_equilibrated.csv", _in_air, _STATE_ALLOWED),
    ("co2_limewater_reequilibrated.csv", _in_air, _STATE_ALLOWED),
    ("equilibrium_constants.csv", _constants, {"every constant": 1e-13}),
    # The numeric derivative of the table is a finite difference, good to five digits.
    (
        "gas_beta.csv",
        _gas_beta,
        {"DIC": 1e-12, "beta from Revelle": 1e-12, "beta numeric": 3e-5},
    ),
    ("ph_decay.csv", _ph_decay, {"pH_nbs": 1e-6, "DIC": 1e-6}),
    (
        "steady_state.csv",
        _steady,
        {
            "pCO2, uatm": 1e-9,
            "pH_nbs": 1e-11,
            "omega aragonite": 1e-11,
            "refused where pCO2 would be negative": 0.0,
        },
    ),
    ("overdose_thresholds.csv", _overdose, {"dose, meq/L": 1e-5}),
    (
        "salinity_density.csv",
        _salinity,
        {
            "density, kg/m3": 1e-9,
            "pure water, kg/m3": 1e-9,
            # Another equation of state, of 2010: they differ by so much in this range.
            "density TEOS-10, kg/m3": 0.006,
            "SG": 1e-12,
            "SG to 4 degC": 1e-7,
            "conductivity, mS/cm": 1e-9,
            "salinity": 1e-9,
        },
    ),
    (
        "caoh2_solubility.csv",
        _solubility,
        {
            "recommended g/L": 2e-4,
            "recommended meq/L": 3e-3,
            "saturated pH": 1e-3,
            "modern data outside -3/+10 %": 0.0,
        },
    ),
    ("phreeqpython_portlandite.csv", _portlandite, {"g/L": 0.03, "saturated pH": 0.03}),
    ("limewater_conductivity_25C.csv", _conductivity, {"mS/cm": 4e-3, "share of saturation": 4e-3}),
)
