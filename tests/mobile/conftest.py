"""Fixtures of the screens' tests: a phone, and an app on it with a system set up."""

import asyncio
from collections.abc import AsyncIterator, Callable
from pathlib import Path

import pytest

from tests.support.app import Phone, Running, first_records


@pytest.fixture
async def phone(tmp_path: Path) -> AsyncIterator[Phone]:
    """A phone whose records lie in a folder and outlive the app."""
    phone = Phone(tmp_path / "records")
    yield phone
    await phone.close()


@pytest.fixture
async def bare_phone() -> AsyncIterator[Phone]:
    """A phone that keeps records in memory only."""
    phone = Phone(None)
    yield phone
    await phone.close()


@pytest.fixture
async def app(phone: Phone) -> Running:
    """An app with a system set up, as after the first run."""
    return await phone.open(records=first_records())


@pytest.fixture
async def later(monkeypatch: pytest.MonkeyPatch) -> list[tuple[float, Callable[[], None]]]:
    """What the app asked the clock to do later: (seconds, work); nothing runs by itself."""
    asked: list[tuple[float, Callable[[], None]]] = []
    loop = asyncio.get_running_loop()
    monkeypatch.setattr(loop, "call_later", lambda delay, work: asked.append((delay, work)))
    return asked
