"""What could go wrong with a system, worked out once for what it rests on and then kept.

Working it out takes about twice as long as the decision, so it is done after a save was told, and
only when something that it reads has changed.
"""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from engine.demand.facts import Facts, gather
from engine.errors import EngineError
from engine.hazards.hazard import Hazards, assess
from engine.hazards.rescue import ready_reason
from engine.hazards.rescue_water import new_water
from engine.hazards.safe_setup import SafeSetup, verdict
from engine.reasons import Reason
from engine.records import (
    Incident,
    MeterCheck,
    Note,
    PowderStock,
    ProcedureRun,
    Record,
    Setup,
    WaterTest,
)
from mobile.state.boundary import tried

# Readings that the hazards start from; every kind but these few is taken as read.
READ_PARAMETERS: Final = frozenset(
    {"total_alkalinity", "pH_nbs", "salinity", "calcium", "temperature", "room_co2"}
)
_NOT_READ: Final = (Note, ProcedureRun, PowderStock, Incident, MeterCheck)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dangers:
    """The hazards of one system and what would make it safe."""

    key: Hashable  # what they were worked out from
    system: str
    hazards: Hazards
    safe: SafeSetup
    ready: Reason | None  # the verdict on the salt water that stands ready


def key_of(standing: Iterable[Record], setup: Setup | None, system: str, now: datetime) -> Hashable:
    """Return what the hazards rest on: the set-up, the hour, and every record that they read.

    Parameters
    ----------
    standing : iterable of Record
        Of one system, amendments applied.
    setup : Setup or None
        In force.
    system : str
        Its id.
    now : datetime
        Ages are read to the hour.
    """
    hour = int(now.timestamp() // 3600.0)
    return system, hour, setup, tuple(r.id for r in standing if _is_read(r))


def _is_read(record: Record) -> bool:
    if isinstance(record, WaterTest):
        return any(reading.parameter in READ_PARAMETERS for reading in record.readings)
    return not isinstance(record, _NOT_READ)


def dangers_of(facts: Facts, key: Hashable, system: str) -> Dangers:
    """Return the dangers of a system; raises where the engine cannot work them out."""
    hazards = assess(facts)
    return Dangers(
        key=key, system=system, hazards=hazards, safe=verdict(hazards), ready=_ready(facts)
    )


def _ready(facts: Facts) -> Reason | None:
    setup = facts.setup
    if setup is None:
        return None
    return ready_reason(new_water(facts, setup), setup.net_volume_L)


class DangerBook:
    """The dangers of each system, worked out again only when their key has changed."""

    def __init__(self) -> None:
        self._known: dict[str, Dangers] = {}
        self._failed: dict[str, Hashable] = {}  # by system: for what it was tried in vain
        self.worked_out = 0  # how often, for tests

    def known(self, key: Hashable, system: str) -> Dangers | None:
        """Return what is known for a key, without working anything out."""
        found = self._known.get(system)
        return found if found is not None and found.key == key else None

    def work_out(
        self, records: Iterable[Record], key: Hashable, system: str, now: datetime
    ) -> Dangers | None:
        """Return the dangers of a system's records as written; from memory where they hold.

        None where they could not be worked out; that is not tried again until the key changes.
        """
        found = self.known(key, system)
        if found is None and not self.has_failed(key, system):
            self.worked_out += 1
            found = tried(
                "dangers",
                lambda: dangers_of(gather(records, system=system, now=now), key, system),
                None,
                refusals=(EngineError,),
            )
            if found is None:
                self._failed[system] = key
            else:
                self._known[system] = found
        return found

    def has_failed(self, key: Hashable, system: str) -> bool:
        """Tell whether working them out for this key was tried in vain."""
        return system in self._failed and self._failed[system] == key
