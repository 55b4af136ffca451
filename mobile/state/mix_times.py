"""Times on a page of Mix: how long a wait lasts, and when it ended. Pure."""

from datetime import datetime, timedelta

from engine.procedures.runs import Waiting
from mobile.state.sentences import day_and_time, sentence, when
from mobile.texts.procedures import TEXTS


def countdown(waiting: Waiting, now: datetime) -> str:
    """Return how long a wait still lasts, or that it ended, and when."""
    times: dict[str, float | str] = {
        "least": clock(waiting.least_until, now),
        "advised": clock(waiting.advised_until, now),
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


def clock(moment: datetime, now: datetime) -> str:
    """Return a time of today, or a day and a time."""
    local = moment.astimezone(now.tzinfo)
    return f"{local:%H:%M}" if local.date() == now.date() else day_and_time(moment, now)
