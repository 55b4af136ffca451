"""The storage contract over the backends that the host has."""

import pytest

from mobile.storage.file import disk_folder
from mobile.storage.memory import MemoryFolder
from tests.mobile.storage.contract import CONTRACT


def _memory(_tmp_path):
    folder = MemoryFolder()

    async def again():
        return folder

    return again


def _file(tmp_path):
    return disk_folder(tmp_path / "store")


@pytest.mark.parametrize("claim", CONTRACT, ids=lambda claim: claim.__name__)
@pytest.mark.parametrize("make", [_memory, _file], ids=["memory", "file"])
async def test_backend(make, claim, tmp_path):
    await claim(make(tmp_path))
