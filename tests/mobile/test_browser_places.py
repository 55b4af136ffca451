"""Which folder of the browser's file system holds the records."""

import pytest

from mobile.browser import places


def test_only_our_own_folders_are_counted() -> None:
    names = ["other", "sumpside-records-3", "sumpside-records", "sumpside-records-x", "-2"]
    assert places.places(names, "/") == (1, 3)
    assert [places.place_name(number, "/") for number in (1, 2)] == [
        "sumpside-records",
        "sumpside-records-2",
    ]
    everyone = [places.place_name(number, "/") for number in range(places.FIRST, places.MOST + 1)]
    assert places.places(everyone, "/") == tuple(range(places.FIRST, places.MOST + 1))


def test_no_folder_of_one_site_is_another_sites() -> None:
    bases = ["/", "/one/", "/one-2/", "/one/two/", "/one~two/", "/two/"]
    numbers = range(places.FIRST, places.MOST + 1)
    everyone = [places.place_name(number, base) for base in bases for number in numbers]
    assert len(set(everyone)) == len(everyone)
    for base in bases:
        assert places.places(everyone, base) == tuple(numbers)
    assert places.place_name(1, "/one/two/") == "sumpside-records@one~two"
    assert places.place_name(2, "/one/") == "sumpside-records-2@one"


@pytest.mark.parametrize(
    ("names", "journal_bytes", "blank"),
    [
        ([], 0, True),
        (["journal"], 0, True),  # killed between making the file and its first bytes
        (["journal", "trial-0a", "kept-in-idb"], 0, True),
        (["journal"], 1, False),  # a torn start: its bytes are kept as a copy, there
        (["journal", "snapshot-1"], 0, False),
        (["snapshot-1"], 0, False),
        (["journal", "quarantine-0-4-0a0b0c0d"], 0, False),
        (["journal", "erasing", "journal-next"], 0, False),  # cut while one replaced the other
    ],
)
def test_a_folder_is_blank_only_where_no_record_can_be(
    names: list[str], journal_bytes: int, blank: bool
) -> None:
    assert places.is_blank(names, journal_bytes) is blank


@pytest.mark.parametrize(
    ("blank", "number"),
    [
        ({}, 1),
        ({1: True}, 1),
        ({1: False}, 1),
        ({1: True, 2: False}, 2),
        ({1: True, 2: True, 3: False}, 3),
        ({1: True, 2: True}, 1),  # nothing anywhere: the first is tried again
        ({2: False}, 2),
    ],
)
def test_the_folder_that_is_not_blank_is_the_one(blank: dict[int, bool], number: int) -> None:
    assert places.standing(blank) == number
