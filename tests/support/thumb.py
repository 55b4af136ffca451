"""A gloved thumb on the app in a browser: touches what it can see and read, and nothing else."""

import re
from typing import Any

from playwright.sync_api import Locator, Page
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from tests.support.browser import until

NOTCH_px = 260
LEAST_px = 48


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
        found.wait_for(state="attached", timeout=15_000)
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
        tab.first.wait_for(state="attached", timeout=15_000)
        box = self._at_rest(tab.first)
        assert box
        self.page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        self.taps += 1

    def sees(self, words: str | re.Pattern[str], timeout_s: float = 15.0) -> bool:
        """Tell whether these words come up on the screen or, after scrolling, below it."""
        found = self.page.get_by_text(words) if isinstance(words, str) else self._by_pattern(words)
        try:
            found.first.wait_for(state="attached", timeout=timeout_s * 1000)
        except PlaywrightTimeout:
            return self._scroll_for(found)
        return True

    def text(self) -> str:
        """Return everything that the screen says now, for the message of a failed test."""
        return self.page.locator("flt-semantics-host").inner_text()

    def _by_pattern(self, words: re.Pattern[str]) -> Locator:
        return self.page.get_by_text(words)

    def _control(self, name: str, role: str, *, exact: bool) -> Locator:
        pattern: Any = re.compile(rf"^(✓ )?{re.escape(name)}" + ("$" if exact else ""))
        return self.page.get_by_role(role, name=pattern).first  # pyright: ignore[reportArgumentType]

    def _reach(self, control: Locator) -> Any:
        height = self.page.viewport_size["height"] if self.page.viewport_size else 844
        for attempt in range(30):
            try:
                control.wait_for(state="attached", timeout=8_000 if attempt == 0 else 400)
                box = self._at_rest(control)
            except PlaywrightTimeout:
                box = None
            if box:
                clipped = box["height"] < LEAST_px and attempt < 8  # partly behind a bar
                if box["y"] >= 0 and box["y"] + box["height"] <= height and not clipped:
                    return box
                self._scroll(NOTCH_px if box["y"] > height / 2 else -NOTCH_px)
            else:
                self._scroll(NOTCH_px)
        raise AssertionError(f"{control} cannot be reached on: {self.text()}")

    def _at_rest(self, control: Locator) -> Any:
        """Return where a control is once it has stopped moving."""
        box = control.bounding_box()
        for _ in range(20):
            self.page.wait_for_timeout(60)
            after = control.bounding_box()
            if after == box:
                break
            box = after
        return box

    def _scroll(self, distance: int) -> None:
        self.page.mouse.move(195, 400)
        self.page.mouse.wheel(0, distance)
        self.page.wait_for_timeout(250)

    def _scroll_for(self, found: Locator) -> bool:
        for _ in range(12):
            self._scroll(NOTCH_px)
            if found.count():
                return True
        return False
