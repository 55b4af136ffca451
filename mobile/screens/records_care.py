"""The part of Setup that speaks of the records: export, import, and the pages about them."""

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.components.context import use_store
from mobile.components.guarded import guarded
from mobile.state.import_lines import import_lines
from mobile.state.sentences import counted
from mobile.state.snapshot import Snapshot
from mobile.state.storage_lines import records_lines
from mobile.storage.transfer import ImportPreview
from mobile.store import Store
from mobile.texts.setup import TEXTS
from mobile.texts.storage_page import TEXTS as PAGE


@ft.component
@guarded
def RecordsCare() -> ft.Control:
    """Return what is said of the records, with export, import and the ways to their pages."""
    store = use_store()
    snapshot = store.snapshot
    preview = snapshot.preview
    if snapshot.demo:
        return basics.paragraph(TEXTS["records_in_demo"], quiet=True)
    return basics.column(
        basics.heading(TEXTS["records"], level=2),
        *(basics.state_line(tone, text) for tone, text in records_lines(snapshot)),
        basics.side_button(TEXTS["export"], basics.does(store.transfer.export), key="export"),
        basics.side_button(
            TEXTS["import"], None, action=store.transfer.pick_action(), key="import"
        ),
        _preview(store, preview) if preview is not None else None,
        _way(store, "storage"),
        _way(store, "tables") if snapshot.setup is not None else None,
        _way(store, "erase") if _has_records(snapshot) else None,
        spacing=10,
    )


def _has_records(snapshot: Snapshot) -> bool:
    return snapshot.storage.record_count > 0


def _way(store: Store, page: str) -> ft.Control:
    return basics.list_button(
        PAGE[f"to_{page}"],
        PAGE[f"to_{page}_about"],
        lambda _event: store.go(f"/setup/{page}"),
        key=f"to-{page}",
    )


def _preview(store: Store, preview: ImportPreview) -> ft.Control:
    tone = "danger" if preview.refusal else "warn" if preview.is_damaged else "note"
    ways: list[ft.Control] = []
    if preview.refusal is None and (preview.new or preview.conflicting):
        label = TEXTS["import_apply_damaged" if preview.is_damaged else "import_apply"]
        ways.append(
            basics.main_button(
                label.format(new=counted(len(preview.new), "record")),
                basics.does(store.transfer.apply),
                key="import-apply",
            )
        )
    ways.append(
        basics.side_button(
            TEXTS["import_leave"], lambda _event: store.transfer.drop(), key="import-leave"
        )
    )
    said = [
        basics.state_line(tone, line, key="import-line")
        for line in import_lines(store.snapshot, preview)
    ]
    return basics.sheet(*said, *ways, edge=theme.ACCENT, key="import-preview")
