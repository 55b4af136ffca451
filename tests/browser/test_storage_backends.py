"""The storage contract on the stores of real browsers."""

from pathlib import Path

import pytest

from tests.mobile.storage.contract import CONTRACT, OF_A_KIND
from tests.support import engines
from tests.support.browser import Site
from tests.support.engines import Engine, running, storage_page

pytestmark = pytest.mark.browser


def check_contract(engine: Engine, site: Site, folder: Path) -> None:
    failed = []
    with (
        storage_page(site.path, folder) as page,
        running(engine, folder / "profile", page, job="contract"),
    ):
        done = 0
        while True:
            found = page.next()
            if "done" in found:
                break
            done += 1
            failed += [] if found["ok"] else [found]
    assert failed == []
    assert done == found["done"] == len(CONTRACT) + len(OF_A_KIND.get(engine.backend, ()))


@pytest.mark.parametrize("engine", engines.ALL, ids=str)
def test_a_browser_keeps_the_contract(engine: Engine, built_site: Site, tmp_path: Path) -> None:
    engine.require()
    check_contract(engine, built_site, tmp_path)
