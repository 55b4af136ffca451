"""Real browsers killed in the middle of saving: nothing that was acknowledged is lost."""

import random
import time
from pathlib import Path

import pytest

from tests.support import engines
from tests.support.browser import Site
from tests.support.engines import Engine, StoragePage, running, storage_page

pytestmark = pytest.mark.browser

LONGEST_s = 1.5
HARMLESS = {"journal_tail_torn"}


def opened(page: StoragePage, acknowledged: int) -> int:
    """Check what the new start found; return how many records there are."""
    found = page.next()
    while "saved" in found:  # still on its way when the browser before was killed
        found = page.next()
    assert found["writable"], found
    assert found["whole"], found
    assert found["opened"] >= acknowledged, (found, acknowledged)
    assert set(found["problems"]) <= HARMLESS, found
    return found["opened"]


def kill_often(engine: Engine, site: Site, folder: Path, kills: int) -> int:
    """Kill a browser again and again; return how many records were acknowledged."""
    rng = random.Random(f"{engine.name} {kills}")
    acknowledged = 0
    with storage_page(site.path, folder) as page:
        for _ in range(kills):
            with running(engine, folder / "profile", page, job="save"):
                opened(page, acknowledged)
                page.next()  # saving has begun
                time.sleep(rng.uniform(0.0, LONGEST_s))
            saved = [found["saved"] for found in page.drain() if "saved" in found]
            acknowledged = max([acknowledged, *(number + 1 for number in saved)])
        with running(engine, folder / "profile", page, job="save"):
            opened(page, acknowledged)
    return acknowledged


def test_ten_kills_of_chromium_lose_nothing(built_site: Site, tmp_path: Path) -> None:
    acknowledged = kill_often(engines.CHROMIUM, built_site, tmp_path, 10)
    print(f"chromium: 10 kills, 0 of {acknowledged} acknowledged records lost")
    assert acknowledged > 100


@pytest.mark.long
@pytest.mark.parametrize(
    ("engine", "kills"),
    [
        (engines.CHROMIUM, 200),
        (engines.CHROMIUM_IDB, 20),
        (engines.FIREFOX, 20),
        (engines.FIREFOX_IDB, 20),
        (engines.WEBKIT, 20),
    ],
    ids=lambda value: f"{value.name}-{value.backend}" if isinstance(value, Engine) else str(value),
)
def test_many_kills_lose_nothing(
    engine: Engine, kills: int, built_site: Site, tmp_path: Path
) -> None:
    if not engine.exists():
        pytest.skip(f"{engine.name} is not installed, and could not be (apt as root on Debian)")
    acknowledged = kill_often(engine, built_site, tmp_path, kills)
    print(f"{engine.name}: {kills} kills, 0 of {acknowledged} acknowledged records lost")
    assert acknowledged > 10 * kills
