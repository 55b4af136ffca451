"""One job's page: why, where it is done, and how the keeper wants it."""

from dataclasses import dataclass
from typing import Final

from engine.jobs.codes import Job, JobCode
from engine.records import JobChoice
from mobile.procedures import all_procedures
from mobile.state.jobs import found_jobs, named, when_due, why_due
from mobile.state.sentences import days
from mobile.state.snapshot import Snapshot
from mobile.texts.jobs import TEXTS

INTERVALS_DAYS: Final = (3.0, 7.0, 14.0, 30.0, 90.0, 180.0, 365.0)
SNOOZES_DAYS: Final = (1.0, 3.0, 7.0, 30.0)
REASONS: Final = ("why_time", "why_parts", "why_away", "why_fine")
# Where a job is done: a guided procedure where there is one, else the entry that shows it.
_PROCEDURE: Final = {
    Job.RECHARGE: "recharge_vessel",
    Job.REFILL_LIME: "lime_reservoir",
    Job.STRENGTH_CHECK: "strength_conductivity",
    Job.PUMP_CHECK: "pump_check",
    Job.PUMP_TUBE: "tube_change",
    Job.VESSEL_CLEAN: "clean_scale",
    Job.RESERVOIR_CLEAN: "clean_scale",
    Job.OUTLET_TIP: "clean_scale",
    Job.TOP_OFF_LOOK: "safety_check",
    Job.OUTLET_LOOK: "safety_check",
    Job.CHECK_VALVE_LOOK: "safety_check",
    Job.PH_CALIBRATE: "meter_checks",
    Job.METERS_CHECK: "meter_checks",
    Job.REAGENT_CHECK: "meter_checks",
}
_ENTRY: Final = {
    Job.REFILL_FRESH_WATER: "/record/refill",
    Job.REFILL_LIME: "/record/refill",
    Job.RECHARGE: "/record/recharge",
    Job.BUY_POWDER: "/record/powder_stock",
    Job.BUY_SOLUTION: "/record/supply_solution",
    Job.BUY_KIT: "/record/supply_kit",
    Job.RETUNE: "/plan/year",
    Job.STRENGTH_CHECK: "/record/strength_conductivity",
    Job.PUMP_CHECK: "/record/pump_check",
    Job.VESSEL_CLEAN: "/record/vessel_emptied",
    Job.RESERVOIR_CLEAN: "/record/vessel_emptied",
    Job.POWDER_PACK: "/record/pack_opened",
    Job.REAGENT_NEW: "/record/supply_kit",
    Job.EXPORT: "/setup",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class JobView:
    """One job's page."""

    job: str
    title: str
    when: str
    why: tuple[str, ...]
    route: str  # where it is done; empty where it is only marked
    may_mark: bool
    intervals: tuple[tuple[str, str, bool], ...]  # (days or "", words, taken)
    is_snoozed: bool
    is_off: bool


def job_page(snapshot: Snapshot, code: str) -> JobView | None:
    """Return one job's page; None where it does not come up in this system."""
    found = found_jobs(snapshot, by_season=True)
    due = next((d for d in found.due if d.job == code), None)
    if due is None and code not in found.off:
        return None
    choice = _choice(snapshot, code)
    by_interval = due is not None and due.by_interval
    route = _route(Job(code))
    return JobView(
        job=code,
        title=named(due) if due else TEXTS[f"name_{code}"],
        when=when_due(due, snapshot.now) if due else "",
        why=why_due(due) if due else (),
        route=route if due else "",
        may_mark=due is not None and _is_care(Job(code)),
        intervals=_intervals(choice) if by_interval else (),
        is_snoozed=due is not None and due.reasons[-1].code == JobCode.SNOOZED,
        is_off=due is None,
    )


def _choice(snapshot: Snapshot, code: str) -> JobChoice | None:
    mine = [r for r in snapshot.standing if isinstance(r, JobChoice) and r.job == code]
    return mine[-1] if mine else None


def choice_fields(snapshot: Snapshot, code: str, **changes: object) -> dict[str, object]:
    """Return the fields of a choice: what held before, with these changes."""
    choice = _choice(snapshot, code)
    held = {
        "interval_days": choice.interval_days if choice else None,
        "snoozed_days": None,
        "off": False,
        "note": "",
    }
    return {"job": code, **held, **changes}


def _intervals(choice: JobChoice | None) -> tuple[tuple[str, str, bool], ...]:
    own = choice.interval_days if choice else None
    usual = ("", TEXTS["interval_usual"], own is None)
    rows = [
        (f"{value:g}", TEXTS["interval_days"].format(days=days(value)), own == value)
        for value in INTERVALS_DAYS
    ]
    return (usual, *rows)


def _is_care(job: Job) -> bool:
    """Tell whether the keeper may say that it is done: no entry of its own shows it."""
    return not job.startswith("test_") and job not in (
        Job.RECHARGE,
        Job.REFILL_FRESH_WATER,
        Job.REFILL_LIME,
        Job.BUY_POWDER,
        Job.BUY_SOLUTION,
        Job.BUY_KIT,
        Job.STRENGTH_CHECK,
        Job.RETUNE,
        Job.EXPORT,
    )


def _route(job: Job) -> str:
    if job.startswith("test_"):
        return f"/record/{job.removeprefix('test_')}"
    guided = _PROCEDURE.get(job, "")
    if guided in {procedure.key for procedure in all_procedures()}:
        return f"/mix/{guided}"
    return _ENTRY.get(job, "")
