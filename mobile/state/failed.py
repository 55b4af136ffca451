"""What stands where no decision, or no page, can be had: the last verdict and the last readings."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from engine.limits import Action
from mobile.state.boundary import tried
from mobile.state.record import reading_of
from mobile.state.recorded import reading_text
from mobile.state.running import running
from mobile.state.sentences import sentence, when
from mobile.state.snapshot import Snapshot, Tone
from mobile.state.verdict import Verdict
from mobile.texts.failed import TEXTS
from mobile.texts.today import TEXTS as TODAY

_SHOWN: Final = ("pH_nbs", "total_alkalinity", "salinity", "calcium", "magnesium")


@dataclass(frozen=True, slots=True, kw_only=True)
class FailedView:
    """What is known without a decision, in the order of reading."""

    tone: Tone
    lead: str  # what to do
    why: tuple[str, ...]
    readings: tuple[str, ...]


def failed(snapshot: Snapshot) -> FailedView:
    """Return what the panel says; nothing here asks the engine for a number."""
    verdict = snapshot.verdict
    paused = tried("panel", lambda: _paused(snapshot), "")
    readings = tried("readings", lambda: tuple(_readings(snapshot)), ())
    return FailedView(
        tone="warn" if age_of(verdict, snapshot.now) == "" else "danger",
        lead=stands(verdict),
        why=tuple(text for text in (age_of(verdict, snapshot.now), paused) if text),
        readings=readings or (TEXTS["readings_none"],),
    )


def stands(verdict: Verdict | None) -> str:
    """Return what is to be done without a decision: stop and lower stand, else measure first."""
    standing = verdict.standing if verdict else None
    if standing is None or standing.action is Action.HOLD:
        return TEXTS["verdict_none"]
    if standing.action is Action.STOP:
        return TEXTS["verdict_stop"]
    if standing.lower_to_L_per_day is None:
        return TEXTS["verdict_lower_unknown"]
    # In the suffix of a setting: rounded toward less, as the pump shows it.
    numbers = {"lower_to_setting_L_per_day": standing.lower_to_L_per_day}
    return sentence(TEXTS, "verdict_lower", numbers)


def age_of(verdict: Verdict | None, now: datetime) -> str:
    """Return how old a verdict is that stands; nothing where none does."""
    if verdict is None or verdict.standing.action is Action.HOLD:
        return ""
    return TEXTS["verdict_age"].format(when=when(verdict.at, now))


def worst_of(verdicts: Iterable[Verdict | None]) -> Verdict | None:
    """Return the verdict to go by where it is not known whose records do not open."""
    known = [each for each in verdicts if each is not None]
    for action in (Action.STOP, Action.LOWER):
        own = [each for each in known if each.standing.action is action]
        if own:
            return max(own, key=lambda each: each.at)
    return None


def _paused(snapshot: Snapshot) -> str:
    run = running(snapshot)
    return run.paused if run else ""


def _readings(snapshot: Snapshot) -> Iterable[str]:
    texts = {**TODAY, **TEXTS}
    for code in _SHOWN:
        for record in reversed(snapshot.standing):
            reading = reading_of(record, code)
            if reading is not None:
                value = reading_text(reading, snapshot.alkalinity_unit)
                yield texts[f"last_{code}"].format(value=value, when=when(record.at, snapshot.now))
                break
