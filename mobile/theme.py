"""Colours, sizes and the two themes: light "chalk" and dark "slate"."""

from typing import Final, NamedTuple

import flet as ft

FONT: Final = "Sumpside Sans"

# Sizes in logical pixels. Gloved thumbs: nothing to tap is lower than TARGET.
TARGET: Final = 56
KEY: Final = 64
GAP: Final = 8
PAD: Final = 16
WIDEST: Final = 640  # a reading column, also on a tablet

BODY: Final = 17
SMALL: Final = 15
PLACE: Final = 13  # labels of the bottom bar
LEAD: Final = 22
TITLE: Final = 26
FIGURE: Final = 44


class Tones(NamedTuple):
    """The colours of one theme."""

    ground: str
    sheet: str
    ink: str
    quiet: str
    line: str
    accent: str
    on_accent: str
    soft: str  # behind a choice that is taken
    on_soft: str
    good: str
    warn: str
    danger: str
    on_danger: str


# The page's own HTML has the same colours: mobile/web/tokens.css, held together by a test.
CHALK: Final = Tones(
    ground="#f4f3ee",
    sheet="#ffffff",
    ink="#15211f",
    quiet="#44545a",
    line="#7c8a8d",
    accent="#0b5563",
    on_accent="#ffffff",
    soft="#d9e8ea",
    on_soft="#0a3f49",
    good="#1c6b3c",
    warn="#8a4b00",
    danger="#a01a15",
    on_danger="#ffffff",
)
SLATE: Final = Tones(
    ground="#12191c",
    sheet="#1b2529",
    ink="#eef2f0",
    quiet="#b4c1c4",
    line="#7d8e93",
    accent="#79c7d2",
    on_accent="#05272e",
    soft="#1f3d44",
    on_soft="#ddf3f4",
    good="#8fd6a5",
    warn="#f2c07a",
    danger="#ff9a8f",
    on_danger="#3b0502",
)


def _scheme(tones: Tones) -> ft.ColorScheme:
    return ft.ColorScheme(
        primary=tones.accent,
        on_primary=tones.on_accent,
        primary_container=tones.soft,
        on_primary_container=tones.on_soft,
        secondary=tones.accent,
        on_secondary=tones.on_accent,
        secondary_container=tones.soft,
        on_secondary_container=tones.on_soft,
        tertiary=tones.good,
        on_tertiary=tones.ground,
        tertiary_container=tones.warn,
        on_tertiary_container=tones.ground,
        error=tones.danger,
        on_error=tones.on_danger,
        error_container=tones.danger,
        on_error_container=tones.on_danger,
        surface=tones.ground,
        on_surface=tones.ink,
        on_surface_variant=tones.quiet,
        surface_container_lowest=tones.sheet,
        surface_container_low=tones.sheet,
        surface_container=tones.sheet,
        surface_container_high=tones.sheet,
        surface_container_highest=tones.sheet,
        surface_tint=tones.ground,
        outline=tones.line,
        outline_variant=tones.line,
        inverse_surface=tones.ink,
        on_inverse_surface=tones.ground,
    )


def theme(tones: Tones) -> ft.Theme:
    """Return the Flet theme of one set of tones."""
    return ft.Theme(
        color_scheme=_scheme(tones),
        font_family=FONT,
        scaffold_bgcolor=tones.ground,
        use_material3=True,
        visual_density=ft.VisualDensity.STANDARD,
    )


# Roles by name, so that a screen follows the system's light or dark by itself.
GROUND: Final = ft.Colors.SURFACE
SHEET: Final = ft.Colors.SURFACE_CONTAINER_LOWEST
INK: Final = ft.Colors.ON_SURFACE
QUIET: Final = ft.Colors.ON_SURFACE_VARIANT
LINE: Final = ft.Colors.OUTLINE
ACCENT: Final = ft.Colors.PRIMARY
ON_ACCENT: Final = ft.Colors.ON_PRIMARY
SOFT: Final = ft.Colors.PRIMARY_CONTAINER
ON_SOFT: Final = ft.Colors.ON_PRIMARY_CONTAINER
GOOD: Final = ft.Colors.TERTIARY
WARN: Final = ft.Colors.TERTIARY_CONTAINER
DANGER: Final = ft.Colors.ERROR
ON_DANGER: Final = ft.Colors.ON_ERROR
