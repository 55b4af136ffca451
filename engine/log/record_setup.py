"""The set-up of a system: what feeds what, targets, limits, equipment; one record holds it all."""

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from engine.log.record_base import Record, number, text


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


class HazardBand(StrEnum):
    """What no single fault may reach: the usual one, or the milder one for who wants more room."""

    STOP_LIME = "stop_lime"
    ACT_NOW = "act_now"


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
    # What ends a pump that never stops by itself; None: nothing is built in.
    pump_cut_off_hours: float | None = number(0.01, 48.0, default=None)  # longest single run
    top_off_cut_off_hours: float | None = number(0.01, 48.0, default=None)
    top_off_L_per_h: float | None = number(0.001, 2_000.0, default=None)
    siphon_break: bool = False  # an air gap above every water level
    unattended_hours: float = number(0.1, 240.0, default=24.0)  # how long nobody looks
    hazard_band: HazardBand = HazardBand.ACT_NOW
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
    # Powder: what a recharge is to last, how long a purchase takes, what is kept in hand.
    powder_days: float | None = number(1.0, 90.0, default=None)
    powder_lead_days: float | None = number(0.0, 120.0, default=None)
    powder_margin_days: float | None = number(0.0, 120.0, default=None)
    scoop_g: float | None = number(0.2, 200.0, default=None)  # the keeper's own, level, weighed
    currency: str = text(8, default="")
    phone_vet: str = text(40, default="")
    phone_poison_centre: str = text(40, default="")
    phone_emergency: str = text(40, default="")
