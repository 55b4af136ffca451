"""The list of procedures: what is open, what fits this system, when each was last done. Pure."""

from dataclasses import dataclass
from typing import Final

from engine.procedures.runs import Progress, RunState, progress
from engine.procedures.schema import Group, Procedure
from engine.records import ProcedureEvent, ProcedureRun
from mobile.procedures import all_procedures
from mobile.state.sentences import sentence, when
from mobile.state.snapshot import Snapshot
from mobile.texts.mix_page import TEXTS
from mobile.texts.procedures import TEXTS as PROCEDURES

_OTHER: Final = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class MixEntry:
    """One procedure of the list."""

    key: str
    title: str
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MixGroup:
    """Procedures that are needed at the same occasion."""

    title: str
    entries: tuple[MixEntry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MixList:
    """The open runs, then the groups; none is empty."""

    open: tuple[MixEntry, ...]
    groups: tuple[MixGroup, ...]


def where(procedure: Procedure, snapshot: Snapshot) -> Progress:
    """Return where the newest run of a procedure stands."""
    runs = (r for r in snapshot.standing if isinstance(r, ProcedureRun))
    return progress(procedure, runs, snapshot.now)


def fits(procedure: Procedure, snapshot: Snapshot) -> bool:
    """Tell whether a procedure is meant for the way this system is fed with limewater."""
    setup = snapshot.setup
    return setup is None or not procedure.deliveries or setup.delivery in procedure.deliveries


def mix_list(snapshot: Snapshot) -> MixList:
    """Return the list; what is meant for another way of delivery comes last."""
    open_ones: list[MixEntry] = []
    groups: dict[str, list[MixEntry]] = {str(group): [] for group in Group}
    groups[_OTHER] = []
    for procedure in all_procedures():
        at = where(procedure, snapshot)
        entry = _entry(procedure, at, snapshot)
        if at.state is RunState.OPEN:
            open_ones.append(entry)
        else:
            groups[procedure.group if fits(procedure, snapshot) else _OTHER].append(entry)
    found = tuple(
        MixGroup(title=TEXTS[f"group_{key}"], entries=tuple(entries))
        for key, entries in groups.items()
        if entries
    )
    return MixList(open=tuple(open_ones), groups=found)


def _entry(procedure: Procedure, at: Progress, snapshot: Snapshot) -> MixEntry:
    return MixEntry(
        key=procedure.key, title=PROCEDURES[procedure.key], detail=_detail(procedure, at, snapshot)
    )


def _detail(procedure: Procedure, at: Progress, snapshot: Snapshot) -> str:
    if at.state is RunState.OPEN and at.step is not None:
        return sentence(TEXTS, "under_way", place_of(procedure, at))
    about = PROCEDURES[f"{procedure.key}_about"]
    finished = [
        r.at
        for r in snapshot.standing
        if isinstance(r, ProcedureRun)
        and (r.procedure, r.event) == (procedure.key, ProcedureEvent.FINISHED)
    ]
    if not finished:
        return about
    ago = when(max(finished), snapshot.now)
    return f"{about} {sentence(TEXTS, 'last_done', {'ago': ago})}"


def place_of(procedure: Procedure, at: Progress) -> dict[str, float | str]:
    """Return which step of how many an open run is at."""
    answers = {done.key: done.answer for done in at.done}
    keys = [step.key for step in procedure.path(at.delivery, answers)]
    place = keys.index(at.step.key) + 1 if at.step is not None else len(keys)
    return {"place": str(place), "steps": str(len(keys))}
