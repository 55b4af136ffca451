"""The scripted browser answers as real ones do: the same script of calls, the same answers."""

import json
from pathlib import Path

import pytest

from tests.support import engines, scripted_browser
from tests.support.browser import Site
from tests.support.engines import Engine, running, storage_page

pytestmark = pytest.mark.browser


def scripted_answers(backend: str) -> dict:
    with scripted_browser.installed() as stage:
        from tests.support import browser_script

        cases = {"opfs": browser_script.FILES, "idb": browser_script.ROWS}[backend]
        return json.loads(json.dumps(stage.browser.run(browser_script.answers(cases))))


@pytest.mark.parametrize("engine", engines.ALL, ids=str)
def test_the_same_script_gets_the_same_answers(
    engine: Engine, built_site: Site, tmp_path: Path
) -> None:
    engine.require()
    with (
        storage_page(built_site.path, tmp_path) as page,
        running(engine, tmp_path / "profile", page, job="script"),
    ):
        found = page.next()["answers"]
    wanted = scripted_answers(engine.backend)
    assert {n: a for n, a in found.items() if a != wanted[n]} == {}
    assert len(wanted) == len(found) >= 7
