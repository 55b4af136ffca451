"""A gloved thumb on the app in a browser: touches what it can see and read, and nothing else."""

import re
import time
from collections.abc import Iterator
from typing import Any

from playwright.sync_api import Locator, Page
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from tests.support.browser import steady, until

NOTCH_px = 260
LEAST_px = 48
# Generous, because other work may fill the machine; nothing waits longer than it must.
LIMIT_s = 60.0
LOOK_s = 5.0  # at one place of the screen, before scrolling on
REST_s = 0.25  # a control that has stood still for so long stays where it is
NOTCHES = 12  # one way through a long screen


class Thumb:
    """Taps by the words on the screen, scrolling as a person would; counts the taps."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = 0

    def tap(self, name: str, role: str = "button", *, exact: bool = False) -> None:
        """Scroll until a control with this name can be touched, and touch it."""
        box = self._reach(self._control(name, role, exact=exact))
        assert min(box["width"], box["height"]) >= LEAST_px, (name, box)
        self.page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        self.taps += 1

    def place_of(self, name: str, role: str = "button") -> tuple[float, float]:
        """Scroll until a control can be touched, and return where; for two touches at once."""
        box = self._reach(self._control(name, role, exact=False))
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def first_of(self, *words: str) -> str:
        """Return which of these words comes up first."""
        pattern = re.compile("|".join(re.escape(each) for each in words))
        found = self.page.get_by_text(pattern).first
        found.wait_for(state="attached", timeout=LIMIT_s * 1000)
        match = pattern.search(found.inner_text())
        assert match
        return match.group()

    def type(self, digits: str) -> None:
        """Press the app's own number keys."""
        for digit in digits:
            before = self.taps
            self.tap(digit, exact=True)
            self.taps = before  # digits are counted apart

    def write(self, label: str, text: str) -> None:
        """Write into a text field, as the phone's keyboard would."""
        field = self.page.get_by_label(label).last
        box = self._reach(field)
        self.page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        until(self.page, "document.activeElement.matches('input, textarea')")
        self.page.keyboard.type(text)

    def place(self, name: str) -> None:
        """Touch a destination of the bottom bar."""
        tab = self.page.get_by_role("button", name=re.compile(rf"^(Open:\s*)?{name}$"))
        tab.first.wait_for(state="attached", timeout=LIMIT_s * 1000)
        box = self._at_rest(tab.first)
        assert box
        self.page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        self.taps += 1

    def sees(self, words: str | re.Pattern[str], timeout_s: float = LIMIT_s) -> bool:
        """Tell whether these words come up on the screen or, after scrolling, beside it."""
        found = self.page.get_by_text(words).first
        if self._comes(found, min(LOOK_s, timeout_s)):
            return True
        ends = time.monotonic() + timeout_s - LOOK_s
        for turn, distance in enumerate(_to_and_fro()):
            if found.count():
                return True
            if turn >= 2 * NOTCHES and time.monotonic() > ends:
                return False  # the whole screen was looked through, down and up again
            self._scroll(distance)
        raise AssertionError("scrolling goes on for ever")

    def text(self) -> str:
        """Return everything that the screen says now, for the message of a failed test."""
        return self.page.locator("flt-semantics-host").inner_text()

    def _control(self, name: str, role: str, *, exact: bool) -> Locator:
        pattern: Any = re.compile(rf"^(✓ )?{re.escape(name)}" + ("$" if exact else ""))
        return self.page.get_by_role(role, name=pattern).first  # pyright: ignore[reportArgumentType]

    def _reach(self, control: Locator) -> Any:
        """Scroll until a control can be touched; return its place once it stands still."""
        height = self.page.viewport_size["height"] if self.page.viewport_size else 844
        self._comes(control, LOOK_s)
        ends = time.monotonic() + LIMIT_s
        clipped = 0  # times that it stood partly behind a bar
        for distance in _to_and_fro():
            box = self._at_rest(control)
            if box and box["y"] >= 0 and box["y"] + box["height"] <= height:
                if box["height"] >= LEAST_px or clipped == NOTCHES:
                    return box
                clipped += 1
            if time.monotonic() > ends:
                break
            towards = NOTCH_px if box and box["y"] > height / 2 else -NOTCH_px
            self._scroll(towards if box else distance)
        raise AssertionError(f"{control} cannot be reached on: {self.text()}")

    def _comes(self, control: Locator, timeout_s: float) -> bool:
        try:
            control.wait_for(state="attached", timeout=timeout_s * 1000)
        except PlaywrightTimeout:
            return False
        return True

    def _at_rest(self, control: Locator) -> Any:
        """Return where a control is once it has stopped moving; None where there is none."""
        return steady(self.page, lambda: _box(control), REST_s, LIMIT_s)

    def _scroll(self, distance: int) -> None:
        self.page.mouse.move(195, 400)
        self.page.mouse.wheel(0, distance)
        self.page.wait_for_timeout(250)


def _box(control: Locator) -> Any:
    """Return the place of a control that is there now, without waiting for it."""
    try:
        return control.bounding_box(timeout=500) if control.count() else None
    except PlaywrightTimeout:  # it went away meanwhile
        return None


def _to_and_fro() -> Iterator[int]:
    """Give scrolls down a long screen and up again, for ever."""
    while True:
        yield from (NOTCH_px,) * NOTCHES
        yield from (-NOTCH_px,) * NOTCHES
