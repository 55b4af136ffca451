"""Options and fixtures that every test folder shares."""

import pytest


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
