"""Options and fixtures that every test folder shares."""

from collections.abc import Generator

import pytest

try:
    from mobile.state import boundary
except ImportError:  # the bundled Python runs tests/engine without the app
    boundary = None

try:
    from hypothesis import settings
except ImportError:  # the bundled Python has none, and runs tests/engine without it
    pass
else:  # no property is judged by the clock: machines here are noisy
    settings.register_profile("sumpside", deadline=None)
    settings.load_profile("sumpside")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--long", action="store_true", help="add the big kill, fuzz and simulation runs"
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    kept = [item for item in items if "long" not in item.keywords]
    config.hook.pytest_deselected(items=[item for item in items if "long" in item.keywords])
    items[:] = kept


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Let the app's boundaries raise again, so that they hide nothing; not in tests of faults."""
    if boundary is not None:
        boundary.set_strict(strict="faults" not in item.keywords)
        boundary.raised.clear()
        boundary.last.clear()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, object, object]:
    """Fail a test behind which a boundary was handed an error, wherever that ended."""
    result = yield
    if boundary is not None and boundary.raised:
        raise AssertionError("a boundary was handed this") from boundary.raised[0]
    return result
