"""What Today says: the decision first, then where the water stands and what to mind."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from engine.decision import Decision
from engine.plan.change_made import Change
from engine.reasons import Code, Reason
from engine.records import WaterTest
from engine.stock.powder import Powder
from engine.units import to_float
from engine.vocabulary import PARAMETERS
from mobile.state import plan_drift, plan_water, plan_year, recalled
from mobile.state.hazard import warning
from mobile.state.jobs import for_today
from mobile.state.record import reading_of
from mobile.state.recorded import reading_text
from mobile.state.second_source import own_units, shown
from mobile.state.sentences import alkalinity, number, told, when
from mobile.state.snapshot import Snapshot, Tone
from mobile.state.today_lead import ANIMALS, EQUIPMENT, Lead, held, lead, said, waiting
from mobile.texts.app import TEXTS as APP
from mobile.texts.failed import TEXTS as FAILED
from mobile.texts.plan_ahead import TEXTS as AHEAD
from mobile.texts.today import TEXTS

# Explains the plan and asks for nothing: read on Plan.
_FOR_PLAN: Final = frozenset({Code.TWO_PART_WATER})
_CHECKED: Final = frozenset({Code.VESSEL_FLOW_HIGH})
# Says what a setting does that is to be changed at once: read on Plan.
_ABOUT_OLD_SETTING: Final = frozenset(
    {Code.SETTING_ABOVE_CAP, Code.SETTING_NET_CHANGE, Code.IF_STOPPED_EATING}
)
# What the powder lasts is no matter while limewater is off or about to be renewed.
_NO_POWDER: Final = frozenset({Code.STOP, Code.RECHARGE_FIRST})


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A sentence with its state."""

    tone: Tone
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AsTold:
    """The settings that Today asks for, ready to be recorded as done."""

    label: str
    limewater_L_per_day: float | None
    alkalinity_meq_per_day: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Closer:
    """A page that says more of what is to be minded."""

    key: str
    label: str
    route: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayView:
    """Everything on Today, in the order of reading."""

    tone: Tone
    lead: str
    why: tuple[str, ...]
    water: tuple[Line, ...]
    mind: tuple[Line, ...]
    closer: tuple[Closer, ...]
    next_up: tuple[str, ...]
    first_test: bool  # no test yet: offer to record one
    hazard: tuple[str, ...] = ()  # what one fault would do; empty while none reaches the band
    as_told: AsTold | None  # what one tap may record once the keeper has set it


def today(snapshot: Snapshot) -> TodayView:
    """Return what Today says of a snapshot with a set-up."""
    decision = snapshot.decision
    if snapshot.recalled:
        return _only("danger", recalled.LEAD, recalled.why(snapshot))
    if decision is None:
        return _only(
            "warn" if snapshot.is_elsewhere else "danger",
            APP["plan_elsewhere"] if snapshot.is_elsewhere else FAILED["title"],
        )
    by_run = held(snapshot, decision)
    first = by_run or lead(snapshot, decision)
    return TodayView(
        tone=first.tone,
        lead=first.text,
        why=first.why,
        water=_water(snapshot, decision, first),
        mind=_mind(snapshot, decision, first),
        closer=_closer(snapshot),
        next_up=_next_up(snapshot, decision, first),
        first_test=decision.alkalinity is None,
        hazard=warning(snapshot.dangers, snapshot.alkalinity_unit),
        as_told=None if by_run else _as_told(snapshot, decision.change),
    )


def _only(tone: Tone, text: str, why: tuple[str, ...] = ()) -> TodayView:
    """Return Today without a decision: a lead, why, and nothing that comes from one."""
    return TodayView(
        tone=tone,
        lead=text,
        why=why,
        water=(),
        mind=(),
        closer=(),
        next_up=(),
        first_test=False,
        as_told=None,
    )


def _as_told(snapshot: Snapshot, change: Change) -> AsTold | None:
    """Return the change as settings to record, or None where there is nothing to set."""
    lime = None if change.setting is None else to_float(change.setting, "L/day")
    was = None if change.was is None else to_float(change.was, "L/day")
    lime = None if lime is None or lime == was else lime
    second = None if change.second_source is None else to_float(change.second_source, "meq/day")
    if lime is None and second is None:
        return None
    parts = [
        number("setting_L_per_day", lime) if lime is not None else "",
        TEXTS["second_part"].format(value=shown(own_units(snapshot, second)))
        if second is not None
        else "",
    ]
    label = TEXTS["as_told"].format(what=", ".join(part for part in parts if part))
    return AsTold(label=label, limewater_L_per_day=lime, alkalinity_meq_per_day=second)


def _water(snapshot: Snapshot, decision: Decision, first: Lead) -> tuple[Line, ...]:
    lines: list[Line] = []
    now = decision.alkalinity
    unit = snapshot.alkalinity_unit
    if now is not None:
        tested = TEXTS["alkalinity"].format(
            value=alkalinity(float(now.last.magnitude), unit),
            when=when(now.tested_at, snapshot.now),
        )
        expected = TEXTS["expected_unknown"]
        if now.expected is not None:
            low, _best, high = now.expected.floats("meq/L")
            expected = told(TEXTS, "expected", {"low_meq_per_L": low, "high_meq_per_L": high}, unit)
        lines.append(Line(tone="note", text=f"{tested} {expected}"))
    others = [
        text
        for code in ("pH_nbs", "calcium", "magnesium", "salinity")
        if (text := _last(snapshot, code))
    ]
    if others:
        lines.append(Line(tone="note", text=". ".join(others) + "."))
    if not first.tells_waiting:
        lines += [Line(tone="note", text=text) for text in waiting(snapshot, decision)]
    return tuple(lines)


def _last(snapshot: Snapshot, code: str) -> str:
    for record in reversed(snapshot.standing):
        reading = reading_of(record, code)
        if reading is not None:
            value = reading_text(reading, snapshot.alkalinity_unit)
            return TEXTS[f"last_{code}"].format(value=value, when=when(record.at, snapshot.now))
    return ""


def _mind(snapshot: Snapshot, decision: Decision, first: Lead) -> tuple[Line, ...]:
    shown = (*_cautions(decision), *_about_setting(decision), *decision.reasons)
    texts = [said(snapshot, found) for found in shown if found.code not in first.tells]
    texts += [_drift(snapshot, decision, first), *plan_water.soon(snapshot)]
    return tuple(
        Line(tone="warn", text=text)
        for text in dict.fromkeys(texts)
        if text and text not in first.why
    )


def _cautions(decision: Decision) -> tuple[Reason, ...]:
    left_out = _FOR_PLAN
    if decision.limewater is not None and decision.limewater.source == "measured":
        left_out |= _CHECKED  # what they ask for was done
    return tuple(caution for caution in decision.cautions if caution.code not in left_out)


def _about_setting(decision: Decision) -> tuple[Reason, ...]:
    setting = decision.setting
    if setting is None or not setting.over or decision.change.code is Code.STOP:
        return ()
    lowers = decision.change.code is Code.LOWER_PUMP
    return tuple(r for r in setting.reasons if not (lowers and r.code in _ABOUT_OLD_SETTING))


def _drift(snapshot: Snapshot, decision: Decision, first: Lead) -> str:
    """Return what drifts and why; what leads already is not said twice."""
    if first.tells_drift:
        return ""
    seen = () if first.tells & ANIMALS else plan_drift.seen_today(snapshot)
    known = decision.change.code in EQUIPMENT
    cause = "" if known else plan_drift.cause_today(snapshot)
    return " ".join(text for text in (*seen, cause) if text)


def _closer(snapshot: Snapshot) -> tuple[Closer, ...]:
    """Return the pages on what drifts and on the water, where Today minds them."""
    found: list[Closer] = []
    if plan_drift.drifts(snapshot):
        label = AHEAD["today_to_drift"]
        found.append(Closer(key="to-drift", label=label, route="/plan/drift"))
    if plan_water.soon(snapshot):
        label = AHEAD["today_to_water"]
        found.append(Closer(key="to-water", label=label, route="/plan/water"))
    return tuple(found)


def _next_up(snapshot: Snapshot, decision: Decision, first: Lead) -> tuple[str, ...]:
    lines = [
        TEXTS[first.next_test] if first.next_test else _next_test(snapshot),
        _retune(snapshot, decision),
    ]
    if isinstance(decision.powder, Powder) and decision.change.code not in _NO_POWDER:
        lines += [said(snapshot, found) for found in decision.powder.reasons]
    lines += for_today(snapshot)
    return tuple(line for line in lines if line)


def _retune(snapshot: Snapshot, decision: Decision) -> str:
    """Return by when a setting that is right today no longer is, where that is soon."""
    retune = snapshot.ahead.retune if snapshot.ahead else None
    if retune is None or retune.on is None or decision.change.code is not Code.NOTHING_TO_DO:
        return ""
    if retune.on <= snapshot.now + timedelta(days=1):
        return ""  # what holds now is the decision's own matter
    return plan_year.retune_told(snapshot, retune)


def _next_test(snapshot: Snapshot) -> str:
    """Return when alkalinity is due, from the newest test and the usual interval."""
    tests = [
        record.at
        for record in snapshot.standing
        if isinstance(record, WaterTest) and reading_of(record, "total_alkalinity")
    ]
    if not tests:
        return TEXTS["test_first"]
    due = max(tests) + timedelta(days=PARAMETERS["total_alkalinity"].interval_days)
    if due <= snapshot.now:
        return TEXTS["test_due"]
    return TEXTS["test_next"].format(day=due.astimezone(snapshot.now.tzinfo).strftime("%A"))
