"""A record in words: its title and one line of what it says."""

from collections.abc import Callable
from typing import Any, Final

from engine.records import (
    Addition,
    Amendment,
    DeliverySetting,
    Happening,
    LimewaterStrength,
    Note,
    PowderStock,
    ProcedureRun,
    PumpCheck,
    Reading,
    Recharge,
    Record,
    Refill,
    SecondSourceSetting,
    Setup,
    WaterChange,
    WaterTest,
)
from engine.vocabulary import PARAMETERS
from mobile.state.sentences import alkalinity, number, significant, trimmed, unit_label
from mobile.texts.forms import TEXTS as WORDS
from mobile.texts.history import TEXTS
from mobile.texts.procedures import TEXTS as PROCEDURES


def title(record: Record) -> str:
    """Return what kind of record it is."""
    if isinstance(record, WaterTest):
        return ", ".join(WORDS[f"form_{reading.parameter}"] for reading in record.readings)
    return TEXTS[f"kind_{record.kind}"]


def summary(record: Record, alkalinity_unit: str = "dKH") -> str:
    """Return the record's figures in one line."""
    formatter = _SUMMARIES.get(type(record))
    return formatter(record, alkalinity_unit) if formatter else record.note


def reading_text(reading: Reading, alkalinity_unit: str) -> str:
    """Return a reading in the keeper's unit."""
    if reading.parameter == "total_alkalinity":
        return alkalinity(reading.value, alkalinity_unit)
    unit = PARAMETERS[reading.parameter].unit
    if unit == "":
        return f"{reading.value:.2f}"
    return f"{_plain(reading.value)} {unit_label(unit)}"


def _plain(value: float) -> str:
    return trimmed(value, 1) if value >= 10.0 else significant(value, 3)


def _readings(record: WaterTest, unit: str) -> str:
    return ", ".join(reading_text(reading, unit) for reading in record.readings)


def _option(value: str) -> str:
    return WORDS[f"option_{value}"]


def _runs(record: PumpCheck, _unit: str) -> str:
    mean = sum(record.measured_mL) / len(record.measured_mL)
    share = number("share_share", mean / record.expected_mL)
    return TEXTS["pump_check"].format(
        measured=number("mean_mL", mean), expected=number("x_mL", record.expected_mL), share=share
    )


def _water_change(record: WaterChange, unit: str) -> str:
    shown = number("volume_L", record.volume_L)
    new = record.new_total_alkalinity_meq_per_L
    return shown if new is None else f"{shown}, {alkalinity(new, unit)}"


_SUMMARIES: Final[dict[type[Record], Callable[[Any, str], str]]] = {
    WaterTest: _readings,
    Refill: lambda r, _u: f"{number('x_L', r.volume_L)}, {_option(r.container)}",
    Recharge: lambda r, _u: f"{number('x_g', r.powder_g)}, {_option(r.container)}",
    DeliverySetting: lambda r, _u: number("x_L_per_day", r.limewater_L_per_day),
    SecondSourceSetting: lambda r, _u: number("x_meq_per_day", r.alkalinity_meq_per_day),
    LimewaterStrength: lambda r, _u: TEXTS["strength"].format(
        share=number("x_share", r.fraction_of_saturation), method=_option(r.method)
    ),
    PumpCheck: _runs,
    WaterChange: _water_change,
    Addition: lambda r, _u: number("x_meq", r.alkalinity_meq),
    PowderStock: lambda r, _u: (
        f"{number('x_g', r.powder_g)}, {_option('counted' if r.counted else 'bought')}"
    ),
    Setup: lambda r, _u: r.name,
    Note: lambda r, _u: r.note,
    Happening: lambda r, _u: r.what,
    ProcedureRun: lambda r, _u: TEXTS[f"run_{r.event}"].format(
        procedure=PROCEDURES.get(r.procedure, TEXTS["other_procedure"])
    ),
    Amendment: lambda r, u: (
        TEXTS["withdrawal"] if r.replacement is None else summary(r.replacement, u)
    ),
}
