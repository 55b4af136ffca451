"""Options and fixtures that every test folder shares."""

import pytest

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
