"""The archive takes packages as they were locked, and its bytes depend on nothing else."""

import ast
import os
import random
import shutil
import subprocess
import sys
import zipfile
import zlib
from pathlib import Path

import pytest

from mobile.bootstrap import ROOT
from mobile.packaging import archive, client, deflate, installed
from mobile.packaging.errors import BuildFailed
from mobile.packaging.lock import Locked
from mobile.packaging.zipped import zipped

SITE_PACKAGES = installed.folder("six")


@pytest.fixture
def copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An environment of its own whose files may be edited: six, from the real one."""
    for name in ("six.py", *(p.name for p in SITE_PACKAGES.glob("six-*.dist-info"))):
        source = SITE_PACKAGES / name
        copy = shutil.copytree if source.is_dir() else shutil.copyfile
        copy(source, tmp_path / name)
    monkeypatch.setattr(sys, "path", [str(tmp_path), *sys.path])
    return tmp_path


def six() -> dict[str, bytes]:
    return installed.files("six", lambda name: name == "six.py")


def test_a_file_as_recorded_is_taken(copied: Path) -> None:
    assert six() == {"six.py": (copied / "six.py").read_bytes()}


def test_an_edited_file_stops_the_build(copied: Path) -> None:
    with (copied / "six.py").open("ab") as file:
        file.write(b"\n")
    with pytest.raises(BuildFailed, match=r"six\.py of six was changed after it was installed"):
        six()


def test_a_missing_file_stops_the_build(copied: Path) -> None:
    (copied / "six.py").unlink()
    with pytest.raises(BuildFailed, match=r"six\.py of six is missing"):
        six()


def test_a_file_without_a_hash_stops_the_build(copied: Path) -> None:
    record = next(copied.glob("six-*/RECORD"))
    lines = record.read_text(encoding="utf-8").splitlines()
    kept = ["six.py,," if line.startswith("six.py,") else line for line in lines]
    record.write_text("\n".join(kept) + "\n", encoding="utf-8")
    with pytest.raises(BuildFailed, match="no hash on record"):
        six()


def test_a_file_that_is_not_on_record_is_not_taken(copied: Path) -> None:
    (copied / "six_more.py").write_text("", encoding="utf-8")
    assert set(installed.files("six", lambda name: name.endswith(".py"))) == {"six.py"}


def test_another_version_stops_the_build(copied: Path) -> None:
    about = next(copied.glob("six-*/METADATA"))
    text = about.read_text(encoding="utf-8")
    about.write_text(text.replace("Version: 1.17.0", "Version: 1.16.0"), encoding="utf-8")
    with pytest.raises(BuildFailed, match=r"six 1\.16\.0 is installed, and 1\.17\.0 is locked"):
        six()


def test_a_package_that_is_not_locked_stops_the_build(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(archive.PACKAGES, "pytest", "pytest")
    with pytest.raises(BuildFailed, match=r"pytest is not in mobile/packaging/lock\.txt"):
        archive.write_archive(ROOT, ROOT / "build" / "never.zip")
    assert not (ROOT / "build" / "never.zip").exists()


def test_a_package_that_is_not_installed_stops_the_build(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(installed, "_lock", lambda: {"no-such-thing": Locked("1", "", ())})
    with pytest.raises(BuildFailed, match="no-such-thing is not installed"):
        installed.folder("no-such-thing")


def test_the_client_comes_from_the_locked_package_whatever_the_environment_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLET_WEB_PATH", str(tmp_path))
    content = client.wheel_files(("version.json",))["version.json"]
    assert content == (SITE_PACKAGES / "flet_web/web/version.json").read_bytes()


SAMPLES = {
    "empty": b"",
    "one": b"a",
    "few": b"abcab",
    "runs": b"a" * 5000,
    "every byte": bytes(range(256)) * 3,
    "noise": random.Random(1).randbytes(70_000),
    "long ago": b"needle here" + random.Random(2).randbytes(40_000) + b"needle here",
    "skewed": b"".join(bytes([n]) * 2 ** min(n, 18) for n in range(24)),
    "source": (ROOT / "mobile" / "packaging" / "deflate.py").read_bytes() * 3,
}


@pytest.mark.parametrize("data", SAMPLES.values(), ids=SAMPLES)
def test_any_inflater_reads_what_was_deflated(data: bytes) -> None:
    assert zlib.decompress(deflate.deflate(data), -zlib.MAX_WBITS) == data


def test_a_code_is_never_longer_than_allowed() -> None:
    grown = [1, 1]
    while len(grown) < 40:
        grown.append(grown[-1] + grown[-2])  # the longest codes that there are
    lengths = deflate.code_lengths(grown, 15)
    assert max(lengths) <= 15
    assert sum(2.0**-bits for bits in lengths) == 1.0


def test_it_is_nearly_as_small_as_the_usual_compressor() -> None:
    data = SAMPLES["source"]
    usual = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    assert len(deflate.deflate(data)) < 1.05 * len(usual.compress(data) + usual.flush())


def test_the_zip_holds_its_members_in_order_whatever_their_order_was(tmp_path: Path) -> None:
    members = {"b/two.py": b"2" * 99, "a.py": b"", "b/One.py": b"1"}
    one = zipped(members, tmp_path / "cache")
    other = zipped(dict(reversed(members.items())), tmp_path / "elsewhere")
    assert one == other
    path = tmp_path / "made.zip"
    path.write_bytes(one)
    with zipfile.ZipFile(path) as made:
        assert made.testzip() is None
        assert made.namelist() == sorted(members)
        assert {name: made.read(name) for name in made.namelist()} == members


def test_a_spoilt_cache_changes_nothing(tmp_path: Path) -> None:
    members = {"one.py": b"print(1)\n" * 9, "two.py": b"print(2)\n" * 9}
    made = zipped(members, tmp_path)
    first, second = sorted(tmp_path.iterdir())
    first.write_bytes(b"damaged")
    second.write_bytes(zlib.compress(b"another file")[2:-4])
    (tmp_path / "stale").write_bytes(b"")
    assert zipped(members, tmp_path) == made
    assert not (tmp_path / "stale").exists()


def test_text_is_written_with_one_line_ending_on_every_machine() -> None:
    for path in (ROOT / "mobile" / "packaging").glob("*.py"):
        if path.name.startswith("make_") and path.name != "make_lock.py":
            continue  # run by hand; what they write is committed
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "write_text":
                given = {word.arg: ast.literal_eval(word.value) for word in node.keywords}
                assert given == {"encoding": "utf-8", "newline": "\n"}, path.name


MACHINES = {
    "one": {"TZ": "UTC", "LC_ALL": "C.UTF-8", "PYTHONHASHSEED": "1"},
    "other": {"TZ": "Pacific/Chatham", "LC_ALL": "C", "PYTHONHASHSEED": "2", "PYTHONUTF8": "0"},
}


def test_another_place_zone_locale_umask_and_order_give_the_same_site(tmp_path: Path) -> None:
    for name, about in MACHINES.items():
        clone = tmp_path / name / "clone"
        left_out = shutil.ignore_patterns(".venv", ".git", "build", "__pycache__", ".*cache")
        shutil.copytree(ROOT, clone, ignore=left_out, symlinks=True)
        if name == "other":
            (clone / "mobile" / "web" / ".DS_Store").write_bytes(b"a file manager's own")
        command = (
            f"import os; os.umask({0o077 if name == 'other' else 0o022}); "
            "from pathlib import Path; from mobile.packaging.build import build; "
            f"build(Path({str(tmp_path / name / 'site')!r}))"
        )
        environment = {**os.environ, **about}
        subprocess.run([sys.executable, "-c", command], cwd=clone, env=environment, check=True)
    one, other = (content(tmp_path / name / "site") for name in MACHINES)
    assert one == other


def content(site: Path) -> dict[str, bytes]:
    return {p.relative_to(site).as_posix(): p.read_bytes() for p in site.rglob("*") if p.is_file()}
