"""The commands of the README: what they do when something is wrong, in one sentence."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
import zipfile
from pathlib import Path

import pytest

from mobile import bootstrap, cli

ROOT = bootstrap.ROOT


def run(*command: str, cwd: Path = ROOT, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command,
        cwd=cwd,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
        timeout=180,
    )


@pytest.mark.parametrize(
    "arguments",
    [
        ["fly"],
        ["build"],
        ["--port", "0"],
        ["--port", "many"],
        ["build", "--out", "x", "--base", "../up"],
    ],
    ids=" ".join,
)
def test_bad_arguments_get_one_sentence(arguments: list[str]) -> None:
    done = run(sys.executable, "-m", "mobile", *arguments)
    assert done.returncode == 2
    assert done.stderr.startswith("Sumpside: ")
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_a_port_in_use_gets_one_sentence() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        done = run(sys.executable, "-m", "mobile", "--port", port)
    assert done.returncode == 2
    assert port in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_an_old_python_is_told_what_is_needed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(bootstrap.sys, "version_info", (3, 9, 2))
    with pytest.raises(SystemExit) as stopped:
        bootstrap.enter("mobile")
    assert stopped.value.code == 2
    assert capsys.readouterr().err == "Sumpside: Python 3.11 or newer is needed, and this is 3.9.\n"


def test_an_old_python_can_read_the_launcher_at_all() -> None:
    import ast

    for name in ("__init__.py", "__main__.py", "bootstrap.py"):
        source = (ROOT / "mobile" / name).read_text(encoding="utf-8")
        ast.parse(source, feature_version=(3, 6))


def copy_without_venv(folder: Path) -> Path:
    clone = folder / "clone"
    left_out = shutil.ignore_patterns(".venv", ".git", "build", "__pycache__", ".*cache")
    shutil.copytree(ROOT, clone, ignore=left_out)
    return clone


def test_a_first_run_without_network_gets_one_sentence(tmp_path: Path) -> None:
    clone = copy_without_venv(tmp_path)
    nowhere = "http://127.0.0.1:9/simple/"
    done = run(
        shutil.which("python3") or sys.executable,
        "-m",
        "mobile",
        cwd=clone,
        PIP_INDEX_URL=nowhere,
        PIP_EXTRA_INDEX_URL="",
        PIP_FIND_LINKS="",
        PIP_NO_CACHE_DIR="1",
        PIP_RETRIES="0",
        PIP_CONFIG_FILE=os.devnull,
    )
    assert done.returncode == 2
    assert "needs a network" in done.stderr
    assert "Traceback" not in done.stderr
    assert not list((clone / ".venv").glob("*.stamp"))  # the next run tries again


def test_a_package_with_another_hash_is_not_installed(tmp_path: Path) -> None:
    """A real pip against a real wheel that is not the locked one."""
    clone = copy_without_venv(tmp_path)
    wheel = tmp_path / "wheels" / "six-1.17.0-py2.py3-none-any.whl"
    wheel.parent.mkdir()
    with zipfile.ZipFile(wheel, "w") as made:
        made.writestr("six.py", "# not six")
        about = "six-1.17.0.dist-info"
        made.writestr(f"{about}/METADATA", "Metadata-Version: 2.1\nName: six\nVersion: 1.17.0\n")
        made.writestr(
            f"{about}/WHEEL", "Wheel-Version: 1.0\nTag: py2-none-any\nTag: py3-none-any\n"
        )
        made.writestr(f"{about}/RECORD", "")
    digest = "ab" * 32
    lock = clone / "mobile" / "packaging" / "lock.txt"
    lock.write_text(f"six==1.17.0 --hash=sha256:{digest}\n", encoding="utf-8")
    done = run(
        shutil.which("python3") or sys.executable,
        "-m",
        "mobile",
        cwd=clone,
        PIP_NO_INDEX="1",
        PIP_FIND_LINKS=str(wheel.parent),
        PIP_CONFIG_FILE=os.devnull,
    )
    assert done.returncode == 2
    sentence = "Sumpside: six==1.17.0 is not the file that was locked: its hash differs."
    assert done.stderr.startswith(sentence)
    assert len(done.stderr.strip().splitlines()) == 1
    assert not list((clone / ".venv").glob("lib/*/site-packages/six.py"))
    assert not list((clone / ".venv").glob("*.stamp"))


def test_a_python_without_a_ready_made_package_is_told_so() -> None:
    lines = [
        "ERROR: Could not find a version that satisfies the requirement gsw==3.6.23",
        "ERROR: No matching distribution found for gsw==3.6.23",
    ]
    assert "no ready-made gsw==3.6.23 exists for this Python" in bootstrap._why_install_failed(
        lines
    )


def test_a_changed_lock_is_installed_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lock = tmp_path / "lock.txt"
    lock.write_text("one==1\n", encoding="utf-8")
    monkeypatch.setattr(bootstrap, "LOCKS", {"app": [lock], "dev": [lock]})
    monkeypatch.setattr(bootstrap, "VENV", tmp_path)
    monkeypatch.setattr(bootstrap, "_python", lambda: lock)
    bootstrap._mark(()).write_text(bootstrap._stamp([lock]), encoding="utf-8")
    assert bootstrap._is_ready(())
    lock.write_text("one==2\n", encoding="utf-8")
    assert not bootstrap._is_ready(())


def test_the_base_is_a_folder_with_slashes() -> None:
    parse = cli.parser().parse_args
    assert parse(["build", "--out", "x", "--base", "sumpside"]).base == "/sumpside/"
    assert parse(["build", "--out", "x", "--base", "/a/b/"]).base == "/a/b/"
    assert parse(["build", "--out", "x"]).base == "/"


def test_serving_prints_the_address_and_answers() -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "mobile", "--port", str(port)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        address = f"http://localhost:{port}"
        printed = ""
        while address not in printed:
            line = server.stdout.readline() if server.stdout else ""
            assert line, printed
            printed += line
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/") as answer:
            page = answer.read().decode()
        assert "Sumpside" in page
    finally:
        server.terminate()
        server.communicate(timeout=20)


def test_dev_serves_the_screens_with_python_on_this_machine(tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "mobile", "dev", "--port", str(port)],
        cwd=ROOT,
        env={**os.environ, "HOME": str(tmp_path)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        assert "flet" in fetched(f"http://127.0.0.1:{port}/").lower()
    finally:
        os.killpg(server.pid, 15)
        server.wait(timeout=20)


def fetched(url: str) -> str:
    """Return a page as soon as the server answers."""
    deadline = time.monotonic() + 60
    while True:
        try:
            with urllib.request.urlopen(url) as answer:
                return answer.read().decode()
        except OSError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.2)
