"""Today: the decision in a sentence, why, where the water stands, what comes next."""

import flet as ft

from engine.records import DeliverySetting, Record, SecondSourceSetting
from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.state.running import running
from mobile.state.today import AsTold, TodayView, today
from mobile.store import Store
from mobile.texts.app import TEXTS as APP
from mobile.texts.today import TEXTS


@ft.component
@guarded
def Today() -> ft.Control:
    """Return the first screen."""
    store = use_store()
    view = today(store.snapshot)
    return basics.column(
        _decision(view),
        _resume(store),
        *_ways(store, view),
        *_section(TEXTS["mind"], [basics.state_line(line.tone, line.text) for line in view.mind]),
        *_section(TEXTS["water"], [basics.paragraph(line.text) for line in view.water]),
        *_section(TEXTS["next"], [basics.paragraph(text) for text in view.next_up]),
        spacing=16,
    )


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


async def _set_as_told(store: Store, told: AsTold) -> None:
    """Record that pump and second source were set to what Today asks for."""
    records: list[Record] = []
    if told.limewater_L_per_day is not None:
        fields = {"limewater_L_per_day": told.limewater_L_per_day}
        records.append(store.make(DeliverySetting, fields))
    if told.alkalinity_meq_per_day is not None:
        fields = {"alkalinity_meq_per_day": told.alkalinity_meq_per_day}
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


def _section(title: str, controls: list[ft.Control]) -> list[ft.Control]:
    if not controls:
        return []
    return [basics.column(basics.heading(title, level=2), *controls, spacing=8)]


@ft.component
@guarded
def Starting() -> ft.Control:
    """Return what stands here while the records are being opened."""
    return basics.column(
        ft.ProgressBar(color=theme.ACCENT, bgcolor=theme.SOFT),
        basics.paragraph(APP["starting"], key="opening"),
    )
