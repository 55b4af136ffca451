"""The day's doses: how many, how much, how long, and what the day's pH does."""

from dataclasses import dataclass
from typing import Final

from engine.decision import Decision
from engine.demand.facts import BY_PUMP
from engine.hazards.safe_setup import dose_split
from engine.limits import DosePlan
from engine.plan.day_curve import CurvePoint, highest, lowest
from engine.plan.ph_guard import CEILING_PH
from engine.plan.schedule import DaySchedule
from engine.plan.schedule_codes import ScheduleCode
from engine.reasons import Code, Reason
from engine.records import Delivery, Setup
from engine.units import to_float
from mobile.state.hazard import said as hazard_said
from mobile.state.plot_view import Curve, PlotView, ticks
from mobile.state.sentences import clock, counted, number, told
from mobile.state.setup_route import setup_route
from mobile.state.snapshot import Snapshot, Tone
from mobile.state.today_lead import as_decided, held, held_back
from mobile.texts.plan_ahead import TEXTS
from mobile.texts.schedule import TEXTS as SCHEDULE

_OF_PH: Final = frozenset(
    {
        ScheduleCode.LIGHTS_UNSET,
        ScheduleCode.CURVE_IMPOSSIBLE,
        ScheduleCode.FROM_RECORDED_PH,
        ScheduleCode.FROM_ROOM,
        ScheduleCode.AIR_ASSUMED,
        ScheduleCode.EXCHANGE_ASSUMED,
    }
)
_IN_PLOT: Final = frozenset({ScheduleCode.HIGHEST_PH})
_HOURS: Final = (0, 6, 12, 18, 24)
_FEW: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class DayView:
    """The page, in the order of reading."""

    tone: Tone
    lead: str  # the decision, so that no dose is read apart from it
    doses: tuple[str, ...]
    times: str  # each dose's hour; empty where there are many at even steps
    about_pH: tuple[str, ...]
    plot: PlotView | None
    lights_route: str  # where the lamp's hours are asked for; empty while they are known
    asks_pH: bool


def summary(snapshot: Snapshot) -> str:
    """Return the doses in a line, where there is a plan that is not paused."""
    decision = snapshot.decision
    if decision is None or not isinstance(decision.plan, DosePlan) or held(snapshot, decision):
        return ""
    plan, setup = decision.plan, decision.setup
    if setup is None or plan.L_per_day <= 0.0:
        return ""
    if setup.delivery is Delivery.DRIP:
        daily = number("x_L", plan.L_per_day)
        return TEXTS["day_drip_summary"].format(daily=daily)
    dose = number("x_mL", to_float(plan.dose, "mL"))
    return TEXTS["day_summary"].format(doses=counted(plan.doses_per_day, "dose"), dose=dose)


def day(snapshot: Snapshot, decision: Decision) -> DayView:
    """Return the page of a decision."""
    by_run = held(snapshot, decision)
    first = by_run or held_back(snapshot, decision) or as_decided(snapshot, decision)
    schedule = None if by_run or snapshot.ahead is None else snapshot.ahead.day
    if not isinstance(schedule, DaySchedule):
        told = () if by_run else (_said(schedule) if schedule else TEXTS["failed"],)
        return DayView(
            tone=first.tone,
            lead=first.text,
            doses=told,
            times="",
            about_pH=(),
            plot=None,
            lights_route="",
            asks_pH=False,
        )
    codes = {found.code for found in schedule.reasons}
    return DayView(
        tone=first.tone,
        lead=first.text,
        doses=(*_doses(decision, schedule), *_split(snapshot, decision)),
        times=_times(schedule),
        about_pH=tuple(_said(found) for found in schedule.reasons if found.code in _OF_PH),
        plot=_plot(decision.setup, schedule),
        lights_route=setup_route("lights_on_hours") if ScheduleCode.LIGHTS_UNSET in codes else "",
        asks_pH=bool(codes & {ScheduleCode.AIR_ASSUMED, ScheduleCode.CURVE_IMPOSSIBLE}),
    )


def _said(found: Reason) -> str:
    return told(SCHEDULE, found.code, found.numbers)


def _doses(decision: Decision, schedule: DaySchedule) -> tuple[str, ...]:
    told = [_said(found) for found in schedule.reasons if found.code not in _OF_PH | _IN_PLOT]
    daily = number("x_L_per_day", to_float(schedule.daily, "L/day"))
    told.insert(1, TEXTS["day_total"].format(daily=daily))
    kept = decision.change.setting
    if decision.change.code is Code.NOTHING_TO_DO and kept is not None:
        shown = number("setting_L_per_day", to_float(kept, "L/day"))
        told.insert(0, TEXTS["day_small_gap"].format(kept=shown))
    return tuple(told)


def _split(snapshot: Snapshot, decision: Decision) -> tuple[str, ...]:
    """Return into how many doses the same litres should go, so that a tenfold one is forgiven."""
    plan, setup, dangers = decision.plan, decision.setup, snapshot.dangers
    if not isinstance(plan, DosePlan) or setup is None or dangers is None:
        return ()
    if setup.delivery not in BY_PUMP:
        return ()
    advice = dose_split(plan.L_per_day, plan.doses_per_day, dangers.safe.dose_L)
    return () if advice is None else (hazard_said(advice),)


def _times(schedule: DaySchedule) -> str:
    """Return the hours of the doses, where they are few enough to be set one by one."""
    if len(schedule.doses) > _FEW:
        return ""
    return ", ".join(clock(dose.hour) for dose in schedule.doses)


def _plot(setup: Setup | None, schedule: DaySchedule) -> PlotView | None:
    before, after = schedule.before, schedule.after
    if setup is None or not before or not after:
        return None
    ceiling = setup.ceiling_pH or CEILING_PH
    numbers = {
        "on": clock(setup.lights_on_hours or 0.0),
        "off": clock(setup.lights_off_hours or 0.0),
        "before_low_pH": lowest(before),
        "before_high_pH": highest(before),
        "after_low_pH": lowest(after),
        "after_high_pH": highest(after),
    }
    values = [point.pH_nbs for point in (*before, *after)]
    return PlotView(
        says=told(TEXTS, "day_pH_says", numbers),
        y_label=TEXTS["day_pH_y"],
        x_label=TEXTS["day_pH_x"],
        y_ticks=ticks([*values, ceiling], lambda value: f"{value:.2f}"),
        x_ticks=tuple((float(hour), str(hour)) for hour in _HOURS),
        curves=(
            Curve(name=TEXTS["day_pH_after"], points=_points(after)),
            Curve(name=TEXTS["day_pH_before"], points=_points(before), look="dashed", role="other"),
            Curve(
                name=told(TEXTS, "day_pH_ceiling", {"ceiling_pH": ceiling}),
                points=((0.0, ceiling), (24.0, ceiling)),
                look="dashed",
                role="danger",
            ),
        ),
    )


def _points(curve: tuple[CurvePoint, ...]) -> tuple[tuple[float, float], ...]:
    return tuple((point.hour, point.pH_nbs) for point in curve)
