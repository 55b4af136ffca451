"""The minder's sheet, printed by Chromium: one A4 page, also at its longest."""

import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from engine.records import Setup
from mobile.state.minder import minder
from mobile.state.minder_html import minder_html
from mobile.state.snapshot import Snapshot
from mobile.state.updates import decided, with_records
from tests.mobile.test_minder import write_longest
from tests.support.app import SCENARIOS, scenario_records

NOW = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
A4_PT = (595, 842)

pytestmark = pytest.mark.browser


def view_of(name: str):
    records = scenario_records(name, NOW)
    system = records[0].system
    setups = [replace(r, name="Slate Street") if isinstance(r, Setup) else r for r in records]
    snapshot = decided(with_records(Snapshot(now=NOW), setups, system, NOW))
    view = minder(snapshot)
    assert view is not None
    return view


def pages(pdf: bytes) -> list[tuple[int, int]]:
    """Return the size of each page in points, read from the file itself."""
    count = len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
    boxes = re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)", pdf)
    sizes = [(round(float(w)), round(float(h))) for w, h in boxes]
    assert len(sizes) == count > 0
    return sizes


def printed(chromium, path: Path) -> bytes:
    page = chromium.new_page()
    try:
        page.goto(path.as_uri())
        return page.pdf(prefer_css_page_size=True, print_background=True)
    finally:
        page.close()


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_logs_sheet_is_one_page(chromium, tmp_path: Path, name: str) -> None:
    path = tmp_path / "sheet.html"
    path.write_text(minder_html(view_of(name)), encoding="utf-8")
    ((width, height),) = pages(printed(chromium, path))
    assert (abs(width - A4_PT[0]) <= 1, abs(height - A4_PT[1]) <= 1) == (True, True)


def test_the_longest_sheet_is_one_page(chromium, tmp_path: Path) -> None:
    pdf = printed(chromium, write_longest(tmp_path, view_of("demo_system")))
    assert len(pages(pdf)) == 1
