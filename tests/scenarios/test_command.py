"""`python -m engine SCENARIO.json`, as a process of its own (not run under Pyodide)."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from engine.scenario import Scenario, dump
from tests.support.keeper_log import NOW, kettle

ROOT = Path(__file__).resolve().parents[2]


def scenario() -> Scenario:
    return Scenario(name="Kettle", about="", now=NOW, records=tuple(kettle().records), expected={})


def command(*arguments: str, **environment) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*arguments], cwd=ROOT, capture_output=True, text=True, check=False, **environment
    )


def test_command_prints_the_decision(tmp_path):
    path = tmp_path / "case.json"
    path.write_text(json.dumps(dump(scenario())), encoding="utf-8")
    done = command(sys.executable, "-m", "engine", str(path))
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["plan"]["limewater_L_per_day"] == pytest.approx(5.28)


@pytest.mark.parametrize("content", [None, b"not json", b"\xff\xfe\x00", b'{"format": "x"}'])
def test_command_on_a_bad_file_says_so_in_one_line(tmp_path, content):
    path = tmp_path / "case.json"
    if content is not None:
        path.write_bytes(content)
    done = command(sys.executable, "-m", "engine", str(path))
    assert done.returncode != 0
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_command_without_a_file_says_how_to_call_it():
    done = command(sys.executable, "-m", "engine")
    assert done.returncode != 0
    assert "SCENARIO.json" in done.stderr


def test_command_without_its_dependencies_says_how_to_get_them():
    # -S and -I leave out site-packages; the folder is put back by hand
    start = (
        f"import sys, runpy; sys.path.insert(0, {str(ROOT)!r}); sys.argv = ['engine', 'x.json']; "
        "runpy.run_module('engine', run_name='__main__')"
    )
    done = command(sys.executable, "-I", "-S", "-c", start)
    assert done.returncode != 0
    assert "python3 -m mobile" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_importing_the_package_needs_nothing_but_the_standard_library():
    start = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r}); "
        "import engine; print('pint' in sys.modules)"
    )
    done = command(sys.executable, "-I", "-S", "-c", start)
    assert done.stdout.strip() == "False", done.stderr
