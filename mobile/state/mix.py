"""What the Mix screen prints: a run's progress as ready sentences and answers. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal

from engine.procedure_answers import Held
from engine.procedure_schema import Leads, Option, Procedure, Step
from engine.procedures import (
    BY_KEEPER,
    WAIT_AGAIN,
    Progress,
    RunState,
    Waiting,
    missing_fact,
    wait_answers,
)
from mobile.state.sentences import day_and_time, sentence, when
from mobile.texts.entry import TEXTS as ENTRY_TEXTS
from mobile.texts.procedures import HAZARDS, TEXTS

Facts = Mapping[str, float | str]
Weight = Literal["primary", "plain", "caution", "stop"]

START: Final = "start"
GEAR_FORGOTTEN_AFTER: Final = timedelta(minutes=20)
_ALL_TEXTS: Final = {**ENTRY_TEXTS, **TEXTS}
_WEIGHTS: Final[dict[Leads, Weight]] = {
    Leads.ON: "primary",
    Leads.STAY: "plain",
    Leads.BACK: "caution",
    Leads.STOP: "stop",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MixOption:
    """One button: its words and the answer that a tap gives."""

    label: str
    answer: str
    weight: Weight = "primary"


@dataclass(frozen=True, slots=True, kw_only=True)
class MixAmount:
    """An amount to confirm in one tap, or to type in `unit` with the keypad."""

    unit: str
    other_label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MixView:
    """One page of Mix."""

    title: str
    state: RunState
    step_key: str = ""
    place: str = ""  # "Step 3 of 51"
    sentence: str
    notes: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    paused: str = ""  # that limewater is off, and since when
    options: tuple[MixOption, ...] = ()
    amount: MixAmount | None = None
    countdown: str = ""
    tick_until: datetime | None = None  # the countdown changes until then
    may_stop: bool = False
    stop_label: str = ""
    stop_ask: str = ""
    read_ahead: tuple[str, ...] = ()  # the sentences of the steps still to come


def mix_view(procedure: Procedure, at: Progress, facts: Facts, now: datetime) -> MixView:
    """Return the page for where a run stands; `now` aware, in the zone to print times in."""
    if at.state is RunState.OPEN and at.step is not None:
        return _step_view(procedure, at, at.step, facts, now)
    missing = missing_fact(procedure, facts)
    return MixView(
        title=TEXTS[procedure.key],
        state=at.state,
        sentence=_headline(procedure, at),
        notes=_stopped_notes(at),
        hazards=_hazards(procedure),
        warnings=(_missing(missing),) if missing else (),
        paused=_paused(at, now),
        options=() if missing else (MixOption(label=TEXTS["mix_start"], answer=START),),
        read_ahead=_sentences(procedure.steps, facts),
    )


def held_sentence(held: Held) -> str:
    """Return why an answer was held, and what to do."""
    if held.code == "mix_fact_missing":
        return _missing(str(held.numbers["fact"]))
    return sentence(_ALL_TEXTS, held.code, held.numbers)


def confirm_label(held: Held) -> str:
    """Return the words of the button that keeps an unusual amount."""
    return sentence(TEXTS, "mix_confirm", held.numbers) if held.may_confirm else ""


def option_label(step: Step, option: Option) -> str:
    """Return the words of an answer."""
    return TEXTS["mix_done" if option.answer == "done" else f"{step.sentence}_{option.answer}"]


def _step_view(
    procedure: Procedure, at: Progress, step: Step, facts: Facts, now: datetime
) -> MixView:
    place = procedure.position(step.key)
    numbers: dict[str, float | str] = {
        "place": str(place + 1),
        "steps": str(len(procedure.steps)),
    }
    return MixView(
        title=TEXTS[procedure.key],
        state=at.state,
        step_key=step.key,
        place=sentence(TEXTS, "mix_step", numbers),
        sentence=_said(step.sentence, facts),
        notes=tuple(_said(note, facts) for note in step.notes),
        hazards=_hazards(procedure) if "mask" in step.gear else (),
        warnings=_warnings(at, step, now),
        paused=_paused(at, now),
        options=_options(at, step, facts, now),
        amount=_amount(step),
        countdown=_countdown(at.waiting, now) if at.waiting else "",
        tick_until=at.waiting.advised_until if at.waiting else None,
        may_stop=True,
        stop_label=TEXTS["mix_stop"],
        stop_ask=f"{TEXTS['mix_stop_ask']} {_aftermath(at)}",
        read_ahead=_sentences(procedure.steps[place + 1 :], facts),
    )


def _said(key: str, facts: Facts) -> str:
    """Return a step's sentence, or that a number for it is missing."""
    try:
        return sentence(TEXTS, key, facts)
    except KeyError as error:
        return _missing(str(error.args[0]))


def _missing(fact: str) -> str:
    return sentence(TEXTS, "mix_fact_missing", {"fact": TEXTS.get(f"fact_{fact}", fact)})


def _sentences(steps: tuple[Step, ...], facts: Facts) -> tuple[str, ...]:
    return tuple(_said(step.sentence, facts) for step in steps)


def _hazards(procedure: Procedure) -> tuple[str, ...]:
    return (f"{HAZARDS['signal']}:", *(HAZARDS[code] for code in procedure.hazards))


def _options(at: Progress, step: Step, facts: Facts, now: datetime) -> tuple[MixOption, ...]:
    if at.waiting is not None:
        return _wait_options(at, at.waiting, now)
    if step.amount is not None:
        advised = facts.get(step.amount.advised)
        if not isinstance(advised, float | int):
            return ()
        label = _said(f"{step.sentence}_as_advised", facts)
        return (MixOption(label=label, answer=f"{advised:.6g}"),)
    return tuple(
        MixOption(
            label=option_label(step, option),
            answer=option.answer,
            weight=_WEIGHTS[option.leads],
        )
        for option in step.options
    )


def _wait_options(at: Progress, waiting: Waiting, now: datetime) -> tuple[MixOption, ...]:
    answers = wait_answers(waiting, now)
    if at.clock_back:
        answers = (*answers, WAIT_AGAIN)
    return tuple(
        MixOption(
            label=TEXTS[f"mix_{answer}"],
            answer=answer,
            weight="primary" if now >= waiting.advised_until else "caution",
        )
        for answer in answers
    )


def _amount(step: Step) -> MixAmount | None:
    if step.amount is None:
        return None
    return MixAmount(unit=step.amount.unit, other_label=TEXTS[f"{step.sentence}_other"])


def _warnings(at: Progress, step: Step, now: datetime) -> tuple[str, ...]:
    found: list[str] = []
    if at.clock_back:
        found.append(TEXTS["mix_clock_back"])
    if step.gear and at.moved_at is not None and now - at.moved_at > GEAR_FORGOTTEN_AFTER:
        gear = ", ".join(TEXTS[f"mix_gear_{piece}"] for piece in step.gear)
        found.append(sentence(TEXTS, "mix_gear", {"gear": gear}))
    return tuple(found)


def _paused(at: Progress, now: datetime) -> str:
    if at.delivery_off_since is None:
        return ""
    return sentence(TEXTS, "mix_delivery_paused", {"since": _clock(at.delivery_off_since, now)})


def _countdown(waiting: Waiting, now: datetime) -> str:
    times: dict[str, float | str] = {
        "least": _clock(waiting.least_until, now),
        "advised": _clock(waiting.advised_until, now),
        "ago": when(waiting.advised_until, now),
    }
    if now >= waiting.advised_until:
        return sentence(TEXTS, "mix_wait_over", times)
    if now >= waiting.least_until:
        code, end = "mix_wait_advised", waiting.advised_until
    elif waiting.least_until == waiting.advised_until:
        code, end = "mix_wait_only", waiting.advised_until
    else:
        code, end = "mix_wait_least", waiting.least_until
    return sentence(TEXTS, code, {**times, "left": _left(end - now)})


def _left(span: timedelta) -> str:
    """Return a span in hours and minutes, the last minute begun counted as whole."""
    minutes = -(-int(span.total_seconds()) // 60)
    hours, rest = divmod(max(minutes, 1), 60)
    return f"{hours} h {rest} min" if hours else f"{rest} min"


def _clock(moment: datetime, now: datetime) -> str:
    local = moment.astimezone(now.tzinfo)
    return f"{local:%H:%M}" if local.date() == now.date() else day_and_time(moment, now)


def _headline(procedure: Procedure, at: Progress) -> str:
    if at.state is RunState.FINISHED:
        return TEXTS["mix_finished"]
    if at.state is RunState.STOPPED:
        own = at.stopped_answer == BY_KEEPER
        return TEXTS["mix_stopped_by_keeper" if own else "mix_stopped"]
    return TEXTS[f"{procedure.key}_about"]


def _stopped_notes(at: Progress) -> tuple[str, ...]:
    if at.state is not RunState.STOPPED:
        return ()
    option = at.step.option(at.stopped_answer) if at.step is not None else None
    why = (TEXTS[option.reason],) if option is not None and option.reason else ()
    return (*why, _aftermath(at))


def _aftermath(at: Progress) -> str:
    """Return what a stop leaves behind on the system."""
    if at.delivery_off_since is None:
        return TEXTS["mix_after_on" if at.record_made else "mix_after_nothing"]
    return TEXTS["mix_after_powder_in" if at.record_made else "mix_after_delivery_off"]
