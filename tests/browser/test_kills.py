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
HARMLESS = {"journal_tail_torn", "journal_tail_perhaps"}
PARTS = 10  # of the 200: each on a store of its own, so that one can be run alone
OTHERS = tuple(engine for engine in engines.ALL if engine is not engines.CHROMIUM)


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


def kill_often(engine: Engine, site: Site, folder: Path, kills: int, seed: int) -> int:
    """Kill a browser again and again; return how many records were acknowledged."""
    rng = random.Random(f"{engine} {kills} {seed}")
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


def check(engine: Engine, kills: int, site: Site, folder: Path, *, seed: int = 0) -> None:
    engine.require()
    acknowledged = kill_often(engine, site, folder, kills, seed)
    print(f"{engine}: {kills} kills, 0 of {acknowledged} acknowledged records lost")
    assert acknowledged > 5 * kills


def test_ten_kills_of_chromium_lose_nothing(built_site: Site, tmp_path: Path) -> None:
    check(engines.CHROMIUM, 10, built_site, tmp_path)


@pytest.mark.parametrize("engine", OTHERS, ids=str)
def test_two_kills_of_the_other_stores_lose_nothing(
    engine: Engine, built_site: Site, tmp_path: Path
) -> None:
    check(engine, 2, built_site, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_two_hundred_kills_of_chromium_lose_nothing(
    part: int, built_site: Site, tmp_path: Path
) -> None:
    check(engines.CHROMIUM, 200 // PARTS, built_site, tmp_path, seed=part)


@pytest.mark.long
@pytest.mark.parametrize("engine", OTHERS, ids=str)
def test_many_kills_of_the_other_stores_lose_nothing(
    engine: Engine, built_site: Site, tmp_path: Path
) -> None:
    check(engine, 25, built_site, tmp_path)
