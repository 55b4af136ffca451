"""The pages behind Plan, as data: one more is one more row, and its route in mobile/app.py."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from mobile.state import additions, plan_day, plan_drift, plan_water, plan_year, powder
from mobile.state.hazard import warning
from mobile.state.snapshot import Snapshot
from mobile.texts.additions_page import TEXTS as ADDITIONS
from mobile.texts.hazard_page import TEXTS as HAZARD
from mobile.texts.plan_ahead import TEXTS
from mobile.texts.stock import TEXTS as STOCK


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPage:
    """One page behind Plan; it lies at /plan/<key>."""

    key: str
    title: str
    about: str  # what it is for: its line where there is no summary
    summary: Callable[[Snapshot], str]  # one line, cheap to make, or nothing

    @property
    def route(self) -> str:
        """Where it lies."""
        return f"/plan/{self.key}"

    def line(self, snapshot: Snapshot) -> str:
        """Return its one line on Plan."""
        return self.summary(snapshot) or self.about


PLAN_PAGES: Final = (
    PlanPage(
        key="day",
        title=TEXTS["page_day"],
        about=TEXTS["page_day_about"],
        summary=plan_day.summary,
    ),
    PlanPage(
        key="year",
        title=TEXTS["page_year"],
        about=TEXTS["page_year_about"],
        summary=plan_year.summary,
    ),
    PlanPage(
        key="water",
        title=TEXTS["page_water"],
        about=TEXTS["page_water_about"],
        summary=plan_water.summary,
    ),
    PlanPage(
        key="drift",
        title=TEXTS["page_drift"],
        about=TEXTS["page_drift_about"],
        summary=plan_drift.summary,
    ),
    PlanPage(
        key="powder",
        title=STOCK["page_powder"],
        about=STOCK["page_powder_about"],
        summary=powder.summary,
    ),
    PlanPage(
        key="hazard",
        title=HAZARD["title"],
        about=HAZARD["plan_row_about"],
        summary=lambda snapshot: " ".join(warning(snapshot.dangers, snapshot.alkalinity_unit)[:1]),
    ),
    PlanPage(
        key="additions",
        title=ADDITIONS["title"],
        about=ADDITIONS["about"],
        summary=additions.summary,
    ),
)
