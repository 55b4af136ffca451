"""Each call that the backends of the browser make fails once; afterwards nothing is amiss."""

from collections import defaultdict

import pytest

from tests.mobile.storage.faults import Faults
from tests.support import scripted_browser
from tests.support.scripted_browser.calls import KINDS

LASTING = ("once", "same", "all")


@pytest.fixture
def stage():
    with scripted_browser.installed() as stage:
        yield stage


@pytest.mark.parametrize("backend", ["opfs", "idb"])
def test_each_call_fails_once(stage, backend, capsys):
    """With one of its kinds of failure, in turn; the store is opened again, or the power cut."""
    faults = Faults(stage, backend, compact=True)
    met = defaultdict(int)
    for number, name in enumerate(faults.calls()):
        kind = KINDS[name][met[name] % len(KINDS[name])]
        met[name] += 1
        faults.fail(number, kind, seeds=(None,) if met[name] % 2 else (number,))
    with capsys.disabled():
        print(f"\n{backend}: {faults.census}")
    assert faults.census.runs > 300
    assert faults.census.told["storage_failed"] > 0


@pytest.mark.parametrize("backend", ["opfs", "idb"])
def test_some_calls_go_on_failing(stage, backend, capsys):
    """So that what is tried again fails again, and what fails cannot be taken back."""
    faults = Faults(stage, backend, compact=True)
    numbers = defaultdict(list)
    for number, name in enumerate(faults.calls()):
        numbers[name].append(number)
    for name, its in numbers.items():
        for turn, kind in enumerate(KINDS[name]):
            faults.fail(its[turn * len(its) // len(KINDS[name])], kind, "same")
    with capsys.disabled():
        print(f"\n{backend}: {faults.census}")
    assert faults.census.told["journal_stopped"] > 0


@pytest.mark.long
@pytest.mark.parametrize("lasting", LASTING)
@pytest.mark.parametrize("backend", ["opfs", "idb"])
def test_each_call_fails_in_every_way(stage, backend, lasting, capsys):
    faults = Faults(stage, backend, compact=lasting != "once")
    for number, name in enumerate(faults.calls()):
        for kind in KINDS[name]:
            faults.fail(number, kind, lasting)
    with capsys.disabled():
        print(f"\n{backend}, {lasting}: {faults.census}")
    assert faults.census.runs > 1_000


def test_every_kind_of_failure_is_met(stage):
    """What no history calls would never fail."""
    made = {name for backend in ("opfs", "idb") for name in Faults(stage, backend).calls()}
    assert made == set(KINDS)


def died(stage, backend, seeds, *, compact):
    """Kill the browser, and cut the power, before each call; open what each leaves."""
    faults = Faults(stage, backend, compact=compact)
    left, met, views = [], set(), []

    def watch(history, _number, _name):
        browser = stage.browser
        views.append(history.allowed)  # kept, so that no other view gets the id of one of them
        for medium in (browser.killed(), *(browser.power_cut(seed) for seed in seeds)):
            print_of = (medium.fingerprint(), id(history.acknowledged), id(history.under_way))
            if print_of not in met:
                met.add(print_of)
                left.append(history.left(medium))

    faults.history(watch=watch)
    for each in left:
        faults.reopen(each)
    return faults.census


@pytest.mark.parametrize("backend", ["opfs", "idb"])
def test_killed_or_without_power_before_any_call(stage, backend, capsys):
    census = died(stage, backend, range(2), compact=True)
    with capsys.disabled():
        print(f"\n{backend}: {census}")
    assert census.reopened > 40


# A strict transaction is there whole or not at all: of IndexedDB few contents differ.
@pytest.mark.long
@pytest.mark.parametrize(("backend", "contents"), [("opfs", 300), ("idb", 40)])
def test_killed_or_without_power_before_any_call_in_many_ways(stage, backend, contents, capsys):
    census = died(stage, backend, range(40), compact=False)
    with capsys.disabled():
        print(f"\n{backend}: {census}")
    assert census.reopened > contents


@pytest.mark.parametrize("backend", ["opfs", "idb"])
def test_the_browser_clears_its_storage_at_any_call(stage, backend, capsys):
    """Nothing is acknowledged into a store that is gone, and the next start begins anew."""
    faults = Faults(stage, backend, compact=True)
    # Between the look whether a file is there and the closing of its handle nothing can be done.
    calls = [number for number, name in enumerate(faults.calls()) if name != "close"]
    for number in calls[:: 3 if backend == "opfs" else 7]:
        faults.clear(number, seeds=(None,))
    with capsys.disabled():
        print(f"\n{backend}: {faults.census}")
    assert faults.census.told["storage_lost"] > 0


@pytest.mark.parametrize("backend", ["opfs", "idb"])
def test_the_storage_is_full_at_any_size(stage, backend, capsys):
    faults = Faults(stage, backend, compact=True)
    faults.calls()
    most = 3 * stage.browser.medium.bytes_used() + 150_000
    for quota in range(0, most, most // 20):
        faults.fill(quota, seeds=(None,))
    with capsys.disabled():
        print(f"\n{backend}: {faults.census}")
    assert faults.census.told["storage_full"] > 10
