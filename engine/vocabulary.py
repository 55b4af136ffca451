"""What each measured quantity means, in which unit it is kept, and what is plausible.

Entry checks, form labels and defaults all read this one table, so that a quantity is never
described in two ways. Plausible ranges, jumps and test errors are common practice, no source.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """One quantity that a keeper reads off a test or a meter.

    Every number is in `unit`, the canonical unit in which records keep it.
    """

    code: str
    meaning: str
    unit: str
    typed_units: tuple[str, ...]  # allow-list, the usual one first
    plausible: tuple[float, float]  # asks outside it
    incident: tuple[float, float]  # what can still be real in an accident; refused outside it
    jump: float  # asks when a reading within a day differs by more
    test_error: float  # about one standard deviation
    interval_days: int  # usual time between tests


def can_be_real(parameter: str, value: float) -> bool:
    """Tell whether a stored reading can be one at all; of an unknown quantity nothing is known.

    Entry refuses what cannot; an import, or an older build, may have let it in. Alkalinity counts
    whatever it is: it stops limewater, or the other tests speak against it. So does a high pH.
    """
    described = PARAMETERS.get(parameter)
    if described is None or parameter == "total_alkalinity":
        return True
    low, high = described.incident
    return low <= value and (value <= high or parameter == "pH_nbs")


Z90: Final = 1.645  # two-sided 90 % quantile of the normal distribution
MEQ_PER_DKH: Final = 20.0 / 56.0774  # 1 dKH is 10 mg CaO per litre; molar mass of CaO


def _dkh(value: float) -> float:
    return value * MEQ_PER_DKH


PARAMETERS: Final = {
    parameter.code: parameter
    for parameter in (
        Parameter(
            code="total_alkalinity",
            meaning="total alkalinity: acid that the water can take up",
            unit="meq/L",
            typed_units=("dKH", "meq/L", "mg/L CaCO3"),
            plausible=(_dkh(4.0), _dkh(16.0)),
            incident=(_dkh(0.5), _dkh(40.0)),
            jump=_dkh(0.8),
            test_error=_dkh(0.3),
            interval_days=3,
        ),
        Parameter(
            code="calcium",
            meaning="dissolved calcium",
            unit="mg/L",
            typed_units=("mg/L", "mmol/L"),
            plausible=(250.0, 600.0),
            incident=(50.0, 1500.0),
            jump=40.0,
            test_error=15.0,
            interval_days=7,
        ),
        Parameter(
            code="magnesium",
            meaning="dissolved magnesium",
            unit="mg/L",
            typed_units=("mg/L", "mmol/L"),
            plausible=(900.0, 1700.0),
            incident=(100.0, 3000.0),
            jump=100.0,
            test_error=40.0,
            interval_days=30,
        ),
        Parameter(
            code="pH_nbs",
            meaning="pH on the NBS scale, as an aquarium probe reads it",
            unit="",
            typed_units=("",),
            plausible=(7.4, 9.0),
            incident=(6.0, 12.6),
            jump=0.25,
            test_error=0.1,
            interval_days=1,
        ),
        Parameter(
            code="salinity",
            meaning="practical salinity",
            unit="PSU",
            typed_units=("PSU", "SG 25/25", "mS/cm at 25 °C"),
            plausible=(28.0, 40.0),
            incident=(5.0, 42.0),
            jump=0.7,
            test_error=0.5,
            interval_days=7,
        ),
        Parameter(
            code="temperature",
            meaning="water temperature",
            unit="degC",
            typed_units=("degC", "degF"),
            plausible=(18.0, 32.0),
            incident=(5.0, 40.0),
            jump=1.5,
            test_error=0.3,
            interval_days=1,
        ),
        Parameter(
            code="nitrate",
            meaning="dissolved nitrate",
            unit="mg/L",
            typed_units=("mg/L",),
            plausible=(0.0, 150.0),
            incident=(0.0, 1000.0),
            jump=10.0,
            test_error=3.0,
            interval_days=14,
        ),
        Parameter(
            code="phosphate",
            meaning="dissolved phosphate",
            unit="mg/L",
            typed_units=("mg/L",),
            plausible=(0.0, 2.0),
            incident=(0.0, 20.0),
            jump=0.1,
            test_error=0.02,
            interval_days=14,
        ),
        Parameter(
            code="room_co2",
            meaning="carbon dioxide in the room's air, as a room monitor reads it (dry air)",
            unit="ppm",
            typed_units=("ppm",),
            plausible=(380.0, 5000.0),
            incident=(300.0, 20000.0),
            jump=500.0,
            test_error=100.0,
            interval_days=90,
        ),
        Parameter(
            code="tds",
            meaning="total dissolved solids in the fresh water after the last filter stage",
            unit="ppm",
            typed_units=("ppm",),
            plausible=(0.0, 600.0),
            incident=(0.0, 5000.0),
            jump=3.0,
            test_error=1.0,
            interval_days=7,
        ),
    )
}
