"""A running overdose on the screen: the clock, what is due, what was read, how it may end."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from engine.demand.facts import Facts, gather
from engine.errors import EngineError
from engine.hazards.incident import (
    ACTS,
    IncidentState,
    changes_since,
    next_reading,
    restart_missing,
    running,
    samples_since,
)
from engine.hazards.incident_recovery import Recovery, last_state, recovery, room_pCO2_uatm
from engine.hazards.rescue import ROOM_UATM, rescue
from engine.hazards.rescue_water import new_water
from engine.records import Incident, Setup
from mobile.state.hazard import said as hazard_said
from mobile.state.incident_plot import recovery_plot
from mobile.state.plot_view import PlotView
from mobile.state.sentences import alkalinity, day_and_time, number, sentence
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.incident import ACTS as ACT_WORDS
from mobile.texts.incident import TEXTS
from mobile.texts.plan import TEXTS as PLAN

AIR_ALONE: Final = timedelta(hours=6)
PROBE_STEP_PH: Final = 0.05  # so much above the expected range may be reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A sentence with its state."""

    tone: Tone
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One act: to do, or done and when."""

    key: str
    text: str
    done: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentView:
    """The page in the order of reading."""

    run: str
    clock: str
    begun: str
    due: tuple[Line, ...]
    acts: tuple[Act, ...]
    read: tuple[str, ...]
    recovery: tuple[str, ...]
    plot: PlotView | None
    helps: tuple[str, ...]
    notes: tuple[str, ...]
    waits: tuple[str, ...]  # what stands against ending it; none when only the fault is asked


def state_of(snapshot: Snapshot) -> IncidentState | None:
    """Return the incident that runs in the shown system, or None."""
    return running(r for r in snapshot.standing if isinstance(r, Incident))


def banner(snapshot: Snapshot) -> str:
    """Return the sentence over every screen while an incident runs, else nothing."""
    state = state_of(snapshot)
    if state is None:
        return ""
    return TEXTS["banner"].format(since=day_and_time(state.started_at, snapshot.now))


def incident(snapshot: Snapshot) -> IncidentView | None:
    """Return the page of the running incident; None while none runs."""
    state, setup = state_of(snapshot), snapshot.setup
    if state is None or setup is None:
        return None
    facts = gather(snapshot.records, system=snapshot.system, now=snapshot.now)
    expected = recovery(facts, setup, state)
    return IncidentView(
        run=state.run,
        clock=clock(snapshot.now - state.started_at),
        begun=TEXTS["begun"].format(since=day_and_time(state.started_at, snapshot.now)),
        due=_due(facts, state, snapshot.now),
        acts=_acts(state, snapshot.now),
        read=_read(facts, state, expected, snapshot),
        recovery=_recovery(facts, state, expected),
        plot=recovery_plot(facts, state, expected) if expected else None,
        helps=_helps(facts, setup, state, snapshot.alkalinity_unit),
        notes=tuple(f"{_at(note.at, snapshot.now)}: {note.note}" for note in state.notes),
        waits=tuple(
            sentence(PLAN, found.code, found.numbers, snapshot.alkalinity_unit)
            for found in restart_missing(facts, setup, state)
        ),
    )


def clock(span: timedelta) -> str:
    """Return a span as the large clock shows it, never less than nothing."""
    minutes = max(0, int(span.total_seconds() // 60))
    hours, rest = divmod(minutes, 60)
    days, day_hours = divmod(hours, 24)
    if days > 1:
        return TEXTS["clock_days"].format(days=days, hours=day_hours)
    key = "clock_hours" if hours else "clock_minutes"
    return TEXTS[key].format(hours=hours, minutes=rest)


def _at(moment: datetime, now: datetime) -> str:
    """Return a time of day, with its date when it was another day."""
    local = moment.astimezone(now.tzinfo)
    same_day = local.date() == now.date()
    return f"{local:%H:%M}" if same_day else day_and_time(moment, now)


def _due(facts: Facts, state: IncidentState, now: datetime) -> tuple[Line, ...]:
    found = next_reading(facts, state)
    pH = Line(tone="good", text=TEXTS["pH_done"])
    if found.pH_at is not None:
        pH = _due_line("pH", found.pH_at, state, now)
    if found.alkalinity_at is None:
        return (pH,)
    return pH, _due_line("Alkalinity", found.alkalinity_at, state, now)


def _due_line(what: str, at: datetime, state: IncidentState, now: datetime) -> Line:
    if at == state.started_at:
        return Line(tone="danger", text=TEXTS["due_first"].format(what=what))
    if at <= now:
        return Line(tone="danger", text=TEXTS["due_now"].format(what=what, at=_at(at, now)))
    wait = clock(at - now + timedelta(seconds=59))
    return Line(tone="note", text=TEXTS["due_at"].format(what=what, at=_at(at, now), wait=wait))


def _acts(state: IncidentState, now: datetime) -> tuple[Act, ...]:
    done = dict(state.acts)
    return tuple(
        Act(
            key=key,
            text=TEXTS["done_at"].format(what=ACT_WORDS[key], at=_at(done[key], now))
            if key in done
            else ACT_WORDS[key],
            done=key in done,
        )
        for key in ACTS
    )


def _read(
    facts: Facts, state: IncidentState, expected: Recovery | None, snapshot: Snapshot
) -> tuple[str, ...]:
    """Return every reading and water change since it began, newest first, beside the expected."""
    unit, now = snapshot.alkalinity_unit, snapshot.now
    lines = [
        (each.at, _pH_line(each.at, each.value, expected, now))
        for each in samples_since(facts, state, "pH_nbs")
    ]
    lines += [
        (each.at, _alkalinity_line(each.at, each.value, expected, now, unit))
        for each in samples_since(facts, state, "total_alkalinity")
    ]
    for sample in samples_since(facts, state, "salinity"):
        shown = f"salinity {number('x_PSU', sample.value)}"
        lines.append((sample.at, TEXTS["reading"].format(at=_at(sample.at, now), what=shown)))
    for change in changes_since(facts, state):
        shown = number("x_L", change.volume_L)
        lines.append((change.at, TEXTS["change"].format(at=_at(change.at, now), what=shown)))
    return tuple(text for _, text in sorted(lines, key=lambda pair: pair[0], reverse=True))


def _pH_line(at: datetime, value: float, expected: Recovery | None, now: datetime) -> str:
    shown = f"pH {value:.2f}"
    point = expected.at(at) if expected else None
    if expected is None or point is None or at == expected.points[0].at:
        return TEXTS["reading"].format(at=_at(at, now), what=shown)
    numbers: dict[str, float | str] = {
        "at": _at(at, now), "what": shown, "low_pH": point.pH_nbs.low, "high_pH": point.pH_nbs.high,
    }  # fmt: skip
    return sentence(TEXTS, "reading_expected_pH", numbers)


def _alkalinity_line(
    at: datetime, value: float, expected: Recovery | None, now: datetime, unit: str
) -> str:
    shown = f"alkalinity {alkalinity(value, unit)}"
    point = expected.at(at) if expected else None
    if expected is None or point is None or at <= expected.points[0].at:
        return TEXTS["reading"].format(at=_at(at, now), what=shown)
    numbers: dict[str, float | str] = {
        "at": _at(at, now), "what": shown, "expected_meq_per_L": point.total_alkalinity_meq_per_L,
    }  # fmt: skip
    return sentence(TEXTS, "reading_expected_alkalinity", numbers, unit)


def _recovery(facts: Facts, state: IncidentState, expected: Recovery | None) -> tuple[str, ...]:
    if expected is None:
        return (TEXTS["recovery_none"],)
    later = expected.at(expected.points[0].at + AIR_ALONE)
    found: list[str] = []
    if later is not None:
        numbers = {"low_pH": later.pH_nbs.low, "high_pH": later.pH_nbs.high}
        found.append(sentence(TEXTS, "recovery_says", numbers))
    last = samples_since(facts, state, "pH_nbs")[-1]
    point = expected.at(last.at)
    if point is not None and last.value > point.pH_nbs.high + PROBE_STEP_PH:
        found.append(TEXTS["recovery_above"])
    return tuple(found)


def _helps(facts: Facts, setup: Setup, state: IncidentState, unit: str) -> tuple[str, ...]:
    """Return what a water change and air bring back from the newest full reading."""
    water = last_state(facts, setup, state)
    try:
        found = rescue(
            water,
            net_volume_L=setup.net_volume_L,
            net_volume_error_share=setup.net_volume_error_share,
            water=new_water(facts, setup),
            room_pCO2_uatm=ROOM_UATM if water is None else room_pCO2_uatm(facts, water),
        )
    except EngineError as error:
        print(f"rescue: {error}")  # for developers
        return ()
    reasons = found.reasons
    if water is None:  # not read yet, or past the model: the salt water that stands ready
        reasons = reasons[:1]
    return tuple(hazard_said(each, unit) for each in reasons)
