"""The year ahead, month by month."""

from calendar import month_abbr, month_name
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from engine.plan.season import Month, Retune, Season
from engine.plan.season_codes import SeasonCode
from engine.reasons import Reason
from engine.records import SecondSource, Setup
from mobile.state.plot_view import Curve, PlotView, Point, ticks
from mobile.state.sentences import date, told, trimmed
from mobile.state.setup_route import setup_route
from mobile.state.snapshot import Snapshot, Tone
from mobile.texts.plan_ahead import TEXTS
from mobile.texts.season import TEXTS as SEASON

_FLAT_SHARE: Final = 0.03
_MONTHS_APART: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthLines:
    """One month in words."""

    key: str
    title: str
    lines: tuple[str, ...]
    warning: str  # empty while the setting of now does


@dataclass(frozen=True, slots=True, kw_only=True)
class YearView:
    """The page, in the order of reading."""

    tone: Tone
    lead: str
    sentences: tuple[str, ...]
    plot: PlotView | None
    months: tuple[MonthLines, ...]
    is_unknown: bool  # nothing is known of the year: ask for the months, or a refill
    months_route: str  # where the months are asked for


def summary(snapshot: Snapshot) -> str:
    """Return when to retune, where that is soon; the year itself is not worked out for a line."""
    retune = snapshot.ahead.retune if snapshot.ahead else None
    if retune is None or retune.on is None:
        return ""
    return TEXTS["year_retune_on"].format(date=date(retune.on, snapshot.now))


def retune_told(snapshot: Snapshot, retune: Retune) -> str:
    """Return by when the setting of now stops being right, and why; nothing where it does not."""
    if retune.on is None:
        return ""
    dry = retune.code is SeasonCode.RETUNE_EVAPORATION
    text = TEXTS["retune_evaporation" if dry else "retune_alkalinity"]
    return text.format(date=date(retune.on, snapshot.now))


def year(snapshot: Snapshot) -> YearView:
    """Return the page."""
    season = None if snapshot.ahead is None else snapshot.ahead.year
    setup = snapshot.setup
    if not isinstance(season, Season) or setup is None:
        unknown = isinstance(season, Reason) and season.code == SeasonCode.SEASON_UNKNOWN
        return YearView(
            tone="note",
            lead=_said(snapshot, season) if isinstance(season, Reason) else TEXTS["failed"],
            sentences=(),
            plot=None,
            months=(),
            is_unknown=unknown,
            months_route=setup_route("evaporation_high_month") if unknown else "",
        )
    return _known(snapshot, season, setup)


def _known(snapshot: Snapshot, season: Season, setup: Setup) -> YearView:
    *rests_on, retune = season.reasons
    by = season.retune.on
    return YearView(
        tone=_tone(by, snapshot.now),
        lead=retune_told(snapshot, season.retune) or _said(snapshot, retune),
        sentences=(
            *(_said(snapshot, found) for found in reversed(rests_on)),
            TEXTS["year_as_now"],
        ),
        plot=_plot(season.months),
        months=tuple(_lines(snapshot, month, setup) for month in season.months),
        is_unknown=False,
        months_route="",
    )


def _tone(by: datetime | None, now: datetime) -> Tone:
    if by is None:
        return "good"
    return "warn" if by <= now else "note"


def _said(snapshot: Snapshot, found: Reason) -> str:
    return told(SEASON, found.code, found.numbers, snapshot.alkalinity_unit)


def _lines(snapshot: Snapshot, month: Month, setup: Setup) -> MonthLines:
    unit = snapshot.alkalinity_unit
    low, _best, high = month.evaporation_L_per_day
    lines = [
        told(TEXTS, "year_evaporates", {"low_L_per_day": low, "high_L_per_day": high}),
        told(
            TEXTS,
            "year_limewater",
            {
                "possible_L_per_day": month.possible_L_per_day,
                "need_L_per_day": month.need_L_per_day,
            },
        ),
    ]
    left = month.second_meq_per_day.best
    if left > 0.0:
        numbers = {
            "left_meq_per_L_per_day": left / setup.net_volume_L,
            "each_mL_per_day": left / (setup.two_part_meq_per_mL or 1.0),
        }
        lines.append(told(TEXTS, _second(setup), numbers, unit))
    level = {"level_meq_per_L": month.alkalinity_meq_per_L}
    lines.append(told(TEXTS, "year_level", level, unit))
    return MonthLines(
        key=f"{month.year}-{month.month:02}",
        title=f"{month_name[month.month]} {month.year}",
        lines=tuple(lines),
        warning=TEXTS["year_too_high"] if month.setting_too_high else "",
    )


def _second(setup: Setup) -> str:
    if setup.second_source is SecondSource.NONE:
        return "year_second_none"
    if setup.second_source is SecondSource.TWO_PART and setup.two_part_meq_per_mL:
        return "year_second_two_part"
    return "year_second_reactor"


def _plot(months: tuple[Month, ...]) -> PlotView:
    least = min(months, key=lambda month: month.possible_L_per_day)
    most = max(months, key=lambda month: month.possible_L_per_day)
    flat = most.possible_L_per_day - least.possible_L_per_day <= _FLAT_SHARE * (
        most.possible_L_per_day
    )
    possible = [month.possible_L_per_day for month in months]
    needed = [month.need_L_per_day for month in months]
    numbers = {
        "least_L_per_day": least.possible_L_per_day,
        "least_month": month_name[least.month],
        "most_L_per_day": most.possible_L_per_day,
        "most_month": month_name[most.month],
        "need_L_per_day": needed[0],
    }
    return PlotView(
        says=told(TEXTS, "year_plot_flat" if flat else "year_plot_says", numbers),
        y_label=TEXTS["year_plot_y"],
        x_label=TEXTS["year_plot_x"],
        y_ticks=ticks([0.0, *possible, *needed], lambda value: trimmed(value, 1)),
        x_ticks=tuple(
            (float(place), month_abbr[(months[0].month + place - 1) % 12 + 1])
            for place in range(0, len(months) + 1, _MONTHS_APART)
        ),
        curves=(
            Curve(name=TEXTS["year_possible"], points=_steps(possible), look="step"),
            Curve(name=TEXTS["year_needed"], points=_steps(needed), look="dashed", role="other"),
        ),
    )


def _steps(values: list[float]) -> tuple[Point, ...]:
    """Return one point at the start of each month, and the last one held to its end."""
    return tuple((float(place), value) for place, value in enumerate([*values, values[-1]]))
