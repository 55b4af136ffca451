"""What runs elsewhere: pinned by commit, without rights but one job's, published after tests."""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from mobile.bootstrap import APP_LOCK, DEV_LOCK, ROOT, SOURCE_LOCK

WORKFLOWS = sorted((ROOT / ".github" / "workflows").iterdir())
PUBLISH = ROOT / ".github" / "workflows" / "publish.yml"
ADVISORIES = ROOT / ".github" / "workflows" / "advisories.yml"
PINNED = re.compile(r"[\w-]+/[\w./-]+@[0-9a-f]{40}")


def parsed(path: Path) -> dict[Any, Any]:
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def jobs(path: Path) -> dict[str, Any]:
    return parsed(path)["jobs"]


def commands(job: dict[str, Any]) -> str:
    return "\n".join(step.get("run", "") for step in job["steps"])


def actions(job: dict[str, Any]) -> list[str]:
    return [step["uses"].partition("@")[0] for step in job["steps"] if "uses" in step]


@pytest.mark.parametrize("path", WORKFLOWS, ids=lambda path: path.name)
def test_every_action_is_pinned_by_commit_with_its_version_beside(path: Path) -> None:
    used = [step["uses"] for job in jobs(path).values() for step in job["steps"] if "uses" in step]
    assert used
    assert [name for name in used if not PINNED.fullmatch(name)] == []
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if "uses:" in line]
    assert len(lines) == len(used)
    for line in lines:
        assert re.search(r"@[0-9a-f]{40} # v\d+\.\d+\.\d+$", line), line
    assert not [job for job in jobs(path).values() if "uses" in job]  # no workflow of others


def test_one_action_has_one_commit_everywhere() -> None:
    used = {
        step["uses"]
        for path in WORKFLOWS
        for job in jobs(path).values()
        for step in job["steps"]
        if "uses" in step
    }
    assert len(used) == len({name.partition("@")[0] for name in used})


@pytest.mark.parametrize("path", WORKFLOWS, ids=lambda path: path.name)
def test_no_job_has_rights_but_reading_and_the_one_that_deploys(path: Path) -> None:
    assert parsed(path)["permissions"] == {}
    for name, job in jobs(path).items():
        deploys = path == PUBLISH and name == "deploy"
        rights = {"pages": "write", "id-token": "write"} if deploys else {"contents": "read"}
        assert job["permissions"] == rights, name
        assert job["timeout-minutes"] <= 120


@pytest.mark.parametrize("path", WORKFLOWS, ids=lambda path: path.name)
def test_a_checkout_leaves_no_credentials_and_no_secret_is_asked_for(path: Path) -> None:
    for job in jobs(path).values():
        for step in job["steps"]:
            if step.get("uses", "").startswith("actions/checkout@"):
                assert step["with"]["persist-credentials"] is False
    assert "secrets." not in path.read_text(encoding="utf-8")


def test_publishing_waits_for_the_tests_and_the_build() -> None:
    found = jobs(PUBLISH)
    assert set(found["deploy"]["needs"]) == {"test", "build"}
    assert ".ci/run" in commands(found["test"]).splitlines()
    for job in found.values():
        assert "if" not in job
        assert "continue-on-error" not in job
        assert not any(step.get("continue-on-error") or "if" in step for step in job["steps"])


def test_the_job_with_rights_runs_nothing_but_the_deployment() -> None:
    deploy = jobs(PUBLISH)["deploy"]
    assert actions(deploy) == ["actions/deploy-pages"]
    assert commands(deploy).strip() == ""
    assert "container" not in deploy
    assert actions(jobs(PUBLISH)["build"])[-1] == "actions/upload-pages-artifact"
    pages = [name for name, job in jobs(PUBLISH).items() if "actions/deploy-pages" in actions(job)]
    assert pages == ["deploy"]


def test_advisories_are_looked_for_every_week_in_every_lock() -> None:
    when = parsed(ADVISORIES)[True]  # YAML reads the word "on" as true
    assert [entry["cron"].split()[2:] for entry in when["schedule"]] == [["*", "*", "1"]]
    done = commands(jobs(ADVISORIES)["advisories"])
    audit_lock = ROOT / "tests" / "audit_lock.txt"
    assert f"--requirement {audit_lock.relative_to(ROOT)}" in done.partition("pip-audit")[0]
    assert "--require-hashes" in done.partition("pip-audit")[0]
    audited = done.partition("pip-audit")[2]
    for lock in (APP_LOCK, DEV_LOCK, SOURCE_LOCK, audit_lock):
        assert f"--requirement {lock.relative_to(ROOT)}" in audited
