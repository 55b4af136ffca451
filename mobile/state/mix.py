"""What the Mix screen prints: a run's progress as ready sentences and answers. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from string import Formatter
from typing import Final, Literal

from engine.procedures.answers import Held, is_beyond
from engine.procedures.runs import (
    BY_KEEPER,
    WAIT_AGAIN,
    Progress,
    RunState,
    Waiting,
    missing_fact,
    wait_answers,
)
from engine.procedures.schema import Handles, Leads, Option, Procedure, Step, StepKind
from mobile.state.mix_list import place_of
from mobile.state.mix_times import clock, countdown
from mobile.state.sentences import number, sentence, unit_label
from mobile.texts.entry import TEXTS as ENTRY_TEXTS
from mobile.texts.procedures import CALLED_FOR_BY, DANGER, FIRST_AID, HAZARDS, TEXTS

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
    tools: tuple[str, ...] = ()
    risks: tuple[str, ...] = ()
    first_aid: tuple[str, ...] = ()
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


def mix_view(
    procedure: Procedure, at: Progress, facts: Facts, now: datetime, delivery: str = ""
) -> MixView:
    """Return the page for where a run stands.

    `now` is aware, in the zone to print times in; `delivery` tells which steps a new run has.
    """
    if at.state is RunState.OPEN and at.step is not None:
        return _step_view(procedure, at, at.step, facts, now)
    missing = missing_fact(procedure, facts)
    return MixView(
        title=TEXTS[procedure.key],
        state=at.state,
        sentence=_headline(procedure, at),
        notes=_stopped_notes(procedure, at),
        tools=tuple(TEXTS[key] for key in procedure.tools),
        risks=tuple(TEXTS[key] for key in procedure.risks),
        hazards=_hazards(procedure),
        first_aid=_first_aid(procedure),
        warnings=(_missing(missing),) if missing else (),
        paused=_paused(at, now),
        options=() if missing else (MixOption(label=TEXTS["mix_start"], answer=START),),
        read_ahead=_sentences(procedure.path(delivery, {}), facts),
    )


def held_sentence(held: Held) -> str:
    """Return why an answer was held, and what to do."""
    if held.code == "mix_fact_missing":
        return _missing(str(held.numbers["fact"]))
    return sentence(_ALL_TEXTS, held.code, _judged(held))


def confirm_label(held: Held) -> str:
    """Return the words of the button that keeps an unusual amount."""
    return sentence(TEXTS, "mix_confirm", _judged(held)) if held.may_confirm else ""


def _judged(held: Held) -> dict[str, float | str]:
    """Return the numbers with the typed, advised and largest one under plain names, too."""
    numbers = dict(held.numbers)
    for key, value in held.numbers.items():
        name = key.partition("_")[0]
        if name in ("typed", "advised", "largest"):
            numbers[name] = number(key, value)
    return numbers


def option_label(step: Step, option: Option) -> str:
    """Return the words of an answer."""
    return TEXTS["mix_done" if option.answer == "done" else f"{step.sentence}_{option.answer}"]


def _step_view(
    procedure: Procedure, at: Progress, step: Step, facts: Facts, now: datetime
) -> MixView:
    path = procedure.path(at.delivery, {done.key: done.answer for done in at.done})
    remarks = tuple(r.note for r in step.remarks if is_beyond(r, facts))
    return MixView(
        title=TEXTS[procedure.key],
        state=at.state,
        step_key=step.key,
        place=sentence(TEXTS, "mix_step", place_of(procedure, at)),
        sentence=_said(step.sentence, facts),
        notes=tuple(_said(note, facts) for note in (*step.notes, *remarks)),
        hazards=_hazards(procedure) if step.handles == Handles.DUST else (),
        warnings=_warnings(at, step, now),
        paused=_paused(at, now),
        options=_options(at, step, facts, now),
        amount=_amount(step),
        countdown=countdown(at.waiting, now) if at.waiting else "",
        tick_until=at.waiting.advised_until if at.waiting else None,
        may_stop=True,
        stop_label=TEXTS["mix_stop"],
        stop_ask=f"{TEXTS['mix_stop_ask']} {_aftermath(procedure, at)}",
        read_ahead=_sentences(path[path.index(step) + 1 :], facts),
    )


def _said(key: str, facts: Facts) -> str:
    """Return a step's sentence, or that a number for it is missing."""
    try:
        return sentence(TEXTS, key, facts)
    except KeyError as error:
        return _missing(str(error.args[0]))


def _missing(fact: str) -> str:
    name = TEXTS.get(f"fact_{fact}", TEXTS["fact_other"])
    return sentence(TEXTS, "mix_fact_missing", {"fact": name})


def _sentences(steps: tuple[Step, ...], facts: Facts) -> tuple[str, ...]:
    """Return what is still to come; a number that is not known yet is left open."""
    open_numbers = {
        name: "…"
        for step in steps
        for _, name, _, _ in Formatter().parse(TEXTS[step.sentence])
        if name and name not in facts
    }
    return tuple(_said(step.sentence, {**facts, **open_numbers}) for step in steps)


def _hazards(procedure: Procedure) -> tuple[str, ...]:
    if not procedure.hazards:
        return ()
    signal = "signal" if DANGER & set(procedure.hazards) else "signal_warning"
    return (f"{HAZARDS[signal]}:", *(HAZARDS[code] for code in procedure.hazards))


def _first_aid(procedure: Procedure) -> tuple[str, ...]:
    """Return the first aid that the hazards call for, the eyes first."""
    called = {key for code in procedure.hazards for key in CALLED_FOR_BY[code]}
    return tuple(words for key, words in FIRST_AID.items() if key in called)


def _options(at: Progress, step: Step, facts: Facts, now: datetime) -> tuple[MixOption, ...]:
    if at.waiting is not None:
        return _wait_options(at, at.waiting, now)
    if step.amount is not None:
        advised = facts.get(step.amount.advised) if step.amount.advised else None
        if not isinstance(advised, float | int):
            return ()
        label = _said(f"{step.sentence}_as_advised", facts)
        return (MixOption(label=label, answer=f"{advised:.6g}"),)
    return tuple(
        MixOption(
            label=option_label(step, option),
            answer=option.answer,
            weight=_weight(step, option),
        )
        for option in step.options
    )


def _weight(step: Step, option: Option) -> Weight:
    """Return a button's weight: beside the expected answer no other one is as strong."""
    if option.leads is Leads.ON and step.kind is not StepKind.CHOICE:
        return "primary" if option is step.options[0] else "plain"
    return _WEIGHTS[option.leads]


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
    other = TEXTS[f"{step.sentence}_other"] if step.amount.advised else ""
    return MixAmount(unit=unit_label(step.amount.unit), other_label=other)


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
    return sentence(TEXTS, "mix_delivery_paused", {"since": clock(at.delivery_off_since, now)})


def _headline(procedure: Procedure, at: Progress) -> str:
    if at.state is RunState.FINISHED:
        return TEXTS[f"{procedure.key}_finished"]
    if at.state is RunState.STOPPED:
        own = at.stopped_answer == BY_KEEPER
        return TEXTS["mix_stopped_by_keeper" if own else "mix_stopped"]
    return TEXTS[f"{procedure.key}_about"]


def _stopped_notes(procedure: Procedure, at: Progress) -> tuple[str, ...]:
    if at.state is not RunState.STOPPED:
        return ()
    option = at.step.option(at.stopped_answer) if at.step is not None else None
    why = (TEXTS[option.reason],) if option is not None and option.reason else ()
    return (*why, _aftermath(procedure, at))


def _aftermath(procedure: Procedure, at: Progress) -> str:
    """Return what a stop leaves behind on the system."""
    if at.delivery_off_since is None:
        kept = "mix_after_records" if at.recorded else "mix_after_nothing"
        return TEXTS["mix_after_on" if at.powder_in else kept]
    if not at.powder_in:
        return TEXTS["mix_after_delivery_off"]
    return TEXTS.get(f"{procedure.key}_powder_in", TEXTS["mix_after_powder_in"])
