"""A log of procedure runs for tests: appends drafts as the app does, one device, one system."""

from dataclasses import dataclass, field
from datetime import datetime

from engine.procedure_answers import Answered, Held, RecordDraft, answer_step, start
from engine.procedure_schema import Procedure, Step, StepKind
from engine.procedures import CONTINUE, Progress, RunState, progress
from engine.record_codec import from_dict
from engine.records import SCHEMA_VERSION, ProcedureRun, Record

FACTS = {"recharge_powder_g": 110.0, "largest_charge_powder_g": 150.0, "draw_off_L": 0.5}


@dataclass
class Log:
    procedure: Procedure
    now: datetime
    records: list[Record] = field(default_factory=list)
    facts: dict = field(default_factory=lambda: dict(FACTS))

    @property
    def runs(self) -> list[ProcedureRun]:
        return [record for record in self.records if isinstance(record, ProcedureRun)]

    @property
    def at(self) -> Progress:
        """Progress from a log read anew: what a killed app finds at its next start."""
        return progress(self.procedure, list(self.runs), self.now)

    def append(self, kind: str, **values) -> None:
        stamp = self.now.isoformat()
        frame = {"id": f"dev:{len(self.records) + 1}", "at": stamp, "recorded_at": stamp}
        data = {"v": SCHEMA_VERSION, "kind": kind, "system": "s", **frame, **values}
        self.records.append(from_dict(data))

    def add(self, answered: Answered) -> None:
        for draft in answered.drafts:
            if isinstance(draft, RecordDraft):
                self.append(draft.kind, **draft.values)
            else:
                names = ("run", "procedure", "event", "step", "answer")
                self.append("procedure_run", **{n: str(getattr(draft, n)) for n in names})

    def begin(self, run: str = "run-1") -> None:
        answered = start(self.procedure, self.at, run, self.facts)
        assert isinstance(answered, Answered)
        self.add(answered)

    def give(self, answer: str, **options) -> Answered | Held:
        found = answer_step(
            self.procedure, self.at, answer, facts=self.facts, now=self.now, **options
        )
        if isinstance(found, Answered):
            self.add(found)
        return found

    def go_on(self) -> None:
        """Do the current step as asked."""
        at = self.at
        assert at.step is not None
        if at.waiting is not None:
            self.now = max(self.now, at.waiting.advised_until)
        answered = self.give(right_answer(at.step))
        assert isinstance(answered, Answered), (at.step.key, answered)
        assert self.at.step != at.step, f"no way on from {at.step.key}"

    def walk_to(self, key: str) -> None:
        while (step := self.at.step) is not None and step.key != key:
            self.go_on()
        assert self.at.step is not None

    def walk_through(self) -> None:
        while self.at.state is RunState.OPEN:
            self.go_on()


def right_answer(step: Step) -> str:
    if step.kind is StepKind.WAIT:
        return CONTINUE
    if step.kind is StepKind.AMOUNT:
        return "110"
    return step.options[0].answer
