"""A log of procedure runs for tests: appends drafts as the app does, one device, one system."""

from dataclasses import asdict, dataclass, field
from datetime import datetime

from engine.log.record_codec import from_dict, to_dict
from engine.procedures.answers import Answered, Held, RecordDraft, answer_step, run_facts, start
from engine.procedures.runs import CONTINUE, Progress, RunState, progress
from engine.procedures.schema import Leads, Procedure, Step, StepKind
from engine.records import SCHEMA_VERSION, Delivery, ProcedureRun, Record, Setup

# What an app with a full set-up and a plan knows.
FACTS = {
    "recharge_powder_g": 110.0,
    "largest_charge_powder_g": 150.0,
    "draw_off_L": 0.5,
    "assay_share": 0.95,
    "mix_share": 1.0,
    "lime_degC": 24.0,
    "lime_container_L": 20.0,
    "tonight_L": 4.0,
    "plan_L_per_day": 4.0,
    "half_plan_L_per_day": 2.0,
    "three_quarter_plan_L_per_day": 3.0,
    "evaporation_high_L_per_day": 7.5,
    "net_volume_L": 450.0,
    "volume_error_share": 0.3,  # a guess, so that every way of finding it is surer
    "commissioned_count": 1.0,
    "pump_L_per_h": 1.0,
    "first_pump_share": 1.0,
    "salt_water_ready_L": 90.0,
}
# What a keeper reads in each amount step that offers no number of its own, in the typed unit.
READ = {
    "water_L": "20",
    "drops_1_count": "133",
    "drops_2_count": "130",
    "drops_3_count": "128",
    "alkalinity_assay_share": "99",
    "calcium_assay_share": "97",
    "part_L": "2",
    "expected_mL": "200",
    "run_1_mL": "196",
    "run_2_mL": "195",
    "run_3_mL": "197",
    "own_saturated_mS_per_cm": "8.1",
    "reading_mS_per_cm": "7.6",
    "diluted_meq_per_L": "5.2",
    "acid_mL": "36.5",
    "buffer_1_pH": "7.05",
    "buffer_2_pH": "10.1",
    "standard_mS_per_cm": "53",
    "standard_reading_mS_per_cm": "52.5",
    "reference_meq_per_L": "8",
    "reference_reading_meq_per_L": "8.2",
    "tds_ppm": "1",
    "alkalinity_before_meq_per_L": "8.1",
    "new_alkalinity_meq_per_L": "8.4",
    "change_L": "60",
    "salinity_PSU": "35",
    "alkalinity_after_meq_per_L": "8.2",
    "acid_water_L": "1",
    "ten_minutes_mL": "160",
    "set_back_L_per_day": "4",
    "counted_L": "430",
    "glass_L": "400",
    "sump_L": "80",
    "salinity_before_PSU": "35.4",
    "removed_L": "6",
    "salinity_after_PSU": "34.9",
    "away_days": "14",
    "stand_degC": "24",
}


def a_setup(now: datetime, delivery: Delivery = Delivery.PUMP_VESSEL) -> Setup:
    """Return a set-up for records that change one."""
    return Setup(
        id="dev:setup",
        at=now,
        recorded_at=now,
        system="s",
        name="Kettle House",
        net_volume_L=450.0,
        delivery=delivery,
        target_total_alkalinity_meq_per_L=2.9,
        band_low_total_alkalinity_meq_per_L=2.7,
        band_high_total_alkalinity_meq_per_L=3.2,
        floor_total_alkalinity_meq_per_L=2.3,
    )


@dataclass
class Log:
    procedure: Procedure
    now: datetime
    records: list[Record] = field(default_factory=list)
    facts: dict = field(default_factory=lambda: dict(FACTS))
    delivery: str = ""
    choices: dict[str, str] = field(default_factory=dict)  # answers to give instead of the first

    @property
    def runs(self) -> list[ProcedureRun]:
        return [record for record in self.records if isinstance(record, ProcedureRun)]

    @property
    def at(self) -> Progress:
        """Progress from a log read anew: what a killed app finds at its next start."""
        return progress(self.procedure, list(self.runs), self.now)

    @property
    def known(self) -> dict:
        """The facts with what was entered and worked out in the run."""
        return run_facts(self.procedure, self.at, self.facts)

    def append(self, kind: str, **values) -> None:
        stamp = self.now.isoformat()
        frame = {"id": f"dev:{len(self.records) + 1}", "at": stamp, "recorded_at": stamp}
        data = {"v": SCHEMA_VERSION, "kind": kind, "system": "s", **values, **frame}
        self.records.append(from_dict(data))

    def add(self, answered: Answered) -> None:
        for draft in answered.drafts:
            if isinstance(draft, RecordDraft):
                base = to_dict(a_setup(self.now)) if draft.changes else {}
                self.append(**{**base, "kind": draft.kind, **draft.values})
            else:
                values = {name: str(value) for name, value in asdict(draft).items()}
                self.append("procedure_run", **values)

    def begin(self, run: str = "run-1") -> None:
        answered = start(self.procedure, self.at, run, self.facts, self.delivery)
        assert isinstance(answered, Answered), answered
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
        answer = self.choices.get(at.step.key) or right_answer(at.step, self.known)
        answered = self.give(answer)
        assert isinstance(answered, Answered), (at.step.key, answered)
        assert self.at.step != at.step, f"no way on from {at.step.key}"

    def walk_to(self, key: str) -> None:
        while (step := self.at.step) is not None and step.key != key:
            self.go_on()
        assert self.at.step is not None

    def walk_through(self) -> None:
        while self.at.state is RunState.OPEN:
            self.go_on()


def right_answer(step: Step, facts: dict | None = None) -> str:
    if step.kind is StepKind.WAIT:
        return CONTINUE
    if step.amount is not None:
        advised = (facts or FACTS).get(step.amount.advised)
        return READ[step.amount.name] if advised is None else f"{advised:.6g}"
    return next(option.answer for option in step.options if option.leads is Leads.ON)


def ways(procedure: Procedure) -> list[dict[str, str]]:
    """Return answers to the choices that together take every way through the procedure."""
    asked = [step for step in procedure.steps if step.kind is StepKind.CHOICE]
    longest = max((len(step.options) for step in asked), default=1)
    return [
        {step.key: step.options[min(n, len(step.options) - 1)].answer for step in asked}
        for n in range(longest)
    ]
