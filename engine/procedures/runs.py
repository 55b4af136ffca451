"""Where a run of a guided procedure stands, and what an answer adds to the log.

A run is only its `ProcedureRun` records: replaying them gives the step, whoever killed the app.
A record counts only when it answers the step that was current then; a gate can therefore not be
skipped by any record, early, doubled or out of order. Nothing here appends; drafts are returned.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from engine.log.reading import in_order
from engine.procedures.numbers import amount_of, read_facts
from engine.procedures.schema import Leads, Option, Procedure, Step, StepKind
from engine.records import ProcedureEvent, ProcedureRun

CONTINUE: Final = "continue"  # after the advised wait
CONTINUE_EARLY: Final = "continue_early"  # after the least wait
WAIT_AGAIN: Final = "wait_again"  # starts the wait anew, after the clock was moved
BY_KEEPER: Final = "by_keeper"  # the answer of a stop that no gate asked for
CLOCK_TOLERANCE: Final = timedelta(minutes=2)


class RunState(StrEnum):
    """Whether there is a run, and whether it goes on."""

    NONE = "none"
    OPEN = "open"
    FINISHED = "finished"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class DoneStep:
    """A step that was answered; of an amount, `answer` is the number in the rule's unit."""

    key: str
    answer: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Waiting:
    """The current step's wait: its bounds in time, taken from the record that began it."""

    since: datetime
    least_until: datetime
    advised_until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Where the newest run of a procedure stands."""

    procedure: str
    state: RunState = RunState.NONE
    run: str = ""
    step: Step | None = None  # the current one of an open run; of a stopped one, where it stopped
    done: tuple[DoneStep, ...] = ()
    started_at: datetime | None = None
    moved_at: datetime | None = None  # time of the last record that counted
    waiting: Waiting | None = None
    stopped_answer: str = ""
    delivery_off_since: datetime | None = None  # limewater is paused, also after a stop
    powder_in: bool = False  # powder went in
    recorded: bool = False  # records beside the run's own were made
    delivery: str = ""  # how limewater was delivered at the start; empty in runs of version 1
    fixed: Mapping[str, float] = field(default_factory=dict[str, float])  # facts of the start
    clock_back: bool = False  # the clock is behind the run's last record
    ignored: int = 0  # records of the run that answered no current step


@dataclass(slots=True)
class _Replay:
    """The run while its records are read."""

    procedure: Procedure
    delivery_way: str
    done: list[DoneStep] = field(default_factory=list[DoneStep])
    moved_at: datetime | None = None
    stopped: ProcedureRun | None = None
    ignored: int = 0

    @property
    def answers(self) -> dict[str, str]:
        return {done.key: done.answer for done in self.done}

    @property
    def step(self) -> Step | None:
        last = self.done[-1].key if self.done else ""
        return self.procedure.next_step(last, self.delivery_way, self.answers)

    @property
    def done_steps(self) -> list[tuple[DoneStep, Step]]:
        steps = self.procedure.steps
        return [(done, steps[self.procedure.position(done.key)]) for done in self.done]

    def take(self, record: ProcedureRun) -> None:
        """Take one record of the run into account, or count it as ignored."""
        if self.stopped is not None or record.event is ProcedureEvent.FINISHED:
            return
        if record.event is ProcedureEvent.STOPPED:
            self.stopped = record if self.step is not None else None
        elif record.event is ProcedureEvent.STARTED:
            self.moved_at = self.moved_at or record.at
        elif not self._answered(record):
            self.ignored += 1

    def _answered(self, record: ProcedureRun) -> bool:
        step = self.step
        if step is None or record.step != step.key or self.moved_at is None:
            return False
        if step.kind is StepKind.WAIT:
            return self._waited(step, record)
        if step.kind is StepKind.AMOUNT:
            return amount_of(step, record.answer) is not None and self._on(step, record)
        option = step.option(record.answer)
        if option is None or option.leads in (Leads.STAY, Leads.STOP):
            return False
        return self._back(option, record) if option.leads is Leads.BACK else self._on(step, record)

    def _waited(self, step: Step, record: ProcedureRun) -> bool:
        if record.answer == WAIT_AGAIN:
            self.moved_at = record.at
            return True
        waiting = wait_of(step, self.moved_at)
        if waiting is None or record.answer not in wait_answers(waiting, record.at):
            return False
        return self._on(step, record)

    def _on(self, step: Step, record: ProcedureRun) -> bool:
        self.done.append(DoneStep(step.key, record.answer, record.at))
        self.moved_at = record.at
        return True

    def _back(self, option: Option, record: ProcedureRun) -> bool:
        first = self.procedure.position(option.to)
        self.done = [d for d in self.done if self.procedure.position(d.key) < first]
        self.moved_at = record.at
        return True

    @property
    def delivery(self) -> tuple[str, datetime | None]:
        """What the run did to the flow of limewater: "", "off" or "on"; and since when off."""
        effect, since = "", None
        for done, step in self.done_steps:
            if step.delivery:
                effect = step.delivery
                since = (since or done.at) if effect == "off" else None
        return effect, since


def amounts(procedure: Procedure, at: Progress) -> dict[str, float]:
    """Return the numbers entered in a run, by the fact that each one became."""
    found: dict[str, float] = {}
    for done in at.done:
        step = procedure.steps[procedure.position(done.key)]
        value = None if step.amount is None else amount_of(step, done.answer)
        if step.amount is not None and value is not None:
            found[step.amount.name] = value
    return found


def wait_of(step: Step, since: datetime | None) -> Waiting | None:
    """Return the wait of a step that began at a time, or None for other steps."""
    if step.timer is None or since is None:
        return None
    least = since + timedelta(minutes=step.timer.least_min)
    return Waiting(since, least, since + timedelta(minutes=step.timer.advised_min))


def wait_answers(waiting: Waiting, now: datetime) -> tuple[str, ...]:
    """Return the answers that end a wait at a time: none before the least wait is over."""
    if now >= waiting.advised_until:
        return (CONTINUE,)
    return (CONTINUE_EARLY,) if now >= waiting.least_until else ()


def progress(procedure: Procedure, runs: Iterable[ProcedureRun], now: datetime) -> Progress:
    """Return where the newest run of a procedure stands.

    Parameters
    ----------
    procedure : Procedure
        The procedure.
    runs : iterable of ProcedureRun
        Standing records of one system, any order; those of other procedures are passed over.
    now : datetime
        The clock, aware; used only to see that it was moved back.

    Returns
    -------
    Progress
        State `NONE` when the procedure was never started.
    """
    replays = _replays(procedure, runs)
    if not replays:
        return Progress(procedure=procedure.key)
    return _progress_of(*replays[-1], now)


def _replays(
    procedure: Procedure, runs: Iterable[ProcedureRun]
) -> list[tuple[ProcedureRun, _Replay]]:
    """Return every run of a procedure with the record that started it, the newest last."""
    replays: dict[str, tuple[ProcedureRun, _Replay]] = {}
    for record in _as_written(run for run in runs if run.procedure == procedure.key):
        if record.event is ProcedureEvent.STARTED and record.run not in replays:
            replays[record.run] = (record, _Replay(procedure, record.delivery))
        if record.run in replays:
            replays[record.run][1].take(record)
    return list(replays.values())


def _progress_of(start: ProcedureRun, replay: _Replay, now: datetime) -> Progress:
    stopped, step = replay.stopped, replay.step
    state = RunState.FINISHED if step is None else RunState.OPEN
    if stopped is not None:
        state = RunState.STOPPED
    is_open = state is RunState.OPEN
    moved_at = replay.moved_at
    made = [rule for _, done in replay.done_steps for rule in done.records]
    return Progress(
        procedure=replay.procedure.key,
        state=state,
        run=start.run,
        step=step,
        done=tuple(replay.done),
        started_at=start.at,
        moved_at=moved_at,
        waiting=wait_of(step, moved_at) if step is not None and is_open else None,
        stopped_answer=stopped.answer if stopped is not None else "",
        delivery_off_since=replay.delivery[1],
        powder_in=any(rule.kind == "recharge" for rule in made),
        recorded=bool(made),
        delivery=start.delivery,
        fixed=read_facts(start.facts),
        clock_back=is_open and moved_at is not None and moved_at - now > CLOCK_TOLERANCE,
        ignored=replay.ignored,
    )


def _as_written(runs: Iterable[ProcedureRun]) -> list[ProcedureRun]:
    """Return the records in the order in which they were written.

    Ids are "device:sequence": on one device the sequence holds even when the clock was moved
    back. Records of several devices can only be ordered by their times.
    """
    records = list(runs)
    parts = [record.id.rpartition(":") for record in records]
    one_device = len({device for device, _, _ in parts}) == 1
    if one_device and all(number.isdecimal() for _, _, number in parts):
        return sorted(records, key=lambda record: int(record.id.rpartition(":")[2]))
    return [record for record in in_order(records) if isinstance(record, ProcedureRun)]


@dataclass(frozen=True, slots=True)
class DeliveryPause:
    """Limewater is switched off by a run; after a stop nobody has switched it on again."""

    procedure: str
    run: str
    since: datetime
    stopped: bool


def delivery_pause(
    procedures: Iterable[Procedure], runs: Iterable[ProcedureRun]
) -> DeliveryPause | None:
    """Return the pause of the limewater that the runs keep up, or None.

    A run stopped with the flow off keeps its pause, whatever starts after it, until a run switches
    the flow on again. The caller ends it, too, at a delivery setting recorded after `since`.
    """
    records = tuple(runs)
    replays = [pair for procedure in procedures for pair in _replays(procedure, records)]
    pause: DeliveryPause | None = None
    for start, replay in sorted(replays, key=lambda pair: pair[0].at):
        effect, since = replay.delivery
        if since is not None:
            stopped = replay.stopped is not None
            pause = DeliveryPause(replay.procedure.key, start.run, since, stopped)
        elif effect == "on":
            pause = None
    return pause


def missing_fact(procedure: Procedure, facts: Mapping[str, float | str]) -> str | None:
    """Return the first fact that the procedure needs and the app did not provide, or None."""
    return next((key for key in procedure.facts if key not in facts), None)
