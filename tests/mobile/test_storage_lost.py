"""The browser cleared its storage under the open app: no word of "Saved", and a way out."""

import json

from mobile.storage.errors import StorageFailed, StorageLost
from tests.support.app import Running


class Gone:
    """An open file whose storage was cleared away."""

    async def write(self, at: int, data: bytes) -> int:
        raise StorageFailed(operation="write", file="journal")

    async def renew(self) -> None:
        raise StorageLost(operation="find", file="journal")

    async def close(self) -> None:
        """Nothing is held."""


async def test_it_is_told_stays_told_and_everything_can_be_exported(app: Running):
    kept = [record["id"] for record in app.stored()]
    journal = app.repository._journal
    await journal._file.close()
    journal._file = Gone()
    await app.record("total_alkalinity", "8.2")
    assert app.says("NOT saved: the browser cleared its storage")
    assert app.says("8.2")
    await app.go("/setup")
    assert app.says("What this window shows may be all that is left")
    await app.tap("export")
    (data,) = app.files.saved.values()
    exported = [json.loads(line)["id"] for line in data.decode().splitlines()[1:]]
    assert sorted(exported) == sorted(kept)
