"""Whatever the order and number of a run's records, no gate is passed unanswered."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.procedures.runs import RunState, progress
from engine.procedures.schema import Leads, StepKind
from engine.records import ProcedureEvent, ProcedureRun
from mobile.procedures import load_procedure
from tests.support.procedure_runs import Log, right_answer

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
PROCEDURE = load_procedure("recharge_vessel")
KEYS = [step.key for step in PROCEDURE.steps]


def _walked() -> list[ProcedureRun]:
    log = Log(PROCEDURE, NOW)
    log.begin()
    log.walk_through()
    return log.runs


WALKED = _walked()
answers = st.sampled_from(
    sorted({right_answer(step) for step in PROCEDURE.steps} | {"missing", "milky", "", "0"})
)
stray = st.builds(
    ProcedureRun,
    id=st.integers(1, 200).map(lambda n: f"dev:{n}"),
    at=st.integers(0, 900).map(lambda minutes: NOW + timedelta(minutes=minutes)),
    recorded_at=st.just(NOW),
    system=st.just("s"),
    run=st.sampled_from(["run-1", "run-2"]),
    procedure=st.sampled_from([PROCEDURE.key, "another"]),
    event=st.sampled_from(ProcedureEvent),
    step=st.sampled_from([*KEYS, "", "unknown"]),
    answer=answers,
)


@settings(deadline=None)  # a busy machine is no failure
@given(st.lists(stray, max_size=30), st.lists(st.sampled_from(WALKED), max_size=60))
def test_done_steps_are_always_the_first_ones_each_with_an_answer_that_leads_on(strays, kept):
    at = progress(PROCEDURE, [*strays, *kept], NOW)
    assert [done.key for done in at.done] == KEYS[: len(at.done)]
    for done, step in zip(at.done, PROCEDURE.steps, strict=False):
        if step.kind in (StepKind.GATE, StepKind.CHECK, StepKind.ACT):
            option = step.option(done.answer)
            assert option is not None
            assert option.leads is Leads.ON
        if step.kind is StepKind.AMOUNT:
            assert float(done.answer) > 0.0
    assert (at.state is RunState.FINISHED) <= (len(at.done) == len(KEYS))


@settings(deadline=None)  # a busy machine is no failure
@given(st.permutations(WALKED))
def test_order_of_reading_does_not_matter_on_one_device(shuffled):
    assert progress(PROCEDURE, shuffled, NOW) == progress(PROCEDURE, WALKED, NOW)


@settings(deadline=None)  # a busy machine is no failure
@given(st.sets(st.integers(1, len(WALKED) - 1), min_size=1))
def test_a_lost_record_holds_the_run_at_its_step(lost):
    kept = [replace(run) for n, run in enumerate(WALKED) if n not in lost]
    at = progress(PROCEDURE, kept, NOW)
    first = min(lost)
    if first == len(WALKED) - 1:  # only the mark of the end is lost
        assert at.state is RunState.FINISHED
    else:
        assert at.step is not None
        assert at.step.key == WALKED[first].step
