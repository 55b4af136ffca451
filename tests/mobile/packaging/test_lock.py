"""The locks: what pyproject.toml asks for and what is installed are held together."""

import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from mobile.bootstrap import APP_LOCK, DEV_LOCK, ROOT, SOURCE_LOCK
from mobile.packaging.lock import Locked, plain, read_lock

AUDIT_LOCK = ROOT / "tests" / "audit_lock.txt"
ALL = [APP_LOCK, DEV_LOCK, SOURCE_LOCK, AUDIT_LOCK]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
SHIPPED = [Requirement(text) for text in PROJECT["dependencies"]]
DEV = [Requirement(text) for text in PROJECT["optional-dependencies"]["dev"]]


def for_tests() -> dict[str, Locked]:
    return read_lock(APP_LOCK) | read_lock(DEV_LOCK) | read_lock(SOURCE_LOCK)


@pytest.mark.parametrize("lock", ALL, ids=lambda path: path.name)
def test_every_package_has_a_version_and_hashes(lock: Path) -> None:
    found = read_lock(lock)
    assert found
    for name, locked in found.items():
        assert locked.version, name
        assert locked.hashes, name


@pytest.mark.parametrize("lock", ALL, ids=lambda path: path.name)
def test_no_address_of_a_registry_is_in_a_lock(lock: Path) -> None:
    text = lock.read_text(encoding="utf-8")
    assert not [word for word in ("://", "index", "find-links") if word in text]


@pytest.mark.parametrize(
    "line",
    [
        "six>=1",
        "six==1.17.0 --hash=md5:00",
        "--index-url x",
        "six @ file:///six.whl",
        "six==1.17.0 --hash=sha256:" + "a" * 63,
    ],
)
def test_anything_but_a_version_with_hashes_is_refused(tmp_path: Path, line: str) -> None:
    lock = tmp_path / "lock.txt"
    lock.write_text(line + "\n", encoding="utf-8")
    with pytest.raises(ValueError, match="not a version with its hashes"):
        read_lock(lock)


def test_a_package_without_hashes_is_seen(tmp_path: Path) -> None:
    lock = tmp_path / "lock.txt"
    lock.write_text("six==1.17.0\n", encoding="utf-8")
    assert read_lock(lock)["six"].hashes == ()


@pytest.mark.parametrize(
    ("wanted", "lock"),
    [*((r, read_lock(APP_LOCK)) for r in SHIPPED), *((r, for_tests()) for r in DEV)],
    ids=lambda value: value.name if isinstance(value, Requirement) else "",
)
def test_each_requirement_is_met_by_the_locked_version(
    wanted: Requirement, lock: dict[str, Locked]
) -> None:
    assert wanted.specifier.contains(lock[plain(wanted.name)].version)


def needed(roots: list[Requirement]) -> set[str]:
    """Return everything that the roots need somewhere: markers of other machines count, too."""
    found: set[tuple[str, str]] = set()
    waiting = [(r.name, extra) for r in roots for extra in ("", *r.extras)]
    while waiting:
        name, extra = waiting.pop()
        if (plain(name), extra) in found:
            continue
        found.add((plain(name), extra))
        try:
            lines = metadata.distribution(name).requires or []
        except metadata.PackageNotFoundError:
            continue  # for another machine
        for text in lines:
            below = Requirement(text)
            marker = str(below.marker)
            if "extra ==" in marker and f'extra == "{extra}"' not in marker:
                continue
            waiting += [(below.name, more) for more in ("", *below.extras)]
    return {name for name, _ in found}


# cffi needs it, where brotlicffi takes the place of brotli: not on a machine that runs this test.
ELSEWHERE = {"cffi", "pycparser"}


def test_nothing_is_locked_that_nothing_needs() -> None:
    shipped = set(read_lock(APP_LOCK))
    assert shipped - needed(SHIPPED) == set()
    assert set(for_tests()) - needed(SHIPPED + DEV) - ELSEWHERE == set()


def test_what_is_shipped_stands_at_one_version() -> None:
    app, dev = read_lock(APP_LOCK), read_lock(DEV_LOCK)
    assert not set(app) & set(dev)


def test_this_environment_has_what_is_locked() -> None:
    """The tests judge the versions that are shipped, or they judge nothing."""
    for name, locked in read_lock(APP_LOCK).items():
        assert metadata.version(name) == locked.version, name
