"""Logs of anybody: whatever the door lets pass, plausible at its heart and broken at its edges.

A log is drawn from a seed alone and passes the real codec. The tank is a plain one; some fields of
the set-up stand at a bound or anywhere between; tests are minutes to weeks apart, some mistyped as
entry would let pass after asking; the clock was wrong now and then; records of every kind, also of
a newer build, lie between. Nothing here is like the keepers of `simulated_keepers`.
"""

import json
import types
from dataclasses import MISSING, dataclass, fields, replace
from datetime import UTC, datetime, timedelta, timezone
from enum import StrEnum
from math import exp, log
from random import Random
from typing import Any, get_args, get_origin, get_type_hints

from engine.log.record_codec import from_dict, to_dict
from engine.plan.happenings import HAPPENINGS
from engine.records import (
    KINDS,
    Amendment,
    Container,
    Delivery,
    DeliverySetting,
    Incident,
    IncidentEvent,
    LimewaterStrength,
    ProcedureEvent,
    ProcedureRun,
    PumpCheck,
    Reading,
    Recharge,
    Record,
    Refill,
    SecondSource,
    SecondSourceSetting,
    Setup,
    StrengthMethod,
    WaterChange,
    WaterTest,
)
from engine.vocabulary import PARAMETERS
from mobile.procedures import all_procedures

SYSTEM = "any"
NOW = datetime(2027, 6, 1, 9, 30, tzinfo=UTC)
DKH = 20.0 / 56.0774
TEXTS = ("", "a word", "{x} %d", "Ωμέγα 水", "<i>", "x" * 15, "recharge", "done")
# What a slip of the finger or another unit does to a number.
SLIPS = (10.0, 0.1, 2.804, 1.0 / 2.804, 50.04, 0.01, 100.0)


@dataclass(frozen=True)
class Log:
    """A log and the moment at which it is looked at."""

    seed: int
    records: tuple[Record, ...]
    now: datetime
    system: str = SYSTEM


def any_log(seed: int) -> Log:
    """Return the log of a seed."""
    return _Author(seed).written()


class _Author:
    """Writes one log."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.rng = Random(f"any log {seed}")
        self.records: list[Record] = []
        self.wild = self.rng.choice((0.0, 0.0, 0.0, 0.02, 0.1, 0.4))  # how often anything goes
        self.clock_was_wrong = self.chance(0.12)
        self.calm = self.chance(0.45)  # a keeper without accidents: else there is seldom a plan
        self.days = self.rng.choice((0.2, 3.0, 20.0, 60.0, 120.0, 400.0))
        self.net_L = exp(self.rng.uniform(log(5.0), log(5_000.0)))
        self.way = self.rng.choice(tuple(Delivery))
        self.source = self.rng.choice(tuple(SecondSource))
        self.error_dKH = self.rng.choice((0.01, 0.1, 0.2, 0.6))
        self.zone = self.rng.choice(
            (UTC, timezone(timedelta(hours=-9.5)), timezone(timedelta(hours=13)))
        )

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def written(self) -> Log:
        rng = self.rng
        if not self.chance(0.02):
            self.setup(self.days)
        for _ in range(rng.choice((0, 0, 1, 3))):
            self.setup(rng.uniform(0.0, self.days))
        if self.calm or self.chance(0.85):
            self.add(DeliverySetting, self.days, limewater_L_per_day=self.lime())
        if self.calm or self.chance(0.5):
            self.add(SecondSourceSetting, self.days, alkalinity_meq_per_day=self.second())
        self.alkalinity()
        self.others()
        for _ in range(rng.choice((0, 0, 1, 4, 12)) if not self.calm else 0):
            self.any_record()
        if self.chance(0.2):
            self.procedure()
        if self.chance(0.15) and not self.calm:
            self.incident()
        for _ in range(rng.choice((0, 0, 0, 1, 3))):
            self.amend()
        if self.chance(0.3):
            rng.shuffle(self.records)
        read = [from_dict(json.loads(json.dumps(to_dict(record)))) for record in self.records]
        return Log(self.seed, tuple(read), NOW.astimezone(self.zone))

    # --- the frame

    def add(self, record_class: type[Record], days_ago: float, **values: Any) -> None:
        self.records.append(record_class(**self.frame(days_ago), **values))

    def frame(self, days_ago: float) -> dict[str, Any]:
        at = (NOW - timedelta(days=days_ago)).astimezone(self.zone)
        recorded = at
        if self.clock_was_wrong and self.chance(0.1):
            recorded = at + timedelta(days=self.rng.uniform(-3.0, 40.0))
        if self.clock_was_wrong and self.chance(0.05):
            at += timedelta(days=self.rng.choice((0.001, 1.0, 400.0, 5_000.0)))
        device = "other00001" if self.chance(0.1) else "phone00001"
        system = "another" if self.chance(self.wild / 20.0) else SYSTEM
        number = len(self.records) + 1
        return {"id": f"{device}:{number}", "at": at, "recorded_at": recorded, "system": system}

    # --- a set-up

    def setup(self, days_ago: float) -> None:
        rng, net = self.rng, self.net_L
        plain = {
            "name": "Anybody",
            "net_volume_L": net,
            "delivery": self.way if self.calm else rng.choice((self.way, *Delivery)),
            "second_source": self.source if self.calm else rng.choice((self.source, *SecondSource)),
            "evaporation_low_L_per_day": net * 0.014,
            "evaporation_high_L_per_day": net * 0.017,
            "target_total_alkalinity_meq_per_L": 8.3 * DKH,
            "band_low_total_alkalinity_meq_per_L": 7.5 * DKH,
            "band_high_total_alkalinity_meq_per_L": 9.0 * DKH,
            "floor_total_alkalinity_meq_per_L": 6.5 * DKH,
            "keeper_cap_L_per_day": net * 0.02,
            "evaporation_share": 0.9,
            "net_rise_meq_per_L_per_day": 0.3 * DKH,
            "stopped_rise_meq_per_L_per_day": 2.0,
            "vessel_L": 5.0,
            "lime_container_L": net * 0.05 + 1.0,
            "fresh_water_container_L": net * 0.05 + 1.0,
            "pump_L_per_h": net * 0.004,
            "pump_step_mL": net * 0.0005,
            "two_part_meq_per_mL": 1.9,
            "alkalinity_test_error_meq_per_L": rng.choice((None, 0.02, self.error_dKH * DKH)),
        }
        plain = {key: self.within(Setup, key, value) for key, value in plain.items()}
        bent = rng.choice((0, 0, 0, 1, 2, 5, 60))
        everything = [f.name for f in fields(Setup) if f.name not in _FRAME and f.name != "name"]
        for name in rng.sample(everything, min(bent, len(everything))):
            plain[name] = self.value(Setup, name)
        self.add(Setup, days_ago, **plain)

    def within(self, owner: type, name: str, value: Any) -> Any:
        bounds = _bounds(owner, name)
        if bounds is None or not isinstance(value, float):
            return value
        return min(bounds[1], max(bounds[0], value))

    # --- what is read and set

    def lime(self) -> float:
        return min(20_000.0, self.net_L * self.rng.choice((0.0, 0.002, 0.01, 0.012, 0.05)))

    def second(self) -> float:
        return min(1e6, self.net_L * self.rng.choice((0.0, 0.1, 0.4, 2.0)))

    def gap_days(self) -> float:
        kind = self.rng.choice(("minutes", "hours", "days", "days", "weeks"))
        low, high = {
            "minutes": (0.0, 0.02),
            "hours": (0.05, 0.9),
            "days": (0.9, 6.0),
            "weeks": (6.0, 40.0),
        }[kind]
        return self.rng.uniform(low, high)

    def alkalinity(self) -> None:
        rng = self.rng
        level, use = rng.uniform(7.2, 9.0), rng.gauss(0.0, 0.05)
        days_ago = self.days * rng.uniform(0.2, 1.0) if self.chance(0.4) else min(self.days, 40.0)
        for _ in range(rng.choice((4, 10, 40) if self.calm else (0, 1, 2, 4, 10, 40))):
            if days_ago < 0.0:
                break
            value = max(0.6, level + rng.gauss(0.0, self.error_dKH)) * DKH
            self.read(days_ago, "total_alkalinity", value)
            step = self.gap_days()
            days_ago -= step
            level = min(14.0, max(4.0, level - use * step))
        if self.calm:  # tested today
            self.read(rng.uniform(0.0, 1.0), "total_alkalinity", level * DKH)

    def others(self) -> None:
        rng = self.rng
        usual = {
            "pH_nbs": (8.15, 0.1),
            "calcium": (425.0, 15.0),
            "magnesium": (1320.0, 40.0),
            "salinity": (35.0, 1.0),
            "temperature": (25.0, 1.0),
            "nitrate": (8.0, 4.0),
            "phosphate": (0.05, 0.03),
            "room_co2": (800.0, 300.0),
            "tds": (2.0, 1.0),
        }
        for parameter, (middle, spread) in usual.items():
            if self.chance(0.5):
                continue
            for _ in range(rng.choice((1, 2, 6))):
                value = rng.gauss(middle, spread)
                self.read(rng.uniform(0.0, min(self.days, 70.0)), parameter, value)
        if self.chance(0.15):
            self.read(
                rng.uniform(0.0, 9.0), "pH_nbs", rng.choice((8.39, 8.4, 8.5, 8.65, 9.2, 11.0))
            )
        for _ in range(rng.choice((0, 3, 20))):
            days_ago = rng.uniform(0.0, self.days)
            litres = min(200_000.0, self.net_L * rng.uniform(0.0, 0.05))
            where = rng.choice((Container.FRESH_WATER, Container.LIME))
            self.add(Refill, days_ago, volume_L=litres, container=where, to_mark=self.chance(0.8))
        if self.chance(0.4):
            share = rng.choice((1.0, rng.uniform(0.0, 1.2)))
            method = rng.choice(tuple(StrengthMethod))
            days_ago = rng.uniform(0.0, 40.0)
            self.add(LimewaterStrength, days_ago, fraction_of_saturation=share, method=method)
        if self.chance(0.4):
            runs = tuple(rng.uniform(60.0, 140.0) for _ in range(rng.randint(1, 3)))
            self.add(PumpCheck, rng.uniform(0.0, 90.0), expected_mL=100.0, measured_mL=runs)
        if self.chance(0.5):
            grams = exp(rng.uniform(0.0, log(3_000.0)))
            self.add(Recharge, rng.uniform(0.0, 40.0), powder_g=grams)
        if self.chance(0.4):
            litres = min(200_000.0, self.net_L * rng.choice((0.0, 0.1, 0.5, 1.0, 3.0)))
            new = rng.choice((None, 2.5, 0.5, 8.0))
            days_ago = rng.uniform(0.0, self.days)
            self.add(WaterChange, days_ago, volume_L=litres, new_total_alkalinity_meq_per_L=new)

    def read(self, days_ago: float, parameter: str, value: float) -> None:
        """Add a reading; now and then a slip within what entry lets pass after asking."""
        low, high = PARAMETERS[parameter].incident
        if self.chance((0.005 if self.calm else 0.04) + self.wild):
            value *= self.rng.choice(SLIPS)
        value = min(high, max(low, value))
        if self.chance(self.wild / 4.0):
            value = self.rng.choice((low, high, 0.0, -1.0, -1_000.0, 1e6, 0.001))  # an import's
        unit = self.rng.choice(PARAMETERS[parameter].typed_units)
        reading = Reading(
            parameter=parameter, value=value, typed=f"{value:g}", typed_unit=unit, confirmed=True
        )
        lot = self.rng.choice(("", "", "", "a", "b", "c", "d", "e"))
        self.add(WaterTest, days_ago, readings=(reading,), reagent_lot=lot)

    # --- anything at all

    def any_record(self) -> None:
        kinds = [kind for kind in KINDS if kind and kind not in ("setup", "amendment")]
        record_class = KINDS[self.rng.choice(kinds)]
        self.add(record_class, self.rng.uniform(0.0, self.days), **self.body(record_class))

    def body(self, owner: type) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for field in fields(owner):
            required = field.default is MISSING and field.name not in _FRAME
            if required or (field.name not in _FRAME and self.chance(0.4)):
                found[field.name] = self.value(owner, field.name)
        return found

    def value(self, owner: type, name: str) -> Any:
        rng, hint = self.rng, get_type_hints(owner)[name]
        if isinstance(hint, types.UnionType):
            if self.chance(0.25):
                return None
            hint = next(option for option in get_args(hint) if option is not type(None))
        if get_origin(hint) is tuple:
            return self.several(get_args(hint)[0])
        if issubclass(hint, (StrEnum, bool)):
            return rng.choice((False, True) if hint is bool else tuple(hint))
        if hint is str:
            return self.word(owner, name)
        number = self.number(*(_bounds(owner, name) or (0.0, 100_000.0)))
        return round(number) if hint is int else number

    def several(self, inner: type) -> tuple[Any, ...]:
        rng, count = self.rng, self.rng.choice((1, 1, 2, 5))
        if inner is Reading:
            return tuple(self.any_reading() for _ in range(count))
        return tuple(rng.choice((0.0, 100.0, rng.uniform(0.0, 1e5))) for _ in range(count))

    def number(self, low: float, high: float) -> float:
        """Return a bound, something near nothing, or anything between by its magnitude."""
        kind = self.rng.choice(("low", "high", "between", "between", "between", "small"))
        if kind in ("low", "high"):
            return low if kind == "low" else high
        least = low if low > 0.0 else min(1e-3, high)
        if kind == "small" and high > least:
            return min(high, least * 1.01)
        return exp(self.rng.uniform(log(least), log(high))) if high > least else high

    def word(self, owner: type, name: str) -> str:
        known = {
            "what": HAPPENINGS,
            "procedure": tuple(p.key for p in all_procedures()),
            "flow": ("", "on", "off"),
            "parameter": tuple(PARAMETERS),
            "salt": ("calcium_chloride", "sodium_carbonate"),
            "job": ("recharge", "pump_check", "test_alkalinity"),
            "run": ("run-1", "run-2"),
        }.get(name, TEXTS)
        said = self.rng.choice((*known, *known, *TEXTS))
        longest = next(f for f in fields(owner) if f.name == name).metadata.get("longest", 80)
        return said[:longest]

    def any_reading(self) -> Reading:
        parameter = self.word(Reading, "parameter")
        value = self.number(0.0, 1e6) if self.chance(0.3) else self.number(0.1, 500.0)
        if parameter in PARAMETERS and not self.chance(self.wild):
            low, high = PARAMETERS[parameter].incident
            value = self.rng.uniform(low, high)
        return Reading(
            parameter=parameter,
            value=value,
            typed=self.rng.choice((f"{value:g}", "", "1,5")),
            typed_unit=self.rng.choice(("", "mg/L", "dKH", "furlong")),
        )

    # --- what has an order of its own

    def procedure(self) -> None:
        """Add a run that follows its procedure for some steps, and perhaps stumbles."""
        procedure = self.rng.choice(all_procedures())
        days_ago = self.rng.uniform(0.0, min(self.days, 20.0))
        run = {"run": "run-9", "procedure": procedure.key}
        setups = [r for r in self.records if isinstance(r, Setup)]
        delivery = str(setups[-1].delivery) if setups else ""
        facts = self.rng.choice(("", "plan_L_per_day=3", "recharge_powder_g=1e9 x=nan", "a=b"))
        self.add(
            ProcedureRun,
            days_ago,
            event=ProcedureEvent.STARTED,
            delivery=delivery,
            facts=facts,
            **run,
        )
        for step in procedure.steps[: self.rng.choice((3, 10, 30, 99))]:
            days_ago = max(0.0, days_ago - self.rng.choice((0.001, 0.2, 1.0)))
            answers = [option.answer for option in step.options] or ["continue", "5", "0", "1e5"]
            answer = answers[0] if self.chance(0.9) else self.rng.choice(answers)
            self.add(
                ProcedureRun,
                days_ago,
                event=ProcedureEvent.STEP_DONE,
                step=step.key,
                answer=answer,
                flow=step.delivery,
                **run,
            )
        if self.chance(0.5):
            event = self.rng.choice((ProcedureEvent.FINISHED, ProcedureEvent.STOPPED))
            self.add(ProcedureRun, days_ago, event=event, **run)

    def incident(self) -> None:
        days_ago = self.rng.choice((0.01, 0.3, 2.0, 30.0))
        self.add(Incident, days_ago, run="i", event=IncidentEvent.STARTED)
        for _ in range(self.rng.choice((0, 1, 4))):
            pH, later = self.rng.uniform(8.2, 10.5), days_ago * self.rng.random()
            self.read(later, "pH_nbs", pH)
            self.read(later, "total_alkalinity", self.rng.uniform(2.0, 12.0))
        if self.chance(0.5):
            event = self.rng.choice(tuple(IncidentEvent))
            self.add(Incident, days_ago * self.rng.random(), run="i", event=event, act="pump_off")

    def amend(self) -> None:
        """Withdraw or replace a record, one that is not there, or one twice."""
        about = self.rng.choice(self.records) if self.records else None
        target = about.id if about and self.chance(0.9) else "phone00001:9999"
        frame = self.frame(self.rng.uniform(0.0, self.days))
        replacement = None
        if about is not None and not isinstance(about, Amendment) and self.chance(0.6):
            changes = {} if self.chance(0.5) else {"at": frame["at"]}
            replacement = replace(about, id=frame["id"], **changes)
            if self.chance(0.2):
                kinds = [kind for kind in KINDS if kind and kind != "amendment"]
                other = KINDS[self.rng.choice(kinds)]
                replacement = other(**frame, **self.body(other))
        self.records.append(Amendment(**frame, supersedes=target, replacement=replacement))


_FRAME = {"id", "at", "recorded_at", "system"}


def _bounds(owner: type, name: str) -> tuple[float, float] | None:
    field = next(f for f in fields(owner) if f.name == name)
    if "low" not in field.metadata:
        return None
    return field.metadata["low"], field.metadata["high"]
