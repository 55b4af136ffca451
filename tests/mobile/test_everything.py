"""The set-up of the tests: which browsers it installs, and what it says where it cannot."""

import os
import subprocess

import pytest

from tests.support import everything


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """A Debian without any browser; the commands that it was asked to run."""
    commands: list[list[str]] = []

    def run(command: list[str], **_options: object) -> subprocess.CompletedProcess[str]:
        commands.append(command)
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(everything.subprocess, "run", run)
    monkeypatch.setattr(everything, "BROWSERS", dict.fromkeys(everything.BROWSERS, lambda: None))
    monkeypatch.setattr(everything.shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    return commands


def test_a_fresh_debian_gets_every_browser_that_the_tests_drive(asked: list[list[str]]) -> None:
    everything.ensure_browsers()
    assert [command[1] for command in asked] == ["update", "install"]
    wanted = {"chromium", "firefox-esr", "webkit2gtk-driver", "xvfb", "xauth"}
    assert wanted <= set(asked[-1])


def test_what_is_there_is_not_asked_for(
    asked: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = everything.BROWSERS | {"chromium": lambda: "/usr/bin/chromium"}
    monkeypatch.setattr(everything, "BROWSERS", found)
    everything.ensure_browsers()
    assert "chromium" not in asked[-1]
    monkeypatch.setattr(everything, "BROWSERS", dict.fromkeys(found, lambda: "there"))
    asked.clear()
    everything.ensure_browsers()
    assert asked == []


def test_without_root_it_says_what_is_missing_and_goes_on(
    asked: list[list[str]], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    everything.ensure_browsers()
    assert asked == []
    assert "firefox-esr" in capsys.readouterr().out


def test_a_failed_installation_is_one_sentence_and_no_traceback(
    asked: list[list[str]], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def run(command: list[str], **_options: object) -> subprocess.CompletedProcess[str]:
        return subprocess.CompletedProcess(command, 100)

    monkeypatch.setattr(everything.subprocess, "run", run)
    everything.ensure_browsers()
    assert "failed. Go on without" in capsys.readouterr().out
    assert asked == []
