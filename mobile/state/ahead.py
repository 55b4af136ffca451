"""What follows from a decision: doses of the day, the year, the water, the causes of a drift.

Each part is worked out when first asked for, and once: a phone is slow, and most pages stay closed.
"""

from collections.abc import Callable, Sequence
from datetime import timedelta
from functools import cached_property
from typing import Final, TypeVar

from engine.decision import Decision
from engine.demand.facts import Facts, gather
from engine.diagnosis.codes import Diagnosis
from engine.diagnosis.drift import diagnose
from engine.errors import EngineError
from engine.jobs.forecasts import Ahead as Care
from engine.jobs.jobs import ahead_of
from engine.plan.schedule import DaySchedule, day_schedule
from engine.plan.season import Retune, Season, retune_within, year
from engine.plan.water_balance import WaterBalance, water_balance_as_set, water_balance_by_plan
from engine.reasons import Reason
from engine.records import Record
from mobile.state.boundary import caught

T = TypeVar("T")

RETUNE_TOLD: Final = timedelta(days=14)


class Ahead:
    """The parts that a page asks for; None where one could not be worked out.

    `failed` names the parts that were given up, when an engine that should have answered raised
    something that nobody foresaw.
    """

    def __init__(
        self,
        decision: Decision,
        records: Sequence[Record],
        system: str,
        failed: tuple[str, ...] = (),
    ) -> None:
        self._decision = decision
        self._records = records
        self._system = system
        self.failed = failed

    def prepare(self) -> "Ahead":
        """Work out what Today says, so that drawing it costs nothing."""
        _ = (self.diagnosis, self.water, self.retune)
        return self

    @cached_property
    def facts(self) -> Facts:
        """The log as the decision read it."""
        return gather(self._records, system=self._system, now=self._decision.now)

    @cached_property
    def diagnosis(self) -> Diagnosis | None:
        """What drifts, and why it may."""
        return self._tried("diagnosis", diagnose)

    @cached_property
    def water(self) -> WaterBalance | Reason | None:
        """Level and salinity with what is set now."""
        return self._tried("water", water_balance_as_set)

    @cached_property
    def water_by_plan(self) -> WaterBalance | Reason | None:
        """Level and salinity with the plan."""
        return self._tried("water_by_plan", water_balance_by_plan)

    @cached_property
    def retune(self) -> Retune | None:
        """When the setting stops being right, where that is within two weeks."""
        return self._tried(
            "retune", lambda decision, facts: retune_within(decision, facts, RETUNE_TOLD)
        )

    @cached_property
    def day(self) -> DaySchedule | Reason | None:
        """The doses of the day."""
        return self._tried("day", day_schedule)

    @cached_property
    def year(self) -> Season | Reason | None:
        """The year, month by month."""
        return self._tried("year", year)

    @cached_property
    def care(self) -> Care | None:
        """What jobs and the shelf are reckoned from, the year left out: cheap enough for Today."""
        return self._tried(
            "care", lambda decision, facts: ahead_of(decision, facts, retune=self.retune)
        )

    @cached_property
    def care_by_season(self) -> Care | None:
        """The same with the year, for the pages that speak of months."""
        season = self.year if isinstance(self.year, Season) else None
        return self._tried("care", lambda decision, facts: ahead_of(decision, facts, season=season))

    def _tried(self, part: str, work: Callable[[Decision, Facts], T]) -> T | None:
        """Return a part; None where the engine has no answer, and where it failed."""
        if part in self.failed:
            return None
        try:
            return work(self._decision, self.facts)
        except EngineError as error:
            print(f"{part}: {error}")  # for developers
        except Exception as error:  # noqa: BLE001 - a boundary: the other parts are shown
            caught(part, error)
            self.failed = (*self.failed, part)
        return None
