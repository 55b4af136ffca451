"""A year of a tank whose keeper does what the app says, and of one who never changes a setting.

The tank knows what the keeper does not: its true volume, how evaporation goes with the season,
corals that grow, a pump tube that wears, limewater that weakens towards its recharge, tests that
scatter. The keeper only sees readings.
"""

from dataclasses import dataclass, field, replace
from datetime import timedelta
from math import cos, pi
from random import Random

from engine.chemistry.gas_exchange import Air
from engine.chemistry.steady_state import steady_state
from engine.decision import Decision
from engine.errors import EngineError
from engine.limits import DosePlan
from engine.reasons import Code
from engine.records import Delivery, SecondSource
from engine.seawater import density_kg_per_m3
from engine.units import to_float
from engine.vocabulary import MEQ_PER_DKH
from tests.support.keeper_log import NOW, KeeperLog, all_reasons, dkh

DAYS = 365
TARGET_DKH = 8.3
SATURATED = 40.897  # meq/L at 24 degC
AFTERNOON_PH = 0.08  # above the day's mean
TEST_DAYS = frozenset((0, 2, 4))  # of the week


@dataclass(frozen=True, kw_only=True)
class Scene:
    """What kind of tank it is, and what was set before the app was asked."""

    demand_first_dKH: float = 0.9
    demand_last_dKH: float = 1.8
    evaporation_L: float = 9.0  # mean of the year
    season_share: float = 0.25
    room_pCO2_uatm: float = 750.0
    room_season_uatm: float = 0.0  # more in January, less in July
    exchange_per_day: float = 25.0
    lime_first_L: float = 3.0
    stopped_rise_dKH: float = 3.0
    vessel_L: float = 8.0
    pH_days: int = 7  # a reading every so many days
    second_source: SecondSource = SecondSource.TWO_PART

    @property
    def evaporation_range_L(self) -> tuple[float, float]:
        """What the keeper enters at the start."""
        mean, swing = self.evaporation_L, self.evaporation_L * self.season_share
        return mean - swing - 0.25, mean + swing + 0.25


MILD = Scene()
# Begins at the pH ceiling in still air, takes much, and little evaporates in July. Who keeps such a
# tank has confirmed a larger rise than the usual 3 dKH a day for the day that corals stop feeding.
HARD = Scene(
    demand_first_dKH=1.7,
    demand_last_dKH=2.6,
    season_share=0.45,
    room_pCO2_uatm=800.0,
    room_season_uatm=100.0,
    exchange_per_day=9.0,
    lime_first_L=5.25,
    stopped_rise_dKH=4.0,
    vessel_L=20.0,
    pH_days=1,
)
# Begins above the pH that stops limewater: nothing can hold such a tank for the first days.
STOPPED = replace(HARD, lime_first_L=5.5)
# No second source: limewater alone cannot do it.
ALONE = replace(HARD, second_source=SecondSource.NONE)
_WILL_NOT_HOLD = frozenset(
    (
        Code.SHORT_OF_ALKALINITY,
        Code.SHORT_BELOW_BAND,
        Code.SHORT_PASSES_BAND,
        Code.STAYS_BELOW_BAND,
        Code.HELD_SHORT,
        Code.HELD_SHORT_BELOW_BAND,
        Code.SECOND_HELD_NET_RISE,
        Code.SECOND_HELD_STOPPED_RISE,
        Code.STOP_SAFE_BELOW_BAND,
        Code.STOP_SAFE_BELOW_FLOOR,
    )
)


@dataclass(kw_only=True)
class Tank:
    """What is true."""

    rng: Random
    scene: Scene = MILD
    believed_L: float = 450.0
    volume_L: float = 0.0
    alkalinity_dKH: float = TARGET_DKH
    salinity: float = 35.0
    surplus_L: float = 0.0  # above the run level
    tube: float = 1.0  # delivered of set
    charge_age: float = 0.0

    def __post_init__(self) -> None:
        self.volume_L = self.believed_L * (1.0 + self.rng.gauss(0.0, 0.04))

    def evaporation_L(self, day: float) -> float:
        """Most in January, least in July, and weather."""
        season = 1.0 + self.scene.season_share * cos(2.0 * pi * day / 365.0)
        return self.scene.evaporation_L * season * (1.0 + self.rng.gauss(0.0, 0.08))

    def air(self, day: float) -> Air:
        """Windows are shut in January."""
        swing = self.scene.room_season_uatm * cos(2.0 * pi * day / 365.0)
        return Air(
            pCO2_uatm=self.scene.room_pCO2_uatm + swing,
            exchange_per_day=self.scene.exchange_per_day,
        )

    def demand_dKH(self, day: float) -> float:
        """Corals grow, and take less of less."""
        first, last = self.scene.demand_first_dKH, self.scene.demand_last_dKH
        grown = first + (last - first) * day / 365.0
        return max(0.0, grown * (1.0 + 0.15 * (self.alkalinity_dKH - TARGET_DKH)))

    @property
    def strength(self) -> float:
        """Share of saturation: full after a recharge, weaker from the twelfth day."""
        return 0.98 - 0.02 * max(0.0, self.charge_age - 12.0)

    def live(self, day: int, lime_set_L: float, second_meq: float) -> dict[str, float]:
        """Pass a day and return what it was like."""
        lime_L = lime_set_L * self.tube
        meq = lime_L * SATURATED * self.strength + second_meq
        demand = self.demand_dKH(day)
        given = meq / self.volume_L / MEQ_PER_DKH
        self.alkalinity_dKH += given - demand
        evaporation = self.evaporation_L(day)
        water = lime_L + second_meq / 1000.0  # 2 meq/mL in two parts
        self.surplus_L = max(0.0, self.surplus_L + water - evaporation)
        salt_g = second_meq * 0.058443
        self.salinity += salt_g / self.volume_L / 1.0233
        self.tube -= 0.0005
        self.charge_age += 1.0
        return {
            "pH": self.highest_pH(day, given * MEQ_PER_DKH, second_meq / self.volume_L),
            "evaporation_L": evaporation,
            "lime_L": lime_L,
            "given_dKH": given,
            "salinity": self.shown_salinity,
        }

    @property
    def shown_salinity(self) -> float:
        return self.salinity * self.volume_L / (self.volume_L + self.surplus_L)

    def highest_pH(self, day: float, given_meq_per_L: float, second_meq_per_L: float) -> float:
        """The day's highest pH: at rest with the room, and the afternoon on top."""
        kg_per_L = density_kg_per_m3(35.0, 25.0) / 1000.0
        try:
            state = steady_state(
                total_alkalinity_umol_per_kg=dkh(self.alkalinity_dKH) * 1000.0 / kg_per_L,
                salinity=35.0,
                temperature_degC=25.0,
                air=self.air(day),
                lime_meq_per_L_per_day=max(0.0, given_meq_per_L - second_meq_per_L),
                other_alkalinity_meq_per_L_per_day=second_meq_per_L,
                other_dic_mmol_per_L_per_day=second_meq_per_L,
            )
        except EngineError:
            return 9.0
        return state.pH_nbs + AFTERNOON_PH

    def change_water(self, litres: float, salinity: float, alkalinity_dKH: float) -> None:
        share = litres / self.volume_L
        self.surplus_L = 0.0
        self.salinity += share * (salinity - self.shown_salinity)
        self.alkalinity_dKH += share * (alkalinity_dKH - self.alkalinity_dKH)


@dataclass(kw_only=True)
class Year:
    """What came of it."""

    alkalinity_dKH: list[float] = field(default_factory=list)
    salinity: list[float] = field(default_factory=list)
    pH: list[float] = field(default_factory=list)
    over_caps: int = 0
    decided: int = 0
    planned: int = 0
    changes: int = 0
    warned: list[bool] = field(default_factory=list)  # whether the app said that it will not hold

    @property
    def is_within(self) -> list[bool]:
        """Tell of each day whether alkalinity was within 0.7 dKH of the target."""
        return [abs(value - TARGET_DKH) <= 0.7 for value in self.alkalinity_dKH]

    @property
    def within_share(self) -> float:
        """Share of the days within 0.7 dKH of the target."""
        return sum(self.is_within) / len(self.is_within)


def live_a_year(seed: int, *, follows: bool, scene: Scene = MILD) -> Year:
    """Return a year with a keeper who follows the app, or leaves every setting as it was."""
    rng = Random(seed)
    tank = Tank(rng=rng, scene=scene)
    log = _start(tank)
    lime_set, second = scene.lime_first_L, 0.0
    log.pump(DAYS + 1.0, lime_set)
    if scene.second_source is not SecondSource.NONE:
        second = dkh(scene.demand_first_dKH) * tank.believed_L - lime_set * SATURATED
        log.second(DAYS + 1.0, second)
    found = Year()
    stopped = warned = False
    for day in range(DAYS):
        ago = float(DAYS - day)
        lived = tank.live(day, lime_set, second)
        found.alkalinity_dKH.append(tank.alkalinity_dKH)
        found.salinity.append(lived["salinity"])
        found.pH.append(lived["pH"])
        found.warned.append(warned)
        _record(log, tank, rng, day, ago - 0.6, lived)
        if day % 7 not in TEST_DAYS and not stopped:
            continue
        log.test(ago - 0.7, tank.alkalinity_dKH + rng.gauss(0.0, 0.25))
        if not follows:
            continue
        decision = _decide(log, ago - 0.75)
        found.decided += 1
        stopped = not isinstance(decision.plan, DosePlan)  # then looked at again each day
        found.planned += not stopped
        warned = stopped or _says_so(decision)
        before = lime_set, second
        lime_set, second = _obey(decision, log, tank, ago - 0.8, before)
        found.changes += before != (lime_set, second)
        found.over_caps += _is_over(decision, lime_set)
    return found


def _start(tank: Tank) -> KeeperLog:
    log = KeeperLog()
    low, high = tank.scene.evaporation_range_L
    return log.setup(
        DAYS + 2.0,
        net_volume_L=tank.believed_L,
        delivery=Delivery.PUMP_VESSEL,
        vessel_L=tank.scene.vessel_L,
        shared_container=True,
        second_source=tank.scene.second_source,
        two_part_meq_per_mL=2.0,
        evaporation_low_L_per_day=low,
        evaporation_high_L_per_day=high,
        keeper_cap_L_per_day=10.0,
        stopped_rise_meq_per_L_per_day=dkh(tank.scene.stopped_rise_dKH),
        entered_demand_meq_per_L_per_day=dkh(tank.scene.demand_first_dKH),
    )


def _record(  # noqa: PLR0917
    log: KeeperLog, tank: Tank, rng: Random, day: int, ago: float, lived: dict[str, float]
) -> None:
    """Write down what a keeper writes down."""
    if day % 3 == 0:
        log.refill(ago, 3.0 * lived["evaporation_L"] * (1.0 + rng.gauss(0.0, 0.03)))
    if day % 7 == 1:
        log.read(ago, salinity=tank.shown_salinity + rng.gauss(0.0, 0.2))
    if day % tank.scene.pH_days == 1 % tank.scene.pH_days:
        log.read(ago, pH_nbs=lived["pH"] + rng.gauss(0.0, 0.04))
    if day % 7 == 6:
        log.strength(ago, max(0.0, tank.strength + rng.gauss(0.0, 0.03)))
        litres = 0.06 * tank.believed_L
        salinity = 35.0 - 0.7 * (tank.shown_salinity - 35.0) / 0.06
        mixed = min(38.0, max(28.0, salinity))
        tank.change_water(litres, mixed, 8.0)
        log.water_change(ago, litres, dkh(8.0))
    if day % 14 == 13:
        tank.charge_age = 0.0
        log.recharge(ago, 160.0)
    if day % 30 == 29:
        runs = [100.0 * tank.tube * (1.0 + rng.gauss(0.0, 0.01)) for _ in range(3)]
        log.pump_check(ago, 100.0, *runs)


def _decide(log: KeeperLog, ago: float) -> Decision:
    then = KeeperLog(NOW - timedelta(days=ago))
    then.records = log.records
    return then.decide()


def _obey(
    decision: Decision,
    log: KeeperLog,
    tank: Tank,
    ago: float,
    set_now: tuple[float, float],
) -> tuple[float, float]:
    """Do what the app says, and write it down."""
    change = decision.change
    lime_set, second = set_now
    if change.code is Code.NEW_TUBE_FIRST:
        tank.tube = 1.0
        log.pump_check(ago, 100.0, 100.0)
    if change.code is Code.RECHARGE_FIRST:
        tank.charge_age = 0.0
        log.recharge(ago, 160.0)
    if change.setting is not None and to_float(change.setting, "L/day") != lime_set:
        lime_set = to_float(change.setting, "L/day")
        log.pump(ago, lime_set)
    if change.second_source is not None and to_float(change.second_source, "meq/day") != second:
        second = to_float(change.second_source, "meq/day")
        log.second(ago, second)
    return lime_set, second


def _says_so(decision: Decision) -> bool:
    return any(each.code in _WILL_NOT_HOLD for each in all_reasons(decision))


def _is_over(decision: Decision, lime_set_L: float) -> bool:
    """Tell whether what is now given, by the keeper's own pump check, is above a cap."""
    plan = decision.plan
    if not isinstance(plan, DosePlan) or decision.limewater is None:
        return False
    share = decision.limewater.pump_share
    given = lime_set_L * (1.0 if share is None else share)
    return given > plan.caps[0].L_per_day + 1e-9
