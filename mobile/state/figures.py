"""The systems' own figures for the emergency card, written at each save."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, Final

from engine.log import effective, newest
from engine.records import DeliverySetting, Record, Setup
from mobile.state.updates import by_system
from mobile.texts.setup import TEXTS

MOST_SYSTEMS: Final = 20  # what the card shows, at most


def for_card(records: Iterable[Record], first: str, now: datetime) -> dict[str, Any]:
    """Return the card's figures (format "sumpside-figures", version 1) of every system.

    Parameters
    ----------
    records
        The keeper's own records, of all systems, as written.
    first
        The system that stands first on the card: the one shown.
    now
        The phone's clock, aware.
    """
    systems = sorted(by_system(records), key=lambda own: (own[0].system != first, own[0].system))
    return {
        "format": "sumpside-figures",
        "version": 1,
        "saved_at": now.isoformat(),
        "systems": [_system(setup, own, now) for setup, own in systems[:MOST_SYSTEMS]],
    }


def _system(setup: Setup, own: Iterable[Record], now: datetime) -> dict[str, Any]:
    volume, error = setup.net_volume_L, setup.net_volume_error_share
    setting = newest(effective(own), DeliverySetting, now)
    phones = (
        ("phone_vet", setup.phone_vet),
        ("phone_poison_centre", setup.phone_poison_centre),
        ("phone_emergency", setup.phone_emergency),
    )
    return {
        "name": setup.name,
        "net_volume_L": [volume * (1.0 - error), volume, volume * (1.0 + error)],
        "limewater_L_per_day": setting.limewater_L_per_day if setting else None,
        "lime_container_L": setup.lime_container_L,
        "salt_water_ready_L": setup.salt_water_ready_L,
        "phones": [
            {"label": TEXTS[f"field_{key}"], "number": value} for key, value in phones if value
        ],
    }
