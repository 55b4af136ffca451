"""The events of the log: immutable facts, one class a kind.

Field names here are the names on disk and in scenario files. Numbers are floats whose names carry
the unit. A range in the metadata is what can exist at all; whether a reading is *plausible* is
asked at entry (engine/plausibility.py), never here, so that an accident can be recorded.
"""

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any, ClassVar

SCHEMA_VERSION = 1
# Years that a date of a keeper or of a phone can have.
EARLIEST_YEAR = 1990
LATEST_YEAR = 2199


class Delivery(StrEnum):
    """How limewater reaches the sump."""

    PUMP_VESSEL = "pump_vessel"  # metering pump through a stirred vessel
    PUMP_CONTAINER = "pump_container"  # metering pump from a lime container
    TOP_OFF_VESSEL = "top_off_vessel"  # the automatic top-off runs through the stirred vessel
    TOP_OFF_CONTAINER = "top_off_container"  # lime in the top-off container
    DRIP = "drip"  # a hung container, filled for one night


class SecondSource(StrEnum):
    """What supplies the rest."""

    NONE = "none"
    TWO_PART = "two_part"
    REACTOR = "reactor"


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


def number(low: float, high: float, **options: Any) -> Any:
    """Declare a float that is finite and between two bounds, in the unit its name carries."""
    return field(metadata={"low": low, "high": high}, **options)


def text(longest: int, **options: Any) -> Any:
    """Declare a text of at most so many characters."""
    return field(metadata={"longest": longest}, **options)


KINDS: dict[str, type["Record"]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """What every event carries."""

    kind: ClassVar[str] = ""

    id: str = text(80)  # device:sequence
    at: datetime  # when it happened, with its zone
    recorded_at: datetime  # when it was entered, with its zone
    system: str = text(80)
    note: str = text(2000, default="")
    typed: str = text(300, default="")  # amounts as typed, with their units: "volume_L: 5 US gal"

    def __init_subclass__(cls, **options: Any) -> None:
        # A slots dataclass is created twice; the second, final class wins.
        super(Record, cls).__init_subclass__(**options)
        KINDS[cls.kind] = cls


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup(Record):
    """The whole set-up of a system from this moment on; the newest one holds.

    A limit or figure left None is *unset*: what needs it is refused with that reason.
    """

    kind: ClassVar[str] = "setup"

    name: str = text(60)
    net_volume_L: float = number(1.0, 200_000.0)
    net_volume_error_share: float = number(0.01, 0.5, default=0.10)
    tank_temperature_degC: float = number(10.0, 35.0, default=25.0)
    delivery: Delivery
    lime_temperature_degC: float = number(0.0, 40.0, default=24.0)  # where the lime dissolves
    vessel_L: float | None = number(0.05, 5_000.0, default=None)
    lime_container_L: float | None = number(0.05, 50_000.0, default=None)
    fresh_water_container_L: float | None = number(0.1, 200_000.0, default=None)
    # One container feeds the lime pump and the plain top-off: its fall is the whole evaporation.
    shared_container: bool = False
    drain_back_L: float | None = number(0.0, 20_000.0, default=None)
    stirrer_every_h: float | None = number(0.05, 48.0, default=None)
    salt_water_ready_L: float = number(0.0, 200_000.0, default=0.0)
    pump_L_per_h: float | None = number(0.001, 2_000.0, default=None)
    pump_step_mL: float = number(0.01, 1_000.0, default=1.0)
    doses_per_day: int = number(1, 288, default=24)
    evaporation_low_L_per_day: float | None = number(0.001, 20_000.0, default=None)
    evaporation_high_L_per_day: float | None = number(0.001, 20_000.0, default=None)
    target_total_alkalinity_meq_per_L: float = number(1.5, 5.0)
    band_low_total_alkalinity_meq_per_L: float = number(1.0, 5.0)
    band_high_total_alkalinity_meq_per_L: float = number(1.5, 6.0)
    floor_total_alkalinity_meq_per_L: float = number(1.0, 5.0)
    second_source: SecondSource = SecondSource.NONE
    two_part_meq_per_mL: float | None = number(0.01, 10.0, default=None)
    reactor_effluent_meq_per_L: float | None = number(1.0, 60.0, default=None)
    # Limits the keeper confirmed. Unset refuses.
    keeper_cap_L_per_day: float | None = number(0.0, 20_000.0, default=None)
    evaporation_share: float | None = number(0.1, 1.0, default=None)
    net_rise_meq_per_L_per_day: float | None = number(0.0, 0.36, default=None)
    stopped_rise_meq_per_L_per_day: float | None = number(0.0, 2.0, default=None)
    entered_demand_meq_per_L_per_day: float | None = number(0.0, 2.0, default=None)
    powder_assay: float = number(0.7, 1.0, default=0.92)
    # What follows sharpens the numbers; None takes the default that the engine states.
    alkalinity_test_error_meq_per_L: float | None = number(0.005, 0.5, default=None)  # one sd
    calcium_test_error_mg_per_L: float | None = number(1.0, 60.0, default=None)  # one sd
    top_off_alkalinity_meq_per_L: float = number(0.0, 8.0, default=0.0)
    dose_rise_pH: float | None = number(0.01, 0.1, default=None)
    ceiling_pH: float | None = number(8.0, 8.5, default=None)
    gas_exchange_per_day: float | None = number(0.1, 500.0, default=None)
    lights_on_hours: float | None = number(0.0, 24.0, default=None)  # local time of day
    lights_off_hours: float | None = number(0.0, 24.0, default=None)
    doses_at_night: bool = False  # weighted to the dark hours
    reactor_flow_L_per_day: float | None = number(0.1, 20_000.0, default=None)
    skimmate_L_per_day: float = number(0.0, 1_000.0, default=0.0)  # wet skimmate and splashes
    sump_room_L: float | None = number(0.0, 20_000.0, default=None)  # above the run level
    # Months, 1 to 12, that the keeper knows to evaporate most and least.
    evaporation_high_month: int | None = number(1, 12, default=None)
    evaporation_low_month: int | None = number(1, 12, default=None)
    phone_vet: str = text(40, default="")
    phone_poison_centre: str = text(40, default="")
    phone_emergency: str = text(40, default="")


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
    """Limewater that the pump is set to give from now on."""

    kind: ClassVar[str] = "delivery_setting"

    limewater_L_per_day: float = number(0.0, 20_000.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondSourceSetting(Record):
    """Alkalinity that the second source is set to give from now on."""

    kind: ClassVar[str] = "second_source_setting"

    alkalinity_meq_per_day: float = number(0.0, 1_000_000.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterChange(Record):
    """Salt water exchanged."""

    kind: ClassVar[str] = "water_change"

    volume_L: float = number(0.0, 200_000.0)
    new_total_alkalinity_meq_per_L: float | None = number(0.5, 8.0, default=None)
    new_calcium_mg_per_L: float | None = number(50.0, 1_500.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition(Record):
    """A one-off addition of alkalinity, and the weighed salt that it came from."""

    kind: ClassVar[str] = "addition"

    alkalinity_meq: float = number(0.0, 1_000_000.0)
    salt: str = text(40, default="")
    salt_g: float | None = number(0.0, 100_000.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class PowderStock(Record):
    """Powder on the shelf: a purchase adds, a count replaces."""

    kind: ClassVar[str] = "powder_stock"

    powder_g: float = number(0.0, 1_000_000.0)
    counted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcedureRun(Record):
    """One moment in a run of a guided procedure; the newest one tells where to resume."""

    kind: ClassVar[str] = "procedure_run"

    run: str = text(80)
    procedure: str = text(40)
    event: ProcedureEvent
    step: str = text(40, default="")  # the step that was done; empty for the start
    answer: str = text(200, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening(Record):
    """Something that changes how the log must be read: a cover, a lamp, a power cut."""

    kind: ClassVar[str] = "event"

    what: str = text(60)


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
