"""The systems' own figures for the emergency card, written at each save.

Sentences come ready made, numbers as numbers: the card checks each and leaves out what is odd.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, Final

from engine.decision import Decision, decide
from engine.demand.facts import BY_PUMP, THROUGH_VESSEL, Facts, gather
from engine.errors import EngineError
from engine.hazards.bands import Band
from engine.hazards.course import Lime, point_at
from engine.hazards.incident import running
from engine.hazards.incident_recovery import last_state, room_pCO2_uatm
from engine.hazards.rescue import Rescue, rescue
from engine.hazards.rescue_water import new_water, state_from_point
from engine.hazards.safe_sizes import clear_litres
from engine.log.ledger import ledger_of
from engine.log.reading import newest
from engine.reasons import Reason
from engine.records import DeliverySetting, Incident, Record, Setup
from mobile.host import FIGURES_FORMAT, FIGURES_VERSION
from mobile.state.boundary import tried
from mobile.state.card_figures import reading, rescue_figures
from mobile.state.dangers import DangerBook, Dangers, key_of
from mobile.state.hazard import said, verdict_sentences
from mobile.state.sentences import sentence
from mobile.state.snapshot import Snapshot
from mobile.state.updates import by_system
from mobile.texts.card import TEXTS
from mobile.texts.hazard import KINDS
from mobile.texts.plan import TEXTS as PLAN
from mobile.texts.setup import TEXTS as SETUP

MOST_SYSTEMS: Final = 20  # what the card shows, at most
MOST_CASES: Final = 3
_NO_LINES: Final[list[str]] = []
_NO_READINGS: Final[list[dict[str, str]]] = []
READINGS: Final = ("pH_nbs", "total_alkalinity", "salinity", "temperature")


def for_card(
    records: Iterable[Record], snapshot: Snapshot, now: datetime, book: DangerBook
) -> dict[str, Any]:
    """Return the card's figures (format "sumpside-figures", version 2) of every system.

    Parameters
    ----------
    records
        The keeper's own records, of all systems, as written.
    snapshot
        What is shown: its system stands first on the card, its decision is used again.
    now
        The phone's clock, aware.
    book
        What is known of the hazards; what is missing is worked out and kept there.
    """
    first = snapshot.system
    systems = sorted(by_system(records), key=lambda own: (own[0].system != first, own[0].system))
    return {
        "format": FIGURES_FORMAT,
        "version": FIGURES_VERSION,
        "saved_at": now.isoformat(),
        "systems": [
            _system(setup, own, now, snapshot, book) for setup, own in systems[:MOST_SYSTEMS]
        ],
    }


def of_none(now: datetime) -> dict[str, Any]:
    """Return figures of no system: the card then shows what holds for all."""
    return {
        "format": FIGURES_FORMAT,
        "version": FIGURES_VERSION,
        "saved_at": now.isoformat(),
        "systems": [],
    }


def _system(
    setup: Setup, own: Sequence[Record], now: datetime, snapshot: Snapshot, book: DangerBook
) -> dict[str, Any]:
    """Return the figures of one system; a part that cannot be worked out is left out."""
    volume, error = setup.net_volume_L, setup.net_volume_error_share
    unit = snapshot.alkalinity_unit
    phones = (
        ("phone_vet", setup.phone_vet),
        ("phone_poison_centre", setup.phone_poison_centre),
        ("phone_emergency", setup.phone_emergency),
    )
    return {
        "name": setup.name,
        "net_volume_L": [volume * (1.0 - error), volume, volume * (1.0 + error)],
        "limewater_L_per_day": tried("card", lambda: _set(own, now), None),
        "pump_L_per_h": setup.pump_L_per_h if setup.delivery in BY_PUMP else None,
        "lime_container_L": setup.lime_container_L,
        "fresh_water_container_L": setup.fresh_water_container_L
        if setup.delivery in THROUGH_VESSEL
        else None,
        "salt_water_ready_L": setup.salt_water_ready_L,
        "phones": [
            {"label": SETUP[f"field_{key}"], "number": value} for key, value in phones if value
        ],
        "worst": tried("card", lambda: _worst(_dangers(setup, own, now, book), unit), _NO_LINES),
        "stop_safe": tried(
            "card", lambda: _stop_safe(_decision(setup, own, now, snapshot), unit), _NO_LINES
        ),
        "readings": tried("card", lambda: _readings(setup, own, now, unit), _NO_READINGS),
        "rescue": tried(
            "card",
            lambda: _rescue(
                gather(own, system=setup.system, now=now),
                setup,
                _dangers(setup, own, now, book),
                unit,
            ),
            None,
            refusals=(EngineError,),
        ),
    }


def _set(own: Sequence[Record], now: datetime) -> float | None:
    setting = newest(ledger_of(own).standing, DeliverySetting, now)
    return setting.limewater_L_per_day if setting else None


def _dangers(
    setup: Setup, own: Sequence[Record], now: datetime, book: DangerBook
) -> Dangers | None:
    key = key_of(ledger_of(own).standing, setup, setup.system, now)
    return book.work_out(own, key, setup.system, now)


def _readings(
    setup: Setup, own: Sequence[Record], now: datetime, unit: str
) -> list[dict[str, str]]:
    facts = gather(own, system=setup.system, now=now)
    return [
        found for parameter in READINGS if (found := reading(facts, parameter, unit)) is not None
    ]


def _worst(dangers: Dangers | None, unit: str) -> list[str]:
    """Return the verdict and the worst accidents, as sentences."""
    if dangers is None:
        return []
    rises = [
        sentence(TEXTS, "case", {"kind": KINDS[rise.kind], "said": said(rise.reasons[0], unit)})
        for rise in dangers.hazards.rises[:MOST_CASES]
    ]
    if dangers.hazards.start is None:
        return [*rises, *([TEXTS["pH_needs_test"]] if rises else [])]
    cases = [
        sentence(TEXTS, "case", {"kind": KINDS[case.kind], "said": said(case.reasons[0], unit)})
        for case in dangers.hazards.cases
        if case.band_bad is not Band.BELOW
    ]
    return [" ".join(verdict_sentences(dangers.safe, unit)), *cases[:MOST_CASES]]


def _decision(
    setup: Setup, own: Sequence[Record], now: datetime, snapshot: Snapshot
) -> Decision | None:
    if setup.system == snapshot.system or snapshot.recalled:
        return snapshot.decision
    return tried(
        "card",
        lambda: decide(own, system=setup.system, now=now),
        None,
        refusals=(EngineError,),
    )


def _stop_safe(decision: Decision | None, unit: str) -> list[str]:
    stop = None if decision is None else decision.stop_safe
    if stop is None:
        return []
    reasons = (stop,) if isinstance(stop, Reason) else stop.reasons
    return [sentence(PLAN, found.code, found.numbers, unit) for found in reasons]


def _rescue(
    facts: Facts, setup: Setup, dangers: Dangers | None, unit: str
) -> dict[str, Any] | None:
    """Return what water changes and air bring back, from the incident or from pH 9."""
    found = _incident_rescue(facts, setup) or _assumed_rescue(facts, setup, dangers)
    return found and rescue_figures(*found, unit)


def _incident_rescue(facts: Facts, setup: Setup) -> tuple[str, Any, Rescue] | None:
    state = running(facts.of(Incident))
    water = state and last_state(facts, setup, state)
    if water is None:
        return None
    return "rescue_from_reading", water, _relief(facts, setup, water)


def _assumed_rescue(
    facts: Facts, setup: Setup, dangers: Dangers | None
) -> tuple[str, Any, Rescue] | None:
    """Return the rescue of a tank that limewater brought to the emergency band."""
    start = dangers and dangers.hazards.start
    equipment = dangers and dangers.hazards.equipment
    if dangers is None or start is None or equipment is None:
        return None
    size = clear_litres(start, equipment, Band.EMERGENCY)
    lime = Lime(
        water=start.middle,
        strength_meq_per_L=equipment.strength_meq_per_L.best,
        litres=size.middle,
        rate_L_per_h=None,
    )
    water = state_from_point(point_at(lime, 0.0), start.middle.state().temperature_degC)
    if water is None:
        return None
    return "rescue_from_lime", water, _relief(facts, setup, water)


def _relief(facts: Facts, setup: Setup, water: Any) -> Rescue:
    return rescue(
        water,
        net_volume_L=setup.net_volume_L,
        net_volume_error_share=setup.net_volume_error_share,
        water=new_water(facts, setup),
        room_pCO2_uatm=room_pCO2_uatm(facts, water),
    )
