"""What the browser answers to a write: "full" only where it says so itself."""

import math
from types import SimpleNamespace

import pytest

from mobile.browser.answers import failure, taken_bytes
from mobile.storage.errors import StorageFailed, StorageFull

WANTED = 300


@pytest.mark.parametrize("count", [0, 1, 299, 300, 300.0])
def test_a_count_is_a_count(count):
    assert taken_bytes(count, WANTED, "journal") == count


@pytest.mark.parametrize("answer", [2**32 - 8, float(2**32 - 8), -8])
def test_the_code_for_no_space_is_full(answer):
    with pytest.raises(StorageFull):
        taken_bytes(answer, WANTED, "journal")


ODD_ANSWERS = {
    "undefined": None,
    "not a number": math.nan,
    "infinite": math.inf,
    "minus infinite": -math.inf,
    "an object": object(),
    "a word": "full",
    "one too many": WANTED + 1,
    "minus one": -1,
    "another code": 2**32 - 1,
    "beside the code for no space": 2**32 - 7,
    "beyond 32 bits": 2**53,
    "2**32": 2**32,
}


@pytest.mark.parametrize("answer", ODD_ANSWERS.values(), ids=ODD_ANSWERS.keys())
def test_any_other_answer_is_a_failure_and_never_full(answer):
    with pytest.raises(StorageFailed) as caught:
        taken_bytes(answer, WANTED, "journal")
    assert type(caught.value) is StorageFailed
    assert "answered" in caught.value.context["reason"]


def test_an_error_is_full_only_by_the_name_of_the_quota():
    assert type(failure("write", "journal", SimpleNamespace(name="QuotaExceededError"))) is (
        StorageFull
    )


@pytest.mark.parametrize(
    "name",
    [
        "InvalidStateError",  # a handle closed by a suspension
        "NoModificationAllowedError",
        "NotFoundError",
        "NotReadableError",
        "UnknownError",
        "AbortError",
        "TypeError",
        "quotaexceedederror",
        "",
        None,
    ],
)
def test_any_other_error_is_a_failure_and_never_full(name):
    error = failure("write", "journal", SimpleNamespace(name=name))
    assert type(error) is StorageFailed


def test_an_error_of_python_is_a_failure():
    assert type(failure("write", "journal", MemoryError())) is StorageFailed
