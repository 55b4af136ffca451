"""Every view model of every page, worked out from one log: what a keeper could open at all."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import datetime
from functools import cached_property
from itertools import islice
from math import isfinite
from typing import Any

from engine.demand.facts import Facts, gather
from engine.jobs.codes import Job
from engine.plan.additions import What
from engine.records import Record, WaterTest
from engine.vocabulary import PARAMETERS
from mobile.procedures import all_procedures
from mobile.state import (
    additions,
    additions_draft,
    air,
    amend,
    calendar_events,
    erasing,
    figures,
    hazard,
    hazard_plots,
    hazard_what_if,
    history,
    history_plot,
    incident,
    job_page,
    jobs,
    minder,
    minder_html,
    mix,
    mix_facts,
    mix_list,
    plan,
    plan_day,
    plan_drift,
    plan_water,
    plan_year,
    powder,
    record,
    recorded,
    running,
    setup_checks,
    setup_draft,
    setup_pages,
    storage_lines,
    today,
)
from mobile.state.dangers import DangerBook, dangers_of, key_of
from mobile.state.forms import FORMS
from mobile.state.sheet.export import readings_csv
from mobile.state.snapshot import Snapshot, StorageState
from mobile.state.updates import decided, with_records

SPANS = history_plot.SPANS
OPENED = 25  # entries of History that are opened


def snapshot_of(records: Iterable[Record], system: str, now: datetime) -> Snapshot:
    """Return the state of an app that holds these records and shows one system."""
    snapshot = with_records(
        Snapshot(now=now, storage=StorageState(backend="file")), records, system, now
    )
    snapshot = decided(snapshot)
    if snapshot.setup is None:
        return snapshot
    facts = gather(snapshot.records, system=system, now=now)
    key = key_of(snapshot.standing, snapshot.setup, system, now)
    return replace(snapshot, dangers=dangers_of(facts, key, system))


def views(snapshot: Snapshot) -> Iterator[tuple[str, Any]]:
    """Yield name and view model of everything that the app can show of a snapshot."""
    yield "history", history.lines(snapshot, history.PAGE)
    for entry in islice(reversed(snapshot.records), OPENED):
        yield from _opened(snapshot, entry)
    for setup_page in setup_pages.PAGES:
        before = setup_pages.draft_of(snapshot.setup)
        answers = setup_draft.opened(setup_page, before)
        yield "setup page", setup_draft.taken(setup_page, answers).faults
        yield "setup", [setup_pages.shown(ask, before) for ask in setup_page.asks]
    yield "setup doubts", setup_checks.doubts(setup_pages.draft_of(snapshot.setup), ())
    yield "erase", [erasing.choices(snapshot), erasing.sure_lines(snapshot, snapshot.system)]
    yield (
        "storage",
        [
            storage_lines.storage_sections(snapshot),
            storage_lines.export_reminder(snapshot),
            storage_lines.records_lines(snapshot),
        ],
    )
    for sign in ".,":
        yield "table", readings_csv(snapshot.standing, alkalinity_unit="dKH", sign=sign)
    yield "record list", [_form(snapshot, form) for form in FORMS.values()]
    yield "incident", [incident.banner(snapshot), incident.incident(snapshot)]
    for parameter in (*PARAMETERS, *_read(snapshot)):
        for span in SPANS:
            yield "plot", history_plot.history_plot(snapshot, parameter, span)
    if snapshot.setup is None:
        return
    yield "today", today.today(snapshot)
    yield from _plan(snapshot)
    yield from _mix(snapshot)
    yield "jobs", [jobs.jobs_page(snapshot), jobs.for_today(snapshot)]
    for job in Job:
        yield (
            "job",
            [
                job_page.job_page(snapshot, job),
                job_page.choice_fields(snapshot, job),
            ],
        )
    yield "calendar", calendar_events.events(snapshot)
    sheet = minder.minder(snapshot)
    yield "minder", [sheet, minder_html.minder_html(sheet) if sheet else ""]
    yield "air", [air.air(snapshot, sure) for sure in ("", "no", "yes")]
    yield from _additions(snapshot)
    yield "card", figures.for_card(snapshot.records, snapshot, snapshot.now, DangerBook())


def _opened(snapshot: Snapshot, entry: Record) -> Iterator[tuple[str, Any]]:
    found = history.detail(snapshot, entry.id)
    yield "entry", found and [found.line, found.sentences, found.withdraws, found.about_withdrawal]
    yield "title", [recorded.title(entry), recorded.summary(entry, "meq/L")]
    start = found and found.original
    if start and snapshot.setup is not None:
        draft = replace(start.start, words="x", texts=dict.fromkeys(start.start.texts, "8"))
        for each in (start.start, draft):
            yield (
                "amend",
                amend.check(
                    start,
                    each,
                    standing=snapshot.standing,
                    now=snapshot.now,
                    setup=snapshot.setup,
                ),
            )


def _form(snapshot: Snapshot, form: Any) -> list[Any]:
    return [
        form.title,
        record.last_line(snapshot, form),
        record.last_units(snapshot, form),
        record.meter_drift(snapshot, form),
        record.last_bottle(snapshot, form),
        record.testers(snapshot),
    ]


def _read(snapshot: Snapshot) -> set[str]:
    """Return the parameters that were read, known ones or not."""
    tests = (each for each in snapshot.records if isinstance(each, WaterTest))
    return {reading.parameter for test in tests for reading in test.readings}


def _plan(snapshot: Snapshot) -> Iterator[tuple[str, Any]]:
    decision = snapshot.decision
    yield "closer", plan.closer(snapshot)
    yield "drift", plan_drift.drift(snapshot)
    yield "water", [plan_water.water(snapshot), plan_water.soon(snapshot)]
    yield "year", plan_year.year(snapshot)
    if decision is not None:
        yield "plan", plan.plan(snapshot, decision)
        yield "day", plan_day.day(snapshot, decision)
        yield "powder", powder.powder(snapshot, decision)
    if snapshot.dangers is not None:
        yield "hazard", hazard.hazard(snapshot, snapshot.dangers)
        yield "hazard plots", hazard_plots.plots(snapshot, snapshot.dangers)
    yield (
        "what if",
        [
            hazard_what_if.what_if(snapshot, tried)
            for tried in ({}, {"container": 25.0, "cut_off": None, "break": 1.0, "rate": 3.0})
        ],
    )


def _mix(snapshot: Snapshot) -> Iterator[tuple[str, Any]]:
    yield "mix list", mix_list.mix_list(snapshot)
    yield "running", running.running(snapshot)
    delivery = snapshot.setup.delivery if snapshot.setup else ""
    for procedure in all_procedures():
        at = mix_list.where(procedure, snapshot)
        known = mix_facts.mix_facts(snapshot, procedure, at)
        yield f"mix {procedure.key}", mix.mix_view(procedure, at, known, snapshot.now, delivery)


def _additions(snapshot: Snapshot) -> Iterator[tuple[str, Any]]:
    draft = additions_draft.Draft()
    for what in What:
        draft = additions_draft.toggled(draft, what)
        yield "addition figures", additions.figures(snapshot, draft, what)
    yield "additions", additions.result(snapshot, draft)


def assert_sound(value: Any, where: str) -> None:
    """Assert that no number in a value, however deep, is complex, infinite or not a number."""
    for path, each in _numbers(value, where):
        assert isinstance(each, (int, float)), f"{path} is {each!r}"
        assert isfinite(each), f"{path} is {each!r}"


def _numbers(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, (bool, str, bytes, datetime, Record, Facts, type(None))):
        return  # records hold what they were given
    if isinstance(value, (int, float, complex)):
        yield path, value
    elif hasattr(value, "magnitude"):
        yield path, value.magnitude
    elif is_dataclass(value) and not isinstance(value, type):
        for each in fields(value):
            yield from _numbers(getattr(value, each.name), f"{path}.{each.name}")
    elif isinstance(value, Mapping):
        for key, each in value.items():
            yield from _numbers(each, f"{path}[{key!r}]")
    elif isinstance(value, (tuple, list, set, frozenset)):
        for number, each in enumerate(value):
            yield from _numbers(each, f"{path}[{number}]")
    else:
        yield from _worked_out(value, path)


def _worked_out(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    """Yield the numbers of what is worked out when asked for (`mobile.state.ahead.Ahead`)."""
    for name, each in vars(type(value)).items() if hasattr(value, "__dict__") else ():
        if isinstance(each, cached_property):
            yield from _numbers(getattr(value, name), f"{path}.{name}")
