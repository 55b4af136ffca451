"""The browser fixtures, for this folder."""

from tests.support.browser import built_site, chromium, playwright

__all__ = ["built_site", "chromium", "playwright"]
