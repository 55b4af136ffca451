"""The procedure that is under way, and whether limewater is paused by one."""

from engine.procedures import RunState, delivery_pause, progress
from engine.records import DeliverySetting, ProcedureRun
from mobile.procedures import all_procedures
from mobile.state.mix import mix_view
from mobile.state.mix_facts import mix_facts
from mobile.state.sentences import sentence, when
from mobile.state.snapshot import Snapshot
from mobile.texts.procedures import TEXTS


def running(snapshot: Snapshot) -> tuple[str, str, str] | None:
    """Return (key, title, sentence of the pause) of an open run or a kept pause, or None."""
    runs = tuple(r for r in snapshot.standing if isinstance(r, ProcedureRun))
    if not runs:
        return None
    for procedure in all_procedures():
        at = progress(procedure, runs, snapshot.now)
        if at.state is RunState.OPEN:
            view = mix_view(procedure, at, mix_facts(snapshot), snapshot.now)
            return procedure.key, view.title, view.paused
    return _kept_pause(snapshot, runs)


def _kept_pause(snapshot: Snapshot, runs: tuple[ProcedureRun, ...]) -> tuple[str, str, str] | None:
    pause = delivery_pause(all_procedures(), runs)
    if pause is None:
        return None
    set_since = any(
        isinstance(r, DeliverySetting) and r.at > pause.since for r in snapshot.standing
    )
    if set_since:
        return None
    numbers = {"since": when(pause.since, snapshot.now)}
    paused = sentence(TEXTS, "mix_delivery_paused", numbers)
    return pause.procedure, TEXTS[pause.procedure], paused
