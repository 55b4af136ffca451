"""The browser's own backends keep the contract on a scripted browser, as in real ones."""

from functools import partial

import pytest

from tests.mobile.storage.contract import CONTRACT, OF_A_KIND
from tests.support import scripted_browser


@pytest.fixture
def stage():
    with scripted_browser.installed() as stage:
        yield stage


def backend(name):
    """Return the real opener; only while a scripted browser is installed."""
    from mobile.browser.idb import idb_folder
    from mobile.browser.opfs import opfs_folder

    return partial({"opfs": opfs_folder, "idb": idb_folder}[name], "/")


CLAIMS = [
    pytest.param(name, claim, id=f"{name}-{claim.__name__}")
    for name in ("opfs", "idb")
    for claim in (*CONTRACT, *OF_A_KIND.get(name, ()))
]


@pytest.mark.parametrize(("name", "claim"), CLAIMS)
def test_backend(stage, name, claim):
    stage.browser.run(claim(backend(name)))
    assert stage.browser.uncaught == []
    assert len(stage.browser.calls.made) > 10
