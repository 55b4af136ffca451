"""What may import what, and what may stand nowhere: read from the source, not from what ran."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from mobile import theme
from mobile.bootstrap import ROOT

ENGINE = sorted((ROOT / "engine").rglob("*.py"))
MOBILE = sorted((ROOT / "mobile").rglob("*.py"))
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "mobile",
    "engine",
    "tests",
    "assets",
    "demo_data",
}


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("path", ENGINE, ids=name_of)
def test_engine_imports_the_standard_library_pint_and_itself(path: Path) -> None:
    outside = {"flet", "tinydb", "mobile", "js", "pyodide", "pyodide_js"}
    assert {module for module in imported(path) if module.split(".")[0] in outside} == set()


@pytest.mark.parametrize("path", ENGINE, ids=name_of)
def test_engine_reads_no_clock_and_no_chance(path: Path) -> None:
    calls = re.findall(
        r"datetime\.now|\.today\(|time\.time|import random|import secrets|uuid", path.read_text()
    )
    assert calls == []


@pytest.mark.parametrize("path", MOBILE, ids=name_of)
def test_only_the_browser_folder_touches_javascript(path: Path) -> None:
    if path.parent.name == "browser":
        return
    javascript = {"js", "pyodide", "pyodide_js", "flet_js", "sumpside_host"}
    assert {module for module in imported(path) if module.split(".")[0] in javascript} == set()


@pytest.mark.parametrize("path", MOBILE, ids=name_of)
def test_nothing_needs_stack_switching(path: Path) -> None:
    """`run_sync` and its like need JSPI, which older Safari lacks."""
    text = path.read_text(encoding="utf-8")
    assert re.findall(r"\b(run_sync|run_until_complete|asyncio\.run)\(", text) == []


@pytest.mark.parametrize("path", sorted((ROOT / "mobile/state").glob("*.py")), ids=name_of)
def test_state_knows_no_flet(path: Path) -> None:
    assert [module for module in imported(path) if module.split(".")[0] == "flet"] == []


def test_the_top_level_holds_only_what_the_design_names() -> None:
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found - TOP_LEVEL - {"build"} == set()


def test_the_page_and_the_app_share_their_colours() -> None:
    """The first screen in HTML and the app in Flutter must not flash from one look to another."""
    css = (ROOT / "mobile/web/tokens.css").read_text(encoding="utf-8")
    light, dark = css.split("prefers-color-scheme: dark")
    for tones, text in ((theme.CHALK, light), (theme.SLATE, dark)):
        for token, colour in (
            ("ground", tones.ground),
            ("surface", tones.sheet),
            ("ink", tones.ink),
            ("line", tones.line),
            ("accent", tones.accent),
            ("on-accent", tones.on_accent),
        ):
            assert f"--{token}: {colour};" in text, token


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio"."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("tones", [theme.CHALK, theme.SLATE], ids=["chalk", "slate"])
def test_text_has_four_and_a_half_to_one_and_parts_have_three(tones: theme.Tones) -> None:
    for ground in (tones.ground, tones.sheet):
        for ink in (tones.ink, tones.quiet, tones.accent, tones.good, tones.warn, tones.danger):
            assert contrast(ink, ground) >= 4.5
        assert contrast(tones.line, ground) >= 3.0
    assert contrast(tones.on_accent, tones.accent) >= 4.5
    assert contrast(tones.on_soft, tones.soft) >= 4.5
    assert contrast(tones.on_danger, tones.danger) >= 4.5
