"""The demo: an invented system, in memory, its records moved so that its last day is today."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Final

from engine import scenario
from engine.log.record_codec import to_dict
from mobile.storage.memory import memory_folder
from mobile.storage.repository import Repository
from mobile.storage.store import open_repository
from mobile.validation import VALIDATION

DEMO_FILE: Final = Path(__file__).resolve().parent.parent / "demo_data" / "demo_system.json"


async def open_demo(now: datetime, new_device_id: Callable[[], str]) -> Repository:
    """Return a store in memory that holds the demo's records."""
    loaded = scenario.load(DEMO_FILE.read_text(encoding="utf-8")).shifted(now)
    repository = await open_repository(memory_folder, new_device_id=new_device_id, **VALIDATION)
    await repository.append([to_dict(record) for record in loaded.records])
    return repository
