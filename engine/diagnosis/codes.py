"""What can be wrong, as codes; sentences stand in mobile/texts/diagnosis.py."""

from dataclasses import dataclass
from enum import StrEnum

from engine.reasons import Reason


class Finding(StrEnum):
    """What is seen, and what comes first."""

    STEADY = "finding_steady"
    FALLS = "finding_falls"
    RISES = "finding_rises"
    RUNS_LOW = "finding_runs_low"  # the tests run below what was expected
    RUNS_HIGH = "finding_runs_high"
    PH_HIGH = "finding_pH_high"
    PH_LOW = "finding_pH_low"
    NO_DEMAND = "finding_no_demand"
    LOOK_AT_ANIMALS = "finding_look_at_animals"


class CauseCode(StrEnum):
    """What may be behind it."""

    WEAK_LIME = "cause_weak_lime"
    WEAK_LIME_UNCHECKED = "cause_weak_lime_unchecked"
    PUMP_WORN = "cause_pump_worn"
    PUMP_UNCHECKED = "cause_pump_unchecked"
    PUMP_STOPPED = "cause_pump_stopped"
    PUMP_GIVES_MORE = "cause_pump_gives_more"
    DEMAND_UP = "cause_demand_up"
    DEMAND_DOWN = "cause_demand_down"
    EVAPORATION_DOWN = "cause_evaporation_down"
    EVAPORATION_UP = "cause_evaporation_up"
    SECOND_SOURCE_OFF = "cause_second_source_off"
    SECOND_SOURCE_MORE = "cause_second_source_more"
    RECHARGED = "cause_recharged"
    SLUG = "cause_slug"
    REAGENT = "cause_reagent"
    SALINITY = "cause_salinity"
    NITRATE = "cause_nitrate"
    NITRATE_UNTESTED = "cause_nitrate_untested"
    ROOM_UNMEASURED = "cause_room_unmeasured"
    ROOM_CO2_HIGH = "cause_room_co2_high"
    ROOM_CO2_LOW = "cause_room_co2_low"
    LIME_STOPPED = "cause_lime_stopped"
    PROBE = "cause_probe"


class Measure(StrEnum):
    """The cheapest measurement that would settle it."""

    STRENGTH = "measure_strength"
    PUMP = "measure_pump"
    LOOK = "measure_look"
    SAME_HOUR = "measure_same_hour"
    REFILLS = "measure_refills"
    SECOND_SOURCE = "measure_second_source"
    REFERENCE = "measure_reference"
    SALINITY = "measure_salinity"
    NITRATE = "measure_nitrate"
    WINDOW = "measure_window"
    WINDOW_SHUT = "measure_window_shut"
    PROBE = "measure_probe"


class Likelihood(StrEnum):
    """How likely, in words; the words stand in mobile/texts/diagnosis.py."""

    LIKELY = "likely"
    POSSIBLE = "possible"
    UNLIKELY = "unlikely"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One possible cause."""

    code: CauseCode
    likelihood: Likelihood
    explains_share: float | None  # of the drift, where the log tells
    reason: Reason  # the cause with its numbers
    measure: Reason  # what would settle it


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnosis:
    """What is seen, and its possible causes, the most likely first; none when all is steady."""

    finding: Finding
    reasons: tuple[Reason, ...]
    causes: tuple[Cause, ...]


def finding_reason(code: Finding, **numbers: float | str) -> Reason:
    """Return a reason; each keyword's name carries its unit."""
    return Reason(code, numbers)
