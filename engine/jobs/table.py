"""Care that comes back after a time: how often, for which way of delivery, and what shows it done.

Intervals are common practice, no source: the earlier end is when it is due, the later when overdue.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from engine.demand.facts import BY_PUMP, THROUGH_VESSEL, Facts
from engine.jobs.codes import Job
from engine.records import (
    Delivery,
    Emptied,
    Meter,
    MeterCheck,
    PackOpened,
    PumpCheck,
    Record,
    Setup,
    SupplyItem,
    SupplyStock,
    VesselEmptied,
)

IN_CONTAINER: Final = (Delivery.PUMP_CONTAINER, Delivery.TOP_OFF_CONTAINER, Delivery.DRIP)
_ALL: Final = tuple(Delivery)


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """One row: a job, its interval in days, and where it applies."""

    job: Job
    days: tuple[float, float]
    deliveries: tuple[Delivery, ...] = _ALL
    procedures: tuple[str, ...] = ()  # a finished run counts as done
    shown_by: Callable[[Record], bool] = lambda _record: False  # so does such a record
    when: Callable[[Facts, Setup], bool] = lambda _facts, _setup: True
    meter: Meter | None = None  # a check of it counts as done; found off, it is due at once


def _reads_pH(facts: Facts, _setup: Setup) -> bool:
    return facts.last_sample("pH_nbs") is not None


def _has_ready_water(_facts: Facts, setup: Setup) -> bool:
    return setup.salt_water_ready_L > 0.0


def _has_open_pack(facts: Facts, _setup: Setup) -> bool:
    return facts.last(PackOpened) is not None


def checks(care: Care, record: Record) -> bool:
    """Tell whether a record is a check of the meter that some care is about."""
    return isinstance(record, MeterCheck) and record.meter is care.meter


def _empties(record: Record, what: Emptied) -> bool:
    return isinstance(record, VesselEmptied) and record.container is what


def _new_alkalinity_kit(record: Record) -> bool:
    if not isinstance(record, SupplyStock) or record.counted:
        return False
    return record.item is SupplyItem.ALKALINITY_KIT


CARE: Final = (
    Care(
        job=Job.PUMP_CHECK,
        days=(30.0, 37.0),
        deliveries=BY_PUMP,
        procedures=("pump_check", "tube_change"),
        shown_by=lambda record: isinstance(record, PumpCheck),
    ),
    Care(job=Job.PUMP_TUBE, days=(182.0, 274.0), deliveries=BY_PUMP, procedures=("tube_change",)),
    Care(
        job=Job.VESSEL_CLEAN,
        days=(90.0, 105.0),
        deliveries=THROUGH_VESSEL,
        procedures=("clean_scale", "new_vessel"),
        shown_by=lambda record: _empties(record, Emptied.VESSEL),
    ),
    Care(
        job=Job.RESERVOIR_CLEAN,
        days=(28.0, 56.0),
        deliveries=IN_CONTAINER,
        procedures=("clean_scale",),
        shown_by=lambda record: _empties(record, Emptied.LIME),
    ),
    Care(job=Job.OUTLET_LOOK, days=(7.0, 9.0), procedures=("safety_check", "recharge_vessel")),
    Care(job=Job.OUTLET_TIP, days=(30.0, 37.0), procedures=("clean_scale",)),
    Care(
        job=Job.CHECK_VALVE_LOOK,
        days=(30.0, 37.0),
        deliveries=THROUGH_VESSEL,
        procedures=("safety_check", "clean_scale"),
    ),
    Care(job=Job.CHECK_VALVE_NEW, days=(182.0, 210.0), deliveries=THROUGH_VESSEL),
    Care(job=Job.TOP_OFF_LOOK, days=(7.0, 9.0), procedures=("safety_check",)),
    Care(job=Job.TOP_OFF_CLEAN, days=(30.0, 37.0)),
    Care(job=Job.PUMPS_LOOK, days=(30.0, 37.0)),
    Care(job=Job.PUMPS_DESCALE, days=(122.0, 182.0)),
    Care(job=Job.PH_CALIBRATE, days=(30.0, 37.0), when=_reads_pH, meter=Meter.PH_PROBE),
    Care(job=Job.PH_PROBE_NEW, days=(365.0, 547.0), when=_reads_pH),
    Care(job=Job.METERS_CHECK, days=(30.0, 37.0), meter=Meter.CONDUCTIVITY),
    Care(job=Job.REAGENT_CHECK, days=(30.0, 37.0), meter=Meter.ALKALINITY_KIT),
    Care(job=Job.REAGENT_NEW, days=(182.0, 365.0), shown_by=_new_alkalinity_kit),
    Care(job=Job.RO_FILTERS, days=(182.0, 210.0)),
    Care(
        job=Job.POWDER_PACK,
        days=(365.0, 395.0),
        shown_by=lambda record: isinstance(record, PackOpened),
        when=_has_open_pack,
    ),
    Care(job=Job.READY_WATER, days=(28.0, 35.0), when=_has_ready_water),
)
