"""What is recorded about care: packs opened, vessels emptied, supplies, meters, jobs."""

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from engine.log.record_base import Record, number, text


class Emptied(StrEnum):
    """What was emptied of its bed."""

    VESSEL = "vessel"
    LIME = "lime"


class SupplyItem(StrEnum):
    """A second-source solution, or the kit of a test."""

    ALKALINITY_PART = "alkalinity_part"
    CALCIUM_PART = "calcium_part"
    ALKALINITY_KIT = "alkalinity_kit"
    CALCIUM_KIT = "calcium_kit"
    MAGNESIUM_KIT = "magnesium_kit"
    NITRATE_KIT = "nitrate_kit"
    PHOSPHATE_KIT = "phosphate_kit"


class Meter(StrEnum):
    """What is held against a buffer, a standard or a reference solution."""

    PH_PROBE = "ph_probe"
    CONDUCTIVITY = "conductivity_meter"
    ALKALINITY_KIT = "alkalinity_kit"


@dataclass(frozen=True, slots=True, kw_only=True)
class PackOpened(Record):
    """A pack of powder was opened."""

    kind: ClassVar[str] = "pack_opened"

    powder_g: float = number(0.0, 100_000.0)  # in it as it was opened


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselEmptied(Record):
    """The bed was taken out: what is charged next is all that there is."""

    kind: ClassVar[str] = "vessel_emptied"

    container: Emptied = Emptied.VESSEL


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyStock(Record):
    """A solution (mL) or a kit (tests) on the shelf: a purchase adds, a count replaces.

    Exactly one of the two amounts is given; which one follows from the item.
    """

    kind: ClassVar[str] = "supply_stock"

    item: SupplyItem
    solution_mL: float | None = number(0.0, 10_000_000.0, default=None)
    tests_count: float | None = number(0.0, 100_000.0, default=None)
    counted: bool = False
    good_for_days: float | None = number(0.0, 20_000.0, default=None)  # by the label, from `at`


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterCheck(Record):
    """How far a meter was off: above 0 it reads too high. Calibrated, it is off by 0 again.

    A pH probe is off in pH, the others by a share of what is measured; the other one is None.
    """

    kind: ClassVar[str] = "meter_check"

    meter: Meter
    off_pH: float | None = number(-10.0, 10.0, default=None)
    off_share: float | None = number(-1.0, 100.0, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobChoice(Record):
    """How the keeper wants a job from now on; the newest one of a job holds. Why is the note."""

    kind: ClassVar[str] = "job_choice"

    job: str = text(40)  # a code of engine.jobs.codes.Job
    interval_days: float | None = number(0.5, 2_000.0, default=None)  # None: the usual one
    snoozed_days: float | None = number(0.0, 400.0, default=None)  # from `at`
    off: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JobDone(Record):
    """A job was done that no other record shows."""

    kind: ClassVar[str] = "job_done"

    job: str = text(40)
