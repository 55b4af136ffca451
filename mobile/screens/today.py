"""Today: the decision in a sentence, why, where the water stands, what comes next."""

import flet as ft

from engine.records import DeliverySetting, Record, SecondSourceSetting
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.failed_panel import FailedPanel
from mobile.components.guarded import guarded
from mobile.state.incident import banner as incident_banner
from mobile.state.running import running
from mobile.state.second_source import setting_fields
from mobile.state.storage_lines import export_reminder, persistence_reminder
from mobile.state.today import AsTold, TodayView, today
from mobile.state.unseen import unseen
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.failed import TEXTS as FAILED
from mobile.texts.hazard_page import TEXTS as HAZARD
from mobile.texts.incident import TEXTS as INCIDENT
from mobile.texts.jobs import TEXTS as JOBS
from mobile.texts.storage_page import TEXTS as PAGE
from mobile.texts.today import TEXTS


@ft.component
@guarded
def Today() -> ft.Control:
    """Return the first screen."""
    store = use_store()
    if store.snapshot.failure is not None:
        return basics.column(
            FailedPanel(),
            *_unseen(store),
            _resume(store),
            *_copy(store),
            *_not_persisted(store),
            _overdose(store),
            spacing=16,
        )
    view = today(store.snapshot)
    return basics.column(
        _decision(view),
        *_unseen(store),
        _resume(store),
        *_ways(store, view),
        *_hazard(store, view),
        *basics.section(TEXTS["mind"], _mind(store, view)),
        *basics.section(TEXTS["water"], [basics.paragraph(line.text) for line in view.water]),
        *basics.section(TEXTS["next"], _next(store, view)),
        *_copy(store),
        *_not_persisted(store),
        _overdose(store),
        spacing=16,
    )


def _unseen(store: Store) -> list[ft.Control]:
    """Return what may be missing from the log, until the keeper confirms to have read it.

    Where nothing can be saved that is not offered, but to export what is here.
    """
    view = unseen(store.snapshot)
    if view is None:
        return []
    return [
        basics.sheet(
            basics.heading(FAILED["unseen_title"], level=2),
            *(basics.paragraph(text) for text in view.lines),
            basics.main_button(
                FAILED["unseen_confirm"], basics.does(store.unseen.confirm), key="unseen-confirm"
            )
            if view.may_confirm
            else basics.side_button(
                FAILED["export"], basics.does(store.transfer.export), key="unseen-export"
            ),
            edge=theme.DANGER,
            key="unseen",
        )
    ]


def _not_persisted(store: Store) -> list[ft.Control]:
    """Return once a month that the browser may clear the records, and what helps."""
    if not persistence_reminder(store.snapshot):
        return []
    return [
        basics.state_line("note", FAILED["not_persisted"], key="not-persisted"),
        basics.row(
            basics.quiet_button(
                FAILED["not_persisted_export"],
                lambda _event: store.go("/setup"),
                key="not-persisted-export",
            ),
            basics.quiet_button(
                FAILED["not_persisted_later"],
                basics.does(store.unseen.put_off_persistence),
                key="not-persisted-later",
            ),
        ),
    ]


def _overdose(store: Store) -> ft.Control | None:
    """Return the way to record an overdose; one that runs has its own line at the top."""
    if incident_banner(store.snapshot):
        return None
    return basics.side_button(
        INCIDENT["from_today"], lambda _event: store.go("/incident"), key="to-incident"
    )


def _next(store: Store, view: TodayView) -> list[ft.Control]:
    if not view.next_up:
        return []
    lines = [basics.paragraph(text) for text in view.next_up]
    to_jobs = basics.side_button(JOBS["to_jobs"], lambda _event: store.go("/jobs"), key="to-jobs")
    return [*lines, to_jobs]


def _copy(store: Store) -> list[ft.Control]:
    """Return that records stand in no export, once that is worth a word."""
    said = export_reminder(store.snapshot)
    if not said:
        return []
    return [
        basics.state_line("warn", said, key="export-reminder"),
        basics.side_button(PAGE["today_way"], lambda _event: store.go("/setup"), key="to-export"),
    ]


def _decision(view: TodayView) -> ft.Control:
    return basics.column(
        ft.Semantics(
            header=True,
            heading_level=1,
            content=basics.state_lead(view.tone, view.lead, key="decision"),
        ),
        *(basics.paragraph(text) for text in view.why),
        spacing=10,
    )


def _ways(store: Store, view: TodayView) -> list[ft.Control]:
    if view.first_test:
        return [
            basics.main_button(
                TEXTS["record_test"],
                lambda _event: store.go("/record/total_alkalinity"),
                key="record-test",
            )
        ]
    told = view.as_told
    done = (
        [basics.main_button(told.label, basics.does(_set_as_told, store, told), key="as-told")]
        if told
        else []
    )
    return [
        *done,
        basics.side_button(TEXTS["to_plan"], lambda _event: store.go("/plan"), key="to-plan"),
    ]


def _mind(store: Store, view: TodayView) -> list[ft.Control]:
    return [
        *(basics.state_line(line.tone, line.text) for line in view.mind),
        *(
            basics.side_button(
                page.label, lambda _event, route=page.route: store.go(route), key=page.key
            )
            for page in view.closer
        ),
    ]


async def _set_as_told(store: Store, told: AsTold) -> None:
    """Record that pump and second source were set to what Today asks for."""
    records: list[Record] = []
    if told.limewater_L_per_day is not None:
        fields = {"limewater_L_per_day": told.limewater_L_per_day}
        records.append(store.make(DeliverySetting, fields))
    if told.alkalinity_meq_per_day is not None:
        fields = setting_fields(store.snapshot, told.alkalinity_meq_per_day)
        records.append(store.make(SecondSourceSetting, fields))
    await store.save(records, told.label)


def _resume(store: Store) -> ft.Control | None:
    found = running(store.snapshot)
    if found is None:
        return None
    return basics.main_button(
        TEXTS["resume"].format(procedure=found.title),
        lambda _event: store.go(f"/mix/{found.key}"),
        key="resume-procedure",
    )


def _hazard(store: Store, view: TodayView) -> list[ft.Control]:
    """Return the warning while one fault can reach the band that animals feel."""
    if not view.hazard:
        return []
    return [
        *(
            basics.state_line("danger", text, key="hazard-line" if number == 0 else None)
            for number, text in enumerate(view.hazard)
        ),
        basics.side_button(
            HAZARD["today_button"], lambda _event: store.go("/plan/hazard"), key="to-hazard"
        ),
    ]


@ft.component
@guarded
def Starting() -> ft.Control:
    """Return what stands here while the records are being opened."""
    return basics.column(
        ft.ProgressBar(color=theme.ACCENT, bgcolor=theme.SOFT),
        basics.paragraph(APP["starting"], key="opening"),
    )
