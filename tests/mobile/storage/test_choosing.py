"""Where records are looked for: wherever they lie, and never an empty place instead."""

import pytest

from mobile.storage.errors import StorageUnavailable, StoreElsewhere
from mobile.storage.memory import MemoryFolder
from mobile.storage.store import open_repository
from tests.mobile.storage.support import DeviceIds, notes, plain_validate, record


class Place(MemoryFolder):
    """A folder of another kind."""

    def __init__(self, kind: str) -> None:
        super().__init__()
        self.name = kind
        self.works = True

    @property
    def kind(self) -> str:
        return self.name

    async def __call__(self):
        if not self.works:
            raise StorageUnavailable(backend=self.name)
        return self


@pytest.fixture
def places() -> tuple[Place, Place, Place]:
    return Place("opfs"), Place("idb"), Place("memory")


async def opened(places, **options):
    return await open_repository(
        *places, validate=plain_validate, new_device_id=DeviceIds(), **options
    )


async def test_the_first_place_that_works_is_taken(places):
    assert (await opened(places)).report.backend == "opfs"


async def test_records_are_found_where_they_lie_although_a_better_place_works_now(places):
    places[0].works = False
    repository = await opened(places)
    await repository.append([record(repository.next_id(), note="kept")])
    assert repository.report.backend == "idb"
    await repository.close()
    places[0].works = True
    again = await opened(places)
    assert (again.report.backend, notes(again)) == ("idb", ["kept"])


@pytest.mark.parametrize("left", [(1, 2), (1,)])
async def test_a_place_that_does_not_open_is_never_taken_for_no_records(places, left):
    repository = await opened(places)
    await repository.append([record(repository.next_id(), note="kept")])
    await repository.close()
    places[0].works = False
    for _ in range(2):
        with pytest.raises(StoreElsewhere) as caught:
            await opened([places[n] for n in left])
        assert caught.value.rescued_copy == "opfs"
    anew = await opened(places, discard_unreadable=True)
    assert (anew.report.backend, notes(anew)) == ("idb", [])


async def test_memory_is_the_last_and_says_what_did_not_work(places):
    places[0].works = places[1].works = False
    repository = await opened(places)
    assert repository.report.backend == "memory"
    assert [problem.code for problem in repository.report.problems] == ["backend_unavailable"] * 2


async def test_without_any_place_it_says_so(places):
    for place in places:
        place.works = False
    with pytest.raises(StorageUnavailable):
        await opened(places)
