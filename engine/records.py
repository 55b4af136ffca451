"""The events of the log: immutable facts, one class a kind.

The parts stand in `record_base` (what every event carries), `record_setup` (the set-up) and
`incident_record` (an overdose as it goes); this module names all of them, so that every kind is
known once it is imported.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from engine.log.incident_record import Incident, IncidentEvent
from engine.log.record_base import (
    EARLIEST_YEAR,
    KINDS,
    LATEST_YEAR,
    SCHEMA_VERSION,
    Record,
    number,
    text,
)
from engine.log.record_care import (
    Emptied,
    JobChoice,
    JobDone,
    Meter,
    MeterCheck,
    PackOpened,
    SupplyItem,
    SupplyStock,
    VesselEmptied,
)
from engine.log.record_setup import Delivery, HazardBand, SecondSource, Setup

__all__ = [
    "EARLIEST_YEAR",
    "KINDS",
    "LATEST_YEAR",
    "SCHEMA_VERSION",
    "Delivery",
    "Emptied",
    "HazardBand",
    "Incident",
    "IncidentEvent",
    "JobChoice",
    "JobDone",
    "Meter",
    "MeterCheck",
    "PackOpened",
    "Record",
    "SecondSource",
    "Setup",
    "SupplyItem",
    "SupplyStock",
    "VesselEmptied",
]


class Container(StrEnum):
    """A place that water or powder goes into."""

    FRESH_WATER = "fresh_water"
    LIME = "lime"
    VESSEL = "vessel"


class StrengthMethod(StrEnum):
    """How the strength of limewater was found."""

    CONDUCTIVITY = "conductivity"
    DILUTION = "dilution"
    TITRATION = "titration"


class ProcedureEvent(StrEnum):
    """What happened in a run of a guided procedure."""

    STARTED = "started"
    STEP_DONE = "step_done"
    FINISHED = "finished"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One value of a water test: canonical, and as the keeper typed it."""

    parameter: str = text(30)  # a code of engine.vocabulary.PARAMETERS
    value: float = number(-1_000.0, 1_000_000.0)  # in the parameter's canonical unit
    typed: str = text(40)
    typed_unit: str = text(30)
    confirmed: bool = False  # the keeper kept it although the app asked


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterTest(Record):
    """Readings taken of the tank water at one time."""

    kind: ClassVar[str] = "water_test"

    readings: tuple[Reading, ...]
    tester: str = text(60, default="")
    reagent_lot: str = text(60, default="")
    # "table": read from the keeper's own spreadsheet; `recorded_at` then is `at`, so that the same
    # row is the same record on every phone.
    source: str = text(20, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class LimewaterStrength(Record):
    """A strength check of the limewater that reaches the sump."""

    kind: ClassVar[str] = "limewater_strength"

    fraction_of_saturation: float = number(0.0, 1.2)
    method: StrengthMethod
    # What was read, where the app worked out the share from it.
    reading_mS_per_cm: float | None = number(0.0, 30.0, default=None)
    own_saturated_mS_per_cm: float | None = number(0.5, 30.0, default=None)
    diluted_total_alkalinity_meq_per_L: float | None = number(0.0, 5.0, default=None)
    titration_acid_mL: float | None = number(0.0, 100.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Refill(Record):
    """Fresh water put into a container; to the mark, its volume is what was used since."""

    kind: ClassVar[str] = "refill"

    volume_L: float = number(0.0, 200_000.0)
    container: Container = Container.FRESH_WATER
    to_mark: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Recharge(Record):
    """Powder put into the stirred vessel or the lime container."""

    kind: ClassVar[str] = "recharge"

    powder_g: float = number(0.0, 100_000.0)
    container: Container = Container.VESSEL
    # Water that it was mixed into, for a lime container that is not full to its size.
    water_L: float | None = number(0.05, 50_000.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpCheck(Record):
    """What the pump delivered into a cylinder against what its setting promised."""

    kind: ClassVar[str] = "pump_check"

    expected_mL: float = number(0.1, 100_000.0)
    measured_mL: tuple[float, ...]  # one entry per run, each 0 to 100,000 mL


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliverySetting(Record):
    """Limewater that the pump is set to give from now on, or that the top-off takes along.

    Where a top-off runs through the vessel for part of the day, beside it stands the evaporation
    that the part was reckoned with: the part stays, its litres follow evaporation.
    """

    kind: ClassVar[str] = "delivery_setting"

    limewater_L_per_day: float = number(0.0, 20_000.0)
    top_off_L_per_day: float | None = number(0.001, 20_000.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondSourceSetting(Record):
    """Alkalinity that the second source is set to give from now on.

    Beside it stands what the keeper set and what it was reckoned with: a two-part's millilitres
    and strength, or a reactor's flow, its water's alkalinity and the tank's at that time.
    """

    kind: ClassVar[str] = "second_source_setting"

    alkalinity_meq_per_day: float = number(0.0, 1_000_000.0)
    two_part_mL_per_day: float | None = number(0.0, 1_000_000.0, default=None)  # of that part
    two_part_meq_per_mL: float | None = number(0.01, 10.0, default=None)
    flow_L_per_day: float | None = number(0.0, 20_000.0, default=None)
    effluent_meq_per_L: float | None = number(1.0, 60.0, default=None)
    tank_total_alkalinity_meq_per_L: float | None = number(0.5, 20.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterChange(Record):
    """Salt water exchanged."""

    kind: ClassVar[str] = "water_change"

    volume_L: float = number(0.0, 200_000.0)
    new_total_alkalinity_meq_per_L: float | None = number(0.5, 8.0, default=None)
    new_calcium_mg_per_L: float | None = number(50.0, 1_500.0, default=None)
    new_magnesium_mg_per_L: float | None = number(100.0, 3_000.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition(Record):
    """A one-off addition: what it brought in all, and the weighed salt that it came from.

    Calcium and magnesium left None are those of `salt_g` of pure `salt`.
    """

    kind: ClassVar[str] = "addition"

    alkalinity_meq: float = number(0.0, 1_000_000.0)
    salt: str = text(40, default="")
    salt_g: float | None = number(0.0, 100_000.0, default=None)
    calcium_mg: float | None = number(0.0, 100_000_000.0, default=None)
    magnesium_mg: float | None = number(0.0, 100_000_000.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class PowderStock(Record):
    """Powder on the shelf: a purchase adds, a count replaces."""

    kind: ClassVar[str] = "powder_stock"

    powder_g: float = number(0.0, 1_000_000.0)
    counted: bool = False
    pack_g: float | None = number(1.0, 100_000.0, default=None)  # what one pack holds
    price: float | None = number(0.0, 1_000_000.0, default=None)  # of all of it, own currency


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcedureRun(Record):
    """One moment in a run of a guided procedure; the newest one tells where to resume."""

    kind: ClassVar[str] = "procedure_run"

    run: str = text(80)
    procedure: str = text(40)
    event: ProcedureEvent
    step: str = text(40, default="")  # the step that was done; empty for the start
    answer: str = text(200, default="")
    # Of the start: how limewater was delivered, and the numbers that the run keeps to.
    delivery: str = text(40, default="")
    facts: str = text(1000, default="")
    flow: str = text(3, default="")  # "off" or "on": what the step did to the limewater


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening(Record):
    """Something that changes how the log must be read: a cover, a lamp, a power cut."""

    kind: ClassVar[str] = "event"

    what: str = text(60)
    detail: str = text(60, default="")  # which way: a cover put "on" or taken "off"


@dataclass(frozen=True, slots=True, kw_only=True)
class Note(Record):
    """A remark; its text is the record's note."""

    kind: ClassVar[str] = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Amendment(Record):
    """Supersedes a record by its id: with a replacement, or withdraws it when there is none."""

    kind: ClassVar[str] = "amendment"

    supersedes: str = text(80)
    replacement: Record | None = None
