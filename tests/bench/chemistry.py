"""Speed of the chemistry as ratios, printed: `.venv/bin/python -m tests.bench chemistry`.

Run by hand. Ratios within one run on one machine say something; absolute times do not.
"""

from collections.abc import Callable
from timeit import repeat

import numpy as np
import PyCO2SYS

from engine.carbonate import solve
from engine.chemistry.exchange_rate import exchange_rate_with_interval
from engine.chemistry.gas_exchange import Air, Rates, Segment, run_course
from engine.chemistry.uncertainty import Uncertain, relative

OPTIONS = {
    "opt_k_carbonic": 10,
    "opt_k_bisulfate": 1,
    "opt_total_borate": 2,
    "opt_k_fluoride": 2,
    "opt_gas_constant": 3,
    "opt_pH_scale": 1,
}
VECTOR_ROWS = 20_000
WATER = {"total_alkalinity_umol_per_kg": 2500.0, "salinity": 35.0, "temperature_degC": 25.0}
START = solve(pH_nbs=8.4, **WATER)
DAY = (
    Segment(hours=12.0, rates=Rates(lime_meq=0.8, respiration_mmol=0.3, calcification_mmol=0.1)),
    Segment(hours=12.0, rates=Rates(respiration_mmol=-0.3, calcification_mmol=0.3)),
)


def seconds(task: Callable[[], object], number: int) -> float:
    """Best of five, seconds for one call."""
    return min(repeat(task, number=number, repeat=5)) / number


def pyco2sys(rows: int) -> object:
    return PyCO2SYS.sys(
        par1=np.linspace(2000.0, 4000.0, rows) if rows > 1 else 2500.0,
        par2=np.linspace(1800.0, 3000.0, rows) if rows > 1 else 2228.0,
        par1_type=1,
        par2_type=2,
        salinity=35.0,
        temperature=25.0,
        **OPTIONS,
    )


def exchange_rate() -> object:
    return exchange_rate_with_interval(
        total_alkalinity_umol_per_kg=relative(2500.0, 0.02),
        salinity=35.0,
        temperature_degC=25.0,
        pH_nbs_before=Uncertain(value=8.40, sd=0.005),
        pH_nbs_after=Uncertain(value=8.36, sd=0.005),
        probe_offset_sd=0.05,
        hours=8.0,
        air_pCO2_uatm=Uncertain(value=500.0, sd=25.0),
        respiration_mmol_per_L_per_day=Uncertain(value=0.0, sd=0.01),
    )


def varied_solves(count: int) -> None:
    """A new salinity and temperature each time: constants are computed anew."""
    for i in range(count):
        solve(
            total_alkalinity_umol_per_kg=2500.0,
            dic_umol_per_kg=2228.0,
            salinity=34.0 + i * 1e-4 + varied_solves.offset,
            temperature_degC=25.0,
        )
    varied_solves.offset += 1e-7


varied_solves.offset = 0.0


def main() -> None:
    ours = seconds(lambda: solve(dic_umol_per_kg=2228.0, **WATER), 5_000)
    fresh = seconds(lambda: varied_solves(500), 4) / 500
    scalar = seconds(lambda: pyco2sys(1), 3)
    row = seconds(lambda: pyco2sys(VECTOR_ROWS), 1) / VECTOR_ROWS
    air = Air(pCO2_uatm=500.0, exchange_per_day=20.0)
    course = seconds(lambda: run_course(START, air, DAY), 20)
    rate = seconds(exchange_rate, 1)
    print(f"one solve, constants remembered         {ours * 1e6:10.1f} us")
    print(f"one solve, constants computed anew      {fresh / ours:10.2f} solves")
    print(f"PyCO2SYS scalar call over one solve     {scalar / ours:10.0f}   (aim >= 1000)")
    print(f"one solve over PyCO2SYS vectorised row  {ours / row:10.2f}   (aim <= 5)")
    print(f"24 h course at 5 min over one solve     {course / ours:10.0f}   (aim <= 3000)")
    print(f"exchange rate with its interval         {rate / ours:10.0f} solves")
