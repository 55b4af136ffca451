"""What stands above and below every screen: banners, and the notice of the last tap."""

import flet as ft

from mobile import theme
from mobile.components import basics
from mobile.state.incident import banner as incident_banner
from mobile.state.snapshot import Snapshot
from mobile.store import Store
from mobile.texts.app import TEXTS
from mobile.texts.incident import TEXTS as INCIDENT


def banners(store: Store, snapshot: Snapshot, path: str) -> list[ft.Control]:
    """Return what stands above every screen: an overdose, records not kept, read only, the demo."""
    shown: list[ft.Control] = []
    overdose = incident_banner(snapshot) if snapshot.ready else ""
    if overdose and not path.startswith("/incident"):
        go = _banner_button(
            INCIDENT["banner_go"],
            lambda _event: store.go("/incident"),
            "go-incident",
            theme.ON_DANGER,
        )
        shown.append(_banner(overdose, theme.DANGER, theme.ON_DANGER, "incident", go))
    if snapshot.ready and snapshot.storage.backend == "memory" and not snapshot.demo:
        shown.append(_banner(TEXTS["memory_banner"], theme.DANGER, theme.ON_DANGER, "memory"))
    blocked = snapshot.storage.blocked
    if blocked and not snapshot.demo:
        text = TEXTS.get(f"read_only_{blocked}", TEXTS["read_only_banner"])
        use = _banner_button(TEXTS["use_here"], store.windows.use_here, "use-here", theme.ON_SOFT)
        shown.append(
            _banner(
                text,
                theme.SOFT,
                theme.ON_SOFT,
                "read-only",
                use if snapshot.is_elsewhere else None,
            )
        )
    if snapshot.demo:
        leave = _banner_button(TEXTS["demo_leave"], store.leave_demo, "leave-demo", theme.ON_SOFT)
        shown.append(_banner(TEXTS["demo_banner"], theme.SOFT, theme.ON_SOFT, "demo", leave))
    return shown


def _banner_button(text: str, on_click: basics.Handler, key: str, colour: str) -> ft.Control:
    return ft.TextButton(
        content=ft.Text(text, size=theme.SMALL, weight=ft.FontWeight.W_700, color=colour),
        on_click=on_click,
        key=key,
        style=ft.ButtonStyle(padding=ft.Padding.symmetric(vertical=18, horizontal=12)),
    )


def _banner(
    text: str, colour: str, on_colour: str, key: str, action: ft.Control | None = None
) -> ft.Control:
    words = ft.Text(text, size=theme.SMALL, color=on_colour, key=f"banner-{key}")
    return ft.Container(
        bgcolor=colour,
        padding=ft.Padding.symmetric(horizontal=theme.PAD, vertical=4 if action else 10),
        content=ft.Row(
            [words, action] if action else [words],
            wrap=True,
            spacing=theme.GAP,
            run_spacing=0,
            alignment=ft.MainAxisAlignment.SPACE_BETWEEN,
            vertical_alignment=ft.CrossAxisAlignment.CENTER,
        ),
    )


def notice(store: Store, snapshot: Snapshot) -> list[ft.Control]:
    """Return what the last tap did, with its way back; or that a newer build waits."""
    said = snapshot.notice
    if snapshot.update_ready and said is None:
        return [_notice_bar("note", TEXTS["update_ready"], _update_button(store))]
    if said is None:
        return []
    button = (
        _notice_button(TEXTS["undo"], store.undo, "undo")
        if said.undo_ids
        else _notice_button(TEXTS["dismiss"], store.dismiss, "dismiss")
    )
    return [_notice_bar(said.tone, said.text, button)]


def _notice_bar(tone: str, text: str, button: ft.Control) -> ft.Control:
    words = ft.Semantics(live_region=True, content=basics.state_line(tone, text, key="notice"))
    return ft.Container(
        bgcolor=theme.SHEET,
        border=ft.Border(top=ft.BorderSide(1, theme.LINE)),
        padding=ft.Padding.only(left=theme.PAD, right=4, top=4, bottom=4),
        content=ft.Row([ft.Container(words, expand=True), button], spacing=4),
    )


def _notice_button(text: str, on_click: basics.Handler, key: str) -> ft.Control:
    return ft.TextButton(
        content=ft.Text(text, size=theme.BODY, weight=ft.FontWeight.W_700, color=theme.ACCENT),
        on_click=on_click,
        key=key,
        style=ft.ButtonStyle(padding=ft.Padding.symmetric(vertical=18, horizontal=16)),
    )


def _update_button(store: Store) -> ft.Control:
    return _notice_button(TEXTS["update_now"], store.version.apply, "update-now")
