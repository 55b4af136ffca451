"""What comes when: the list, one job's page, and the file for the phone's calendar."""

from typing import Any

import flet as ft

from engine.records import JobChoice, JobDone
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.failed_panel import FailedPanel
from mobile.components.guarded import guarded
from mobile.screens.plan import undecided
from mobile.state import job_page, jobs
from mobile.state.job_page import JobView
from mobile.state.jobs import JobLine
from mobile.state.sentences import days
from mobile.store import Store
from mobile.texts.jobs import TEXTS


@ft.component
@guarded
def Jobs() -> ft.Control:
    """Return the list of what comes when."""
    store = use_store()
    if store.snapshot.decision is None:
        return undecided(store)
    if not jobs.are_known(store.snapshot):
        return FailedPanel()
    view = jobs.jobs_page(store.snapshot)
    return basics.column(
        basics.heading(TEXTS["page_jobs"]),
        basics.state_lead(view.tone, view.lead, key="jobs-lead"),
        *_list(store, "due_title", view.due),
        *_list(store, "coming_title", view.coming),
        *_list(store, "later_title", view.later),
        *basics.section(TEXTS["daily_title"], [basics.paragraph(text) for text in view.daily]),
        *_list(store, "unknown_title", view.unknown, TEXTS["unknown_about"]),
        *_list(store, "off_title", view.off),
        *basics.section(TEXTS["calendar_title"], _calendar(store)),
        basics.side_button(TEXTS["to_minder"], lambda _event: store.go("/minder"), key="to-minder"),
        basics.paragraph(TEXTS["practice"], quiet=True),
        spacing=18,
    )


def _calendar(store: Store) -> list[ft.Control]:
    return [
        basics.paragraph(TEXTS["calendar_about"]),
        basics.side_button(
            TEXTS["calendar_export"], basics.does(store.papers.calendar), key="export-calendar"
        ),
    ]


def _list(
    store: Store, title: str, lines: tuple[JobLine, ...], about: str = ""
) -> list[ft.Control]:
    rows: list[ft.Control] = [basics.paragraph(about, quiet=True)] if about and lines else []
    rows += [
        basics.list_button(
            line.title,
            "\n".join(filter(None, (line.when, line.why))),
            lambda _event, job=line.job: store.go(f"/jobs/{job}"),
            key=f"job-{line.job}",
        )
        for line in lines
    ]
    return basics.section(TEXTS[title], rows)


@ft.component
@guarded
def JobPage() -> ft.Control:
    """Return one job: why, where it is done, and how the keeper wants it."""
    store = use_store()
    why, set_why = ft.use_state(job_page.REASONS[0])
    if store.snapshot.decision is None:
        return undecided(store)
    if not jobs.are_known(store.snapshot):
        return FailedPanel()
    view = job_page.job_page(store.snapshot, ft.use_route_params().get("job", ""))
    back = basics.side_button(TEXTS["back"], lambda _event: store.go("/jobs"), key="back")
    if view is None:
        return basics.column(basics.paragraph(TEXTS["not_applicable"]), back)
    return basics.column(
        basics.heading(view.title),
        basics.lead(view.when, key="job-when") if view.when else None,
        *(basics.paragraph(text) for text in view.why),
        *_ways(store, view),
        *basics.section(TEXTS["interval_title"], _intervals(store, view)),
        *basics.section(
            TEXTS["snooze_title"], [] if view.is_off else _snooze(store, view, why, set_why)
        ),
        _switch(store, view),
        basics.paragraph(TEXTS["off_about"], quiet=True) if view.is_off else None,
        back,
        spacing=16,
    )


def _ways(store: Store, view: JobView) -> list[ft.Control]:
    shown: list[ft.Control] = []
    if view.route:
        shown.append(
            basics.main_button(TEXTS["do_it"], lambda _event: store.go(view.route), key="do-it")
        )
    if view.may_mark:
        button = basics.side_button if view.route else basics.main_button
        shown.append(button(TEXTS["mark_done"], basics.does(_mark, store, view), key="mark-done"))
    return shown


async def _mark(store: Store, view: JobView) -> None:
    record = store.make(JobDone, {"job": view.job})
    await store.save([record], TEXTS["marked"].format(job=view.title), then="/jobs")


def _intervals(store: Store, view: JobView) -> list[ft.Control]:
    if not view.intervals:
        return []
    buttons = [
        basics.choice_button(
            words,
            taken=taken,
            on_click=basics.does(
                _choose, store, view, interval_days=float(value) if value else None
            ),
            key=f"interval-{value or 'usual'}",
        )
        for value, words, taken in view.intervals
    ]
    return [basics.row(*buttons)]


def _snooze(store: Store, view: JobView, why: str, set_why: Any) -> list[ft.Control]:
    if view.is_snoozed:
        stop = basics.does(_choose, store, view)
        return [basics.side_button(TEXTS["snooze_stop"], stop, key="snooze-stop")]
    return [
        basics.paragraph(TEXTS["snooze_why"], quiet=True),
        basics.choices([(key, TEXTS[key]) for key in job_page.REASONS], why, set_why, key="why"),
        basics.row(
            *(
                basics.choice_button(
                    TEXTS["snooze_for"].format(days=days(value)),
                    taken=False,
                    on_click=basics.does(_choose, store, view, snoozed_days=value, note=TEXTS[why]),
                    key=f"snooze-{value:g}",
                )
                for value in job_page.SNOOZES_DAYS
            )
        ),
    ]


def _switch(store: Store, view: JobView) -> ft.Control:
    label = TEXTS["turn_on" if view.is_off else "turn_off"]
    change = basics.does(_choose, store, view, off=not view.is_off)
    return basics.side_button(label, change, key="turn-on" if view.is_off else "turn-off")


async def _choose(store: Store, view: JobView, **changes: Any) -> None:
    fields = job_page.choice_fields(store.snapshot, view.job, **changes)
    record = store.make(JobChoice, fields)
    await store.save([record], TEXTS["chosen"].format(job=view.title))
