"""Only engine/limits.py makes a `DosePlan`; the engine stays pure."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCES = sorted([*ROOT.glob("engine/**/*.py"), *ROOT.glob("mobile/**/*.py")])


def calls(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    functions = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
    named = {function.id for function in functions if isinstance(function, ast.Name)}
    return named | {f.attr for f in functions if isinstance(f, ast.Attribute)}


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_dose_plan_is_made_in_limits_alone(path):
    if path == ROOT / "engine" / "limits.py":
        assert "DosePlan" in calls(path)
    else:
        assert "DosePlan" not in calls(path)


def test_every_cap_of_the_table_is_used_by_admit_through_one_function():
    text = (ROOT / "engine" / "limits.py").read_text(encoding="utf-8")
    tree = ast.parse(text)
    admit = next(
        node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == "admit"
    )
    used = {
        node.func.id
        for node in ast.walk(admit)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert {"precondition", "cap_values"} <= used
