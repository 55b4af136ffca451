"""A record in words: its title and one line of what it says."""

from collections.abc import Callable
from typing import Any, Final

from engine.records import (
    Addition,
    Amendment,
    DeliverySetting,
    Happening,
    Incident,
    IncidentEvent,
    JobChoice,
    JobDone,
    LimewaterStrength,
    MeterCheck,
    Note,
    PackOpened,
    PowderStock,
    ProcedureRun,
    PumpCheck,
    Reading,
    Recharge,
    Record,
    Refill,
    SecondSourceSetting,
    Setup,
    SupplyStock,
    VesselEmptied,
    WaterChange,
    WaterTest,
)
from engine.vocabulary import PARAMETERS
from mobile.state.form_makers import happened
from mobile.state.sentences import alkalinity, number, significant, trimmed, unit_label
from mobile.texts.forms import TEXTS as WORDS
from mobile.texts.history import TEXTS
from mobile.texts.incident import ACTS
from mobile.texts.incident import TEXTS as INCIDENT
from mobile.texts.jobs import TEXTS as JOBS
from mobile.texts.procedures import TEXTS as PROCEDURES


def title(record: Record) -> str:
    """Return what kind of record it is."""
    if isinstance(record, WaterTest):
        return ", ".join(quantity_name(reading.parameter) for reading in record.readings)
    return TEXTS[f"kind_{record.kind}"]


def quantity_name(parameter: str) -> str:
    """Return a measured quantity in words; its own code where this version does not know it."""
    known = WORDS[f"form_{parameter}"] if parameter in PARAMETERS else parameter
    return known or TEXTS["nameless"]


def unit_of(reading: Reading) -> str:
    """Return the unit in which a reading is kept, as far as it is known.

    Of a quantity that this version does not know only what was typed tells: its unit, where the
    number kept is the one typed.
    """
    described = PARAMETERS.get(reading.parameter)
    if described is not None:
        return described.unit
    return reading.typed_unit if reading.typed == f"{reading.value:g}" else ""


def summary(record: Record, alkalinity_unit: str = "dKH") -> str:
    """Return the record's figures in one line."""
    formatter = _SUMMARIES.get(type(record))
    return formatter(record, alkalinity_unit) if formatter else record.note


def reading_text(reading: Reading, alkalinity_unit: str) -> str:
    """Return a reading in the keeper's unit."""
    if reading.parameter == "total_alkalinity":
        return alkalinity(reading.value, alkalinity_unit)
    unit = unit_of(reading)
    if reading.parameter not in PARAMETERS:
        return f"{reading.value:g} {unit_label(unit)}".strip()
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


def _second_source(record: SecondSourceSetting, unit: str) -> str:
    gives = number("set_meq_per_day", record.alkalinity_meq_per_day)
    if record.two_part_mL_per_day is not None:
        shown = number("set_mL_per_day", record.two_part_mL_per_day)
        return TEXTS["second_two_part"].format(shown=shown, gives=gives)
    if record.flow_L_per_day is None:
        return gives
    return TEXTS["second_reactor"].format(
        shown=number("x_flow", record.flow_L_per_day),
        effluent=_alkalinity_or_none(record.effluent_meq_per_L, unit),
        gives=gives,
    )


def _alkalinity_or_none(value: float | None, unit: str) -> str:
    return TEXTS["unknown"] if value is None else alkalinity(value, unit)


def _water_change(record: WaterChange, unit: str) -> str:
    """Return the volume and what was measured in the new water."""
    new = record.new_total_alkalinity_meq_per_L
    parts = [number("volume_L", record.volume_L), "" if new is None else alkalinity(new, unit)]
    for code, value in (
        ("calcium", record.new_calcium_mg_per_L),
        ("magnesium", record.new_magnesium_mg_per_L),
    ):
        if value is not None:
            parts.append(f"{WORDS[f'form_{code}'].lower()} {number('x_mg_per_L', value)}")
    return ", ".join(part for part in parts if part)


def _addition(record: Addition, _unit: str) -> str:
    """Return the weighed salt, or what it brought where none was weighed."""
    salt = WORDS.get(f"option_{record.salt}", record.salt)
    if record.salt_g is not None and salt:
        return f"{number('x_g', record.salt_g)}, {salt.lower()}"
    return number("x_meq", record.alkalinity_meq)


def _happening(record: Happening, _unit: str) -> str:
    return WORDS.get(f"option_{happened(record)}", record.what)


def _incident(record: Incident) -> str:
    if record.event is IncidentEvent.ACT_DONE:
        return ACTS.get(record.act, TEXTS["other_act"])
    return INCIDENT[f"event_{record.event}"]


def _supply(record: SupplyStock, _unit: str) -> str:
    tests = record.solution_mL is None
    amount = (
        number("x_count", record.tests_count or 0.0)
        if tests
        else number("x_mL", record.solution_mL or 0.0)
    )
    stock = _option("counted" if record.counted else "bought")
    return TEXTS["supply"].format(item=_option(record.item), amount=amount, stock=stock)


def _meter(record: MeterCheck, _unit: str) -> str:
    """Return which meter, and how far it was off."""
    off = record.off_share if record.off_pH is None else record.off_pH
    key = "x_share" if record.off_pH is None else "x_pH"
    said = "meter_right" if not off else "meter_high" if off > 0.0 else "meter_low"
    shown = number(key, abs(off or 0.0))
    return TEXTS[said].format(meter=TEXTS[f"meter_{record.meter}"], off=shown)


def _job(code: str) -> str:
    return JOBS.get(f"name_{code}", TEXTS["other_procedure"])


def _job_choice(record: JobChoice, _unit: str) -> str:
    name, key, days = _job(record.job), "job_usual", 0.0
    if record.off:
        key = "job_off"
    elif record.snoozed_days is not None:
        key, days = "job_snoozed", record.snoozed_days
    elif record.interval_days is not None:
        key, days = "job_interval", record.interval_days
    said = TEXTS[key].format(job=name, days=number("x_days", days))
    return f"{said}. {record.note}" if record.note else said


_SUMMARIES: Final[dict[type[Record], Callable[[Any, str], str]]] = {
    WaterTest: _readings,
    Refill: lambda r, _u: f"{number('x_L', r.volume_L)}, {_option(r.container)}",
    Recharge: lambda r, _u: f"{number('x_g', r.powder_g)}, {_option(r.container)}",
    DeliverySetting: lambda r, _u: number("set_L_per_day", r.limewater_L_per_day),
    SecondSourceSetting: _second_source,
    LimewaterStrength: lambda r, _u: TEXTS["strength"].format(
        share=number("x_share", r.fraction_of_saturation), method=_option(r.method)
    ),
    PumpCheck: _runs,
    WaterChange: _water_change,
    Addition: _addition,
    PowderStock: lambda r, _u: (
        f"{number('x_g', r.powder_g)}, {_option('counted' if r.counted else 'bought')}"
    ),
    PackOpened: lambda r, _u: number("x_g", r.powder_g),
    VesselEmptied: lambda r, _u: _option(r.container),
    SupplyStock: _supply,
    MeterCheck: _meter,
    JobChoice: _job_choice,
    JobDone: lambda r, _u: _job(r.job),
    Setup: lambda r, _u: r.name,
    Note: lambda r, _u: r.note,
    Happening: _happening,
    ProcedureRun: lambda r, _u: TEXTS[f"run_{r.event}"].format(
        procedure=PROCEDURES.get(r.procedure, TEXTS["other_procedure"])
    ),
    Incident: lambda r, _u: _incident(r),
    Amendment: lambda r, u: (
        TEXTS["withdrawal"] if r.replacement is None else summary(r.replacement, u)
    ),
}
