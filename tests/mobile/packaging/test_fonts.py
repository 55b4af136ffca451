"""The font gate: every sign that the app can show by itself is in the fonts that are shipped."""

import ast
import html.parser
import json
import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from mobile.packaging import icons
from mobile.packaging.build import ROOT
from mobile.packaging.make_icon_font import code_points

FONTS = ROOT / "assets" / "fonts"
WEIGHTS = ("sumpside-sans-400.woff2", "sumpside-sans-700.woff2")
ASKED_FOR = "₂₃₄⁻⁺→✓⚠±×°µΩ≥≤–—…²³½"


def texts_of_python(path: Path) -> Iterator[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    documentation = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in documentation
        ):
            yield node.value


class _Texts(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value for _name, value in attrs if value]


def texts_of_html(path: Path) -> list[str]:
    parser = _Texts()
    parser.feed(path.read_text(encoding="utf-8"))
    return parser.found


def texts_of_json(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for item in value:
            yield from texts_of_json(item)
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from (key, *texts_of_json(item))


def every_text() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "mobile").rglob("*.py")):
        if "packaging" not in path.parts:
            yield from ((path.name, text) for text in texts_of_python(path))
    for path in sorted((ROOT / "mobile" / "web").iterdir()):
        if path.suffix == ".html":
            yield from ((path.name, text) for text in texts_of_html(path))
        elif path.suffix in {".js", ".webmanifest"}:
            yield path.name, path.read_text(encoding="utf-8")
    for folder in ("mobile", "demo_data", "engine"):
        for path in sorted((ROOT / folder).rglob("*.json")):
            content = json.loads(path.read_text(encoding="utf-8"))
            yield from ((path.name, text) for text in texts_of_json(content))


@pytest.mark.parametrize("weight", WEIGHTS)
def test_every_sign_of_the_interface_is_in_the_font(weight: str) -> None:
    signs = set(TTFont(FONTS / weight).getBestCmap())
    missing = {
        (source, sign)
        for source, text in every_text()
        for sign in text
        if ord(sign) not in signs and unicodedata.category(sign) not in {"Cc", "Cs"}
    }
    assert missing == set(), "add the sign to make_fonts.py and run it, or use another sign"


@pytest.mark.parametrize("weight", WEIGHTS)
def test_the_font_has_the_alphabets_and_the_chemical_signs(weight: str) -> None:
    signs = set(TTFont(FONTS / weight).getBestCmap())
    alphabets = "ABCxyzÄÖÜßÉèñçøåłőžčşğİ" + "ΑΒΓαβγΩω" + "АБВабвЯяЇїЎў"
    assert {sign for sign in ASKED_FOR + alphabets if ord(sign) not in signs} == set()


@pytest.mark.parametrize("weight", WEIGHTS)
def test_digits_are_equally_wide(weight: str) -> None:
    font = TTFont(FONTS / weight)
    cmap = font.getBestCmap()
    assert len({font["hmtx"][cmap[ord(digit)]][0] for digit in "0123456789"}) == 1


def test_the_fallback_font_has_every_code_point() -> None:
    signs = TTFont(FONTS / "fallback.ttf").getBestCmap()
    assert {0x41, 0x1F41F, 0x6C34, 0xE000, 0x10FFFF} <= signs.keys()
    assert (FONTS / "fallback.ttf").stat().st_size < 1000


def test_the_licences_are_shipped_with_the_fonts() -> None:
    text = (FONTS / "LICENSE.txt").read_text(encoding="utf-8")
    for name in ("SIL OPEN FONT LICENSE", "Apache License", *WEIGHTS, "material-icons-subset.otf"):
        assert name in text


def test_every_icon_in_use_is_in_the_shipped_subset() -> None:
    missing = icons.used_icons(ROOT) - icons.listed_icons(ROOT).keys()
    assert missing == set(), "run: .venv/bin/python -m mobile.packaging.make_icon_font"


def test_the_subset_has_the_code_points_that_the_client_draws() -> None:
    known = code_points()
    listed = icons.listed_icons(ROOT)
    assert listed == {name: known[name] for name in listed}
    assert set(listed.values()) <= TTFont(ROOT / icons.SUBSET).getBestCmap().keys()


def test_the_icon_scan_finds_every_way_of_naming(tmp_path: Path) -> None:
    (tmp_path / "mobile").mkdir()
    source = "ft.Icons.ADD\nIcons.WATER_DROP_OUTLINED\nflet.Icons.HOME\nIcons.add\nCupertinoIcons.X"
    (tmp_path / "mobile" / "a.py").write_text(source, encoding="utf-8")
    assert icons.used_icons(tmp_path) == {"ADD", "WATER_DROP_OUTLINED", "HOME"}


def test_no_icon_set_without_a_shipped_font_is_used() -> None:
    for path in sorted((ROOT / "mobile").rglob("*.py")):
        if "packaging" not in path.parts:
            assert not re.search(r"\bCupertinoIcons\b", path.read_text(encoding="utf-8")), path
