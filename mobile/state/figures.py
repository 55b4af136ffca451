"""The system's own figures for the emergency card, written at each save that changes them."""

from typing import Any

from engine.log import newest
from engine.records import DeliverySetting
from mobile.state.snapshot import Snapshot
from mobile.texts.setup import TEXTS


def for_card(snapshot: Snapshot) -> dict[str, Any]:
    """Return the card's figures (format "sumpside-figures", version 1) of the current system."""
    return {
        "format": "sumpside-figures",
        "version": 1,
        "saved_at": snapshot.now.isoformat(),
        "systems": [_system(snapshot)] if snapshot.setup else [],
    }


def _system(snapshot: Snapshot) -> dict[str, Any]:
    setup = snapshot.setup
    if setup is None:
        return {}
    volume, error = setup.net_volume_L, setup.net_volume_error_share
    setting = newest(snapshot.standing, DeliverySetting, snapshot.now)
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
