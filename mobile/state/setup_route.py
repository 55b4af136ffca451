"""Where in Setup a field is asked for, so that a page can lead to the question that it needs."""

from mobile.state.setup_pages import PAGES


def setup_route(field: str) -> str:
    """Return the route of the page that asks for a field of `Setup`; empty where none does."""
    for page in PAGES:
        if page.in_setup and any(ask.key == field for ask in page.asks):
            return f"/setup/{page.key}"
    return ""
