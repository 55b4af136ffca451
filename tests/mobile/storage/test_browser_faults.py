"""Holes in the browser's backends that failing calls showed, each with the call that showed it."""

import asyncio

import pytest

from mobile.storage.backend import write_all
from mobile.storage.errors import AppError, ErasureStands, StorageFailed, StorageLost
from tests.mobile.storage.faulty_history import opened
from tests.mobile.storage.support import DeviceIds, notes, record
from tests.support import scripted_browser
from tests.support.scripted_browser import Browser, Plan
from tests.support.scripted_browser.calls import SLOW_S


@pytest.fixture
def stage():
    with scripted_browser.installed() as stage:
        yield stage


def failing(browser, name, kind, *, skip=0, lasting="once"):
    """From now on let the next call of a name fail, or the one after `skip` others of it."""
    calls = browser.calls
    skipped = 0

    def watch(number, made):
        nonlocal skipped
        if made != name or calls.plan.first >= 0:
            return
        skipped += 1
        if skipped > skip:
            calls.plan = Plan(number, kind, lasting)

    calls.watch = watch


async def idb():
    from mobile.browser.idb import idb_folder

    return await idb_folder("/")


async def opfs():
    from mobile.browser.opfs import opfs_folder

    return await opfs_folder("/")


@pytest.mark.parametrize("kind", ["silent", "slow"])
@pytest.mark.parametrize("folder_of", [opfs, idb])
def test_a_lock_without_an_answer_is_a_failure_and_a_late_one_is_not_taken(stage, folder_of, kind):
    """Opening waited for it without end."""
    browser = stage.browser

    async def work():
        folder = await folder_of()
        failing(browser, "locks.request", kind)
        with pytest.raises(StorageFailed) as caught:
            await folder.open("journal", writable=True)
        assert caught.value.context["operation"] == "lock"
        await asyncio.sleep(SLOW_S)
        file = await folder.open("journal", writable=True)
        await file.close()

    browser.run(work())


def test_a_database_that_is_not_allowed_any_more_is_a_failure(stage):
    """What `indexedDB.open` throws by itself left as it was."""
    browser = stage.browser

    async def work():
        folder = await idb()
        folder.connection.drop()
        failing(browser, "indexedDB.open", "SecurityError")
        with pytest.raises(StorageFailed) as caught:
            await folder.names()
        assert "SecurityError" in caught.value.context["reason"]

    browser.run(work())


def test_a_database_opened_too_late_is_closed_again(stage):
    """Nobody used it, and it stood in the way of another page's newer version."""
    browser = stage.browser

    async def work():
        failing(browser, "indexedDB.open", "slow")
        folder = await idb()
        assert await folder.names() == ()
        in_use = [each for each in browser.indexed.connections if not each.is_closing]
        assert in_use == [folder.connection._database]

    browser.run(work())


@pytest.mark.parametrize("kind", ["slow", "silent late", "silent"])
def test_a_change_that_was_given_up_does_not_take_place_later(stage, kind):
    """Its requests called handlers that were destroyed, and what had no answer could still come."""
    browser = stage.browser

    async def work():
        file = await (await idb()).open("some", writable=True)
        await file.write(0, b"first")
        failing(browser, "commit", kind)
        await file.flush()
        assert await file.read(0, 9) == b"first"
        await file.close()
        again = await (await idb()).open("some", writable=False)
        assert await again.read(0, 9) == b"first"

    browser.run(work())
    assert browser.uncaught == []


def test_a_transaction_that_waited_too_long_is_aborted(stage):
    """It stood behind another page's, was given up, and changed the rows all the same."""
    browser = stage.browser

    async def work():
        folder = await idb()
        await (await folder.open("some", writable=True)).close()
        made = []
        other = browser.indexed.live
        transaction = folder.connection._database.transaction

        def noting(*arguments):
            made.append(transaction(*arguments))
            return made[-1]

        folder.connection._database.transaction = noting
        blocker = transaction(["files", "rows"], "readwrite")
        blocker._may_run = lambda: False  # another page is at it, and stays so
        with pytest.raises(StorageFailed):
            await folder.remove("some")
        assert made[0].was_aborted
        assert made[0] not in other

    browser.run(work())


def test_of_a_removal_all_or_nothing_takes_place(stage):
    """A second request that threw left the first one to be committed."""
    browser = stage.browser

    async def work():
        folder = await idb()
        file = await folder.open("some", writable=True)
        await write_all(file, 0, b"bytes")
        await file.close()
        failing(browser, "delete", "DataError", skip=1)
        with pytest.raises(StorageFailed):
            await folder.remove("some")
        kept = await folder.open("some", writable=False)
        assert await kept.read(0, 9) == b"bytes"

    browser.run(work())


def test_rows_read_again_after_a_lost_connection_have_their_own_keys(stage):
    """The keys of the run that was lost were taken with the rows of the next one."""
    browser = stage.browser

    async def work():
        folder = await idb()
        file = await folder.open("some", writable=True)
        for at in range(3):
            await file.write(at, b"x")
            await file.flush()
        failing(browser, "getAll", "lost UnknownError")
        browser_clears(browser)
        with pytest.raises(StorageFailed):
            await file.read(0, 3)

    browser.run(work())


def browser_clears(browser):
    """Let the storage be cleared when the connection is lost."""
    lose = browser.indexed.lose

    def losing(connection, error):
        lose(connection, error)
        browser.indexed.databases.clear()

    browser.indexed.lose = losing


def test_a_file_that_is_not_found_once_is_not_said_to_be_gone(stage):
    """A passing failure was told as cleared storage, and left the handle open."""
    browser = stage.browser

    async def work():
        folder = await opfs()
        file = await folder.open("some", writable=True)
        failing(browser, "getFileHandle", "NotFoundError")
        await file.flush()
        browser.calls.plan = Plan()
        failing(browser, "getFileHandle", "NotFoundError")
        await file.close()
        await (await folder.open("some", writable=True)).close()
        last = await folder.open("some", writable=True)
        browser.clear_storage()
        with pytest.raises(StorageLost):
            await last.flush()

    browser.run(work())


def test_what_could_not_be_erased_is_not_said_erased(stage):
    """Another had the journal by then: it was loaded whole, for reading, and said erased."""
    browser = stage.browser

    async def work():
        repository = await opened(DeviceIds())
        await repository.append([record(repository.next_id(), note="kept for now")])
        failing(
            browser, "createSyncAccessHandle", "NoModificationAllowedError", skip=2, lasting="same"
        )
        with pytest.raises(ErasureStands):
            await repository.erase()
        await repository.close()

    browser.run(work())
    stage.browser = browser = Browser(browser.killed())

    async def later():
        repository = await opened(DeviceIds())
        assert notes(repository) == []
        await repository.close()

    browser.run(later())


def test_storage_cleared_while_records_are_erased_leaves_the_others_in_memory(stage):
    """The empty store that was found took the place of all that was left in memory."""
    met = set()
    for number in range(0, 120, 3):
        stage.browser = Browser(without=("storage",))
        met.add(stage.browser.run(_erased_while_cleared(stage.browser, number)))
    assert len(met) > 1


async def _erased_while_cleared(browser, at):
    """Erase one of two systems, cleared at a call of it; return what was told."""
    repository = await opened(DeviceIds())
    for system in ("main", "pond"):
        await repository.append([record(repository.next_id(), system=system, note=system)])
    first = len(browser.calls.made)

    def watch(number, _name):
        if number == first + at:
            browser.clear_storage()

    browser.calls.watch = watch
    try:
        await repository.erase("pond")
        told = "erased"
    except AppError as error:
        told = error.code
    assert "main" in notes(repository)
    await repository.close()
    return told
