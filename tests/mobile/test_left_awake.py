"""A screen that is left awake decides again each hour."""

import asyncio

import pytest

from mobile import main


class Counted:
    """A store that counts, and ends the loop at the third time."""

    def __init__(self) -> None:
        self.slept: list[float] = []
        self.decided = 0

    async def sleep(self, seconds: float) -> None:
        if len(self.slept) == 3:
            raise asyncio.CancelledError
        self.slept.append(seconds)

    def refresh_if_ready(self) -> None:
        self.decided += 1


async def test_the_decision_is_made_again_each_hour(monkeypatch: pytest.MonkeyPatch):
    store = Counted()
    monkeypatch.setattr(main.asyncio, "sleep", store.sleep)
    with pytest.raises(asyncio.CancelledError):
        await main.decide_hourly(store)
    assert store.slept == [3600.0] * 3
    assert store.decided == 3
