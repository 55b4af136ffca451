"""The procedure that is under way, and whether limewater is paused by one."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from engine.procedures.runs import Progress, RunState, delivery_pause, progress
from engine.procedures.schema import Procedure
from engine.records import DeliverySetting, ProcedureRun
from mobile.procedures import all_procedures
from mobile.state.mix import mix_view
from mobile.state.mix_facts import mix_facts
from mobile.state.sentences import day_and_time, sentence
from mobile.state.snapshot import Snapshot
from mobile.texts.procedures import TEXTS

_AHEAD: Final = 3  # steps told ahead
_SETS: Final = "delivery_setting.limewater_L_per_day"


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A procedure to go on with, or one that left the limewater off."""

    key: str
    title: str
    paused: str  # the sentence that limewater is off and since when; empty while it flows
    in_stages: bool = False  # it has set a part of the plan, and a later step sets more
    step: str = ""  # where the run stands
    wait: str = ""  # how long a rest still lasts
    next_steps: str = ""  # the next few, in order


def running(snapshot: Snapshot) -> Running | None:
    """Return the open run, or the stopped one that left limewater off, or None."""
    runs = tuple(r for r in snapshot.standing if isinstance(r, ProcedureRun))
    if not runs or snapshot.is_elsewhere:
        return None
    for procedure in all_procedures():
        at = progress(procedure, runs, snapshot.now)
        if at.state is RunState.OPEN:
            view = mix_view(procedure, at, mix_facts(snapshot, procedure, at), snapshot.now)
            return Running(
                key=procedure.key,
                title=view.title,
                paused=view.paused,
                in_stages=_in_stages(procedure, at),
                step=view.sentence,
                wait=view.countdown,
                next_steps=" ".join(view.read_ahead[:_AHEAD]),
            )
    return _left_off(snapshot, runs)


def _in_stages(procedure: Procedure, at: Progress) -> bool:
    """Tell whether a step of the run has set the limewater and another still will."""
    done = {step.key: step.answer for step in at.done}
    setting = [
        s.key for s in procedure.path(at.delivery, done) if s.amount and s.amount.field == _SETS
    ]
    return any(key in done for key in setting) and any(key not in done for key in setting)


def _left_off(snapshot: Snapshot, runs: tuple[ProcedureRun, ...]) -> Running | None:
    pause = delivery_pause(all_procedures(), runs)
    if pause is None or _set_since(snapshot, pause.since):
        return None
    numbers = {"since": day_and_time(pause.since, snapshot.now)}
    return Running(
        key=pause.procedure,
        title=TEXTS[pause.procedure],
        paused=sentence(TEXTS, "mix_delivery_paused", numbers),
    )


def _set_since(snapshot: Snapshot, since: datetime) -> bool:
    return any(isinstance(r, DeliverySetting) and r.at > since for r in snapshot.standing)
