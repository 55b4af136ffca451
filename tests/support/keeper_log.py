"""Builds the log of an invented keeper for tests: times in days before a fixed moment."""

from datetime import UTC, datetime, timedelta

from engine.decision import Decision, decide
from engine.reasons import Reason
from engine.records import (
    Addition,
    Container,
    Delivery,
    DeliverySetting,
    Emptied,
    Happening,
    Incident,
    IncidentEvent,
    LimewaterStrength,
    PowderStock,
    PumpCheck,
    Reading,
    Recharge,
    Record,
    Refill,
    SecondSourceSetting,
    Setup,
    StrengthMethod,
    VesselEmptied,
    WaterChange,
    WaterTest,
)
from engine.vocabulary import MEQ_PER_DKH

NOW = datetime(2027, 2, 15, 8, 0, tzinfo=UTC)
SYSTEM = "kettle"


def dkh(value: float) -> float:
    """Return dKH as meq/L."""
    return value * MEQ_PER_DKH


class KeeperLog:
    """Records of one system, added by how many days ago they happened."""

    def __init__(self, now: datetime = NOW, system: str = SYSTEM) -> None:
        self.now = now
        self.system = system
        self.records: list[Record] = []

    def _base(self, days_ago: float) -> dict:
        at = self.now - timedelta(days=days_ago)
        number = len(self.records) + 1
        return {"id": f"{self.system}:{number}", "at": at, "recorded_at": at, "system": self.system}

    def add(self, record_class, days_ago: float, **fields) -> "KeeperLog":
        self.records.append(record_class(**self._base(days_ago), **fields))
        return self

    def setup(self, days_ago: float = 60.0, **changes) -> "KeeperLog":
        return self.add(Setup, days_ago, **{**KETTLE, **changes})

    def test(self, days_ago: float, alkalinity_dKH: float) -> "KeeperLog":
        return self.read(days_ago, total_alkalinity=dkh(alkalinity_dKH))

    def read(
        self, days_ago: float, *, lot: str = "", tester: str = "", **values: float
    ) -> "KeeperLog":
        readings = tuple(
            Reading(parameter=name, value=value, typed=f"{value:g}", typed_unit="")
            for name, value in values.items()
        )
        return self.add(WaterTest, days_ago, readings=readings, reagent_lot=lot, tester=tester)

    def pump(self, days_ago: float, limewater_L_per_day: float) -> "KeeperLog":
        return self.add(DeliverySetting, days_ago, limewater_L_per_day=limewater_L_per_day)

    def second(self, days_ago: float, meq_per_day: float) -> "KeeperLog":
        return self.add(SecondSourceSetting, days_ago, alkalinity_meq_per_day=meq_per_day)

    def pump_check(self, days_ago: float, expected: float, *measured: float) -> "KeeperLog":
        return self.add(PumpCheck, days_ago, expected_mL=expected, measured_mL=measured)

    def strength(
        self, days_ago: float, share: float, method=StrengthMethod.CONDUCTIVITY
    ) -> "KeeperLog":
        return self.add(LimewaterStrength, days_ago, fraction_of_saturation=share, method=method)

    def recharge(self, days_ago: float, grams: float, container=Container.VESSEL) -> "KeeperLog":
        return self.add(Recharge, days_ago, powder_g=grams, container=container)

    def add_emptied(self, days_ago: float, container: str = "vessel") -> "KeeperLog":
        return self.add(VesselEmptied, days_ago, container=Emptied(container))

    def refill(
        self, days_ago: float, litres: float, container=Container.FRESH_WATER, to_mark=True
    ) -> "KeeperLog":
        return self.add(Refill, days_ago, volume_L=litres, container=container, to_mark=to_mark)

    def water_change(self, days_ago: float, litres: float, new=None) -> "KeeperLog":
        return self.add(WaterChange, days_ago, volume_L=litres, new_total_alkalinity_meq_per_L=new)

    def addition(self, days_ago: float, meq: float) -> "KeeperLog":
        return self.add(Addition, days_ago, alkalinity_meq=meq)

    def happened(self, days_ago: float, what: str) -> "KeeperLog":
        return self.add(Happening, days_ago, what=what)

    def incident(
        self, days_ago: float, event: IncidentEvent = IncidentEvent.STARTED, **fields
    ) -> "KeeperLog":
        return self.add(Incident, days_ago, **{"run": "run-1", "event": event, **fields})

    def stock(self, days_ago: float, grams: float, *, counted: bool) -> "KeeperLog":
        return self.add(PowderStock, days_ago, powder_g=grams, counted=counted)

    def decide(self) -> Decision:
        return decide(self.records, system=self.system, now=self.now)


# An invented system: 450 litres, stirred vessel, metering pump.
KETTLE = {
    "name": "Kettle House",
    "net_volume_L": 450.0,
    "tank_temperature_degC": 25.0,
    "delivery": Delivery.PUMP_VESSEL,
    "lime_temperature_degC": 24.0,
    "vessel_L": 5.0,
    "fresh_water_container_L": 25.0,
    "shared_container": True,
    "pump_L_per_h": 3.0,
    "evaporation_low_L_per_day": 6.3,
    "evaporation_high_L_per_day": 7.5,
    "target_total_alkalinity_meq_per_L": dkh(8.3),
    "band_low_total_alkalinity_meq_per_L": dkh(7.5),
    "band_high_total_alkalinity_meq_per_L": dkh(9.0),
    "floor_total_alkalinity_meq_per_L": dkh(6.5),
    "keeper_cap_L_per_day": 8.0,
    "evaporation_share": 0.9,
    "net_rise_meq_per_L_per_day": dkh(0.3),
    "stopped_rise_meq_per_L_per_day": dkh(3.0),
    "powder_assay": 0.95,
}


def kettle(pump_L_per_day: float = 5.3, **setup) -> KeeperLog:
    """Return a steady system: eight tests at 8.3 dKH on an unchanged dose for three weeks."""
    log = KeeperLog().setup(**setup).pump(60.0, pump_L_per_day)
    for days_ago in (21.0, 18.0, 15.0, 12.0, 9.0, 6.0, 3.0, 0.5):
        log.test(days_ago, 8.3)
    return log


def all_reasons(decision: Decision) -> list[Reason]:
    """Return every reason that a decision gives, wherever it stands."""
    found: list[Reason] = [*decision.reasons, *decision.cautions, *decision.plan.reasons]
    for part in (
        decision.limewater,
        decision.evaporation,
        decision.demand,
        decision.need,
        decision.remainder,
        decision.setting,
        decision.stop_safe,
        decision.powder,
        decision.change,
    ):
        if isinstance(part, Reason):
            found.append(part)
        elif part is not None:
            found += part.reasons
    return found
