"""The set-up as a row of questions, as data: the first run walks through them, Setup lists them."""

from dataclasses import fields
from typing import Any, Final

from engine.limewater import saturated_alkalinity_meq_per_L
from engine.records import Delivery, HazardBand, SecondSource, Setup
from engine.vocabulary import MEQ_PER_DKH
from mobile.state.second_source import second_meq_per_day
from mobile.state.sentences import alkalinity, number, significant
from mobile.state.setup_asks import YES_NO, Ask, Draft, Page, chosen
from mobile.state.setup_fine_pages import FINE_PAGES
from mobile.texts.setup import TEXTS

_VESSEL: Final = ("delivery", (Delivery.PUMP_VESSEL, Delivery.TOP_OFF_VESSEL))
_CONTAINER: Final = (
    "delivery",
    (Delivery.PUMP_CONTAINER, Delivery.TOP_OFF_CONTAINER, Delivery.DRIP),
)
_PUMP: Final = ("delivery", (Delivery.PUMP_VESSEL, Delivery.PUMP_CONTAINER))
_TOP_OFF: Final = ("delivery", (Delivery.TOP_OFF_VESSEL, Delivery.TOP_OFF_CONTAINER))
_TWO_PART: Final = ("second_source", (SecondSource.TWO_PART,))
_REACTOR: Final = ("second_source", (SecondSource.REACTOR,))
# Since when the present setting runs: earlier tests count only where what went in is known.
SINCE_DAYS: Final = {"today": 0, "week": 7, "month": 30}

PAGES: Final = (
    Page(
        key="system",
        asks=(Ask(key="name", words=True), Ask(key="net_volume_L")),
    ),
    Page(
        key="delivery",
        asks=(
            Ask(key="delivery", options=tuple(Delivery)),
            Ask(key="vessel_L", only=_VESSEL),
            Ask(key="lime_container_L", only=_CONTAINER),
            chosen("shared_container", YES_NO, only=_PUMP),
            Ask(key="fresh_water_container_L", optional=True),
            Ask(key="pump_L_per_h", only=_PUMP, optional=True),
        ),
    ),
    Page(
        key="evaporation",
        asks=(Ask(key="evaporation_low_L_per_day"), Ask(key="evaporation_high_L_per_day")),
    ),
    Page(
        key="targets",
        asks=(
            Ask(key="target_total_alkalinity_meq_per_L"),
            Ask(key="band_low_total_alkalinity_meq_per_L"),
            Ask(key="band_high_total_alkalinity_meq_per_L"),
            Ask(key="floor_total_alkalinity_meq_per_L"),
        ),
    ),
    Page(
        key="second_source",
        asks=(
            Ask(key="second_source", options=tuple(SecondSource)),
            Ask(key="two_part_meq_per_mL", only=_TWO_PART),
            Ask(key="reactor_effluent_meq_per_L", only=_REACTOR),
        ),
    ),
    Page(
        key="limits",
        asks=(
            Ask(key="keeper_cap_L_per_day"),
            Ask(key="evaporation_share"),
            Ask(key="net_rise_meq_per_L_per_day"),
            Ask(key="stopped_rise_meq_per_L_per_day"),
        ),
    ),
    Page(
        key="start",
        in_setup=False,
        asks=(
            Ask(key="limewater_L_per_day", of="delivery_setting", optional=True),
            Ask(
                key="two_part_mL_per_day",
                of="second_source_setting",
                optional=True,
                only=_TWO_PART,
            ),
            Ask(key="flow_L_per_day", of="second_source_setting", optional=True, only=_REACTOR),
            Ask(key="set_since", options=tuple(SINCE_DAYS)),
            Ask(key="holds_steady", options=tuple(YES_NO)),
            Ask(
                key="entered_demand_meq_per_L_per_day",
                optional=True,
                only=("holds_steady", ("no",)),
            ),
        ),
    ),
    Page(
        key="demand",
        first_run=False,  # there the page before asks it
        asks=(Ask(key="entered_demand_meq_per_L_per_day", optional=True),),
    ),
    Page(
        key="safety",
        first_run=False,
        asks=(
            Ask(key="salt_water_ready_L"),
            Ask(key="drain_back_L", optional=True),
            Ask(key="phone_vet", words=True, optional=True),
            Ask(key="phone_poison_centre", words=True, optional=True),
            Ask(key="phone_emergency", words=True, optional=True),
        ),
    ),
    Page(
        key="guards",
        first_run=False,
        asks=(
            Ask(key="pump_cut_off_hours", only=_PUMP, optional=True),
            Ask(key="top_off_L_per_h", only=_TOP_OFF, optional=True),
            Ask(key="top_off_cut_off_hours", only=_TOP_OFF, optional=True),
            chosen("siphon_break", YES_NO),
            Ask(key="unattended_hours"),
            chosen("hazard_band", {band.value: band for band in HazardBand}),
        ),
    ),
    Page(
        key="equipment",
        first_run=False,
        asks=(
            Ask(key="lime_temperature_degC"),
            Ask(key="tank_temperature_degC"),
            Ask(key="net_volume_error_share"),
            Ask(key="doses_per_day"),
            Ask(key="pump_step_mL"),
            Ask(key="stirrer_every_h", optional=True),
            Ask(key="powder_assay"),
            Ask(key="reactor_flow_L_per_day", only=_REACTOR, optional=True),
        ),
    ),
    Page(
        key="powder",
        first_run=False,
        asks=(
            Ask(key="powder_days", optional=True),
            Ask(key="powder_lead_days", optional=True),
            Ask(key="powder_margin_days", optional=True),
            Ask(key="scoop_g", optional=True),
            Ask(key="currency", words=True, optional=True),
        ),
    ),
    *FINE_PAGES,
)
FIRST_RUN: Final = tuple(page for page in PAGES if page.first_run)
BY_KEY: Final = {page.key: page for page in PAGES}
_STORED: Final = {ask.key: ask.stored for page in PAGES for ask in page.asks if ask.stored}

# Offered, and confirmed by the keeper on the page. Common practice, no source.
OFFERED: Final[dict[str, Any]] = {
    "delivery": Delivery.PUMP_VESSEL,
    "shared_container": "no",
    "target_total_alkalinity_meq_per_L": 8.2 * MEQ_PER_DKH,
    "band_low_total_alkalinity_meq_per_L": 7.5 * MEQ_PER_DKH,
    "band_high_total_alkalinity_meq_per_L": 9.0 * MEQ_PER_DKH,
    "floor_total_alkalinity_meq_per_L": 6.5 * MEQ_PER_DKH,
    "second_source": SecondSource.NONE,
    "evaporation_share": 0.9,
    "net_rise_meq_per_L_per_day": 0.3 * MEQ_PER_DKH,
    "stopped_rise_meq_per_L_per_day": 3.0 * MEQ_PER_DKH,
    "holds_steady": "no",
    "set_since": "today",
}
LIME_TEMPERATURE_DEGC: Final = next(
    field.default for field in fields(Setup) if field.name == "lime_temperature_degC"
)
_SETUP_FIELDS: Final = {field.name for field in fields(Setup)} - {
    "id", "at", "recorded_at", "system", "note", "typed",
}  # fmt: skip


def offered_ceiling(draft: Draft) -> dict[str, Any]:
    """Return the answers with the least evaporation offered as the keeper's own ceiling."""
    if draft.get("keeper_cap_L_per_day") is not None:
        return dict(draft)
    return {**draft, "keeper_cap_L_per_day": draft.get("evaporation_low_L_per_day")}


def draft_of(setup: Setup | None) -> dict[str, Any]:
    """Return the answers that a set-up stands for; the offered ones when there is none."""
    if setup is None:
        return dict(OFFERED)
    draft = {name: getattr(setup, name) for name in _SETUP_FIELDS}
    for key, stored in _STORED.items():
        draft[key] = next(option for option, value in stored.items() if value == draft[key])
    return draft


def setup_fields(draft: Draft) -> dict[str, Any]:
    """Return the fields of the `Setup` that the answers describe."""
    found = {key: value for key, value in draft.items() if key in _SETUP_FIELDS}
    for key, stored in _STORED.items():
        if key in draft:
            found[key] = stored[draft[key]]
    found["delivery"] = Delivery(draft["delivery"])
    found["second_source"] = SecondSource(draft.get("second_source", SecondSource.NONE))
    if draft.get("holds_steady") == "yes":
        found["entered_demand_meq_per_L_per_day"] = held_demand_meq_per_L_per_day(draft)
    return found


def corrected(before: Draft, after: Draft) -> dict[str, Any]:
    """Return changed answers, an entered demand kept in meq a day when the volume is corrected."""
    demand = after.get("entered_demand_meq_per_L_per_day")
    if demand is None or demand != before.get("entered_demand_meq_per_L_per_day"):
        return dict(after)
    scale = before["net_volume_L"] / after["net_volume_L"]
    return {**after, "entered_demand_meq_per_L_per_day": demand * scale}


def held_demand_meq_per_L_per_day(draft: Draft) -> float | None:
    """Return the demand that is met by what is dosed now, when alkalinity holds steady on it."""
    lime_L = draft.get("limewater_L_per_day")
    second_meq = second_meq_per_day(draft)
    if lime_L is None and second_meq is None:
        return None
    temperature = draft.get("lime_temperature_degC", LIME_TEMPERATURE_DEGC)
    lime_meq = (lime_L or 0.0) * saturated_alkalinity_meq_per_L(temperature)
    return (lime_meq + (second_meq or 0.0)) / draft["net_volume_L"]


def shown(ask: Ask, draft: Draft, alkalinity_unit: str = "dKH") -> str:
    """Return an answer as people read it."""
    value = draft.get(ask.key)
    if value is None or value == "":
        return TEXTS["unset"]
    if ask.options:
        return TEXTS[f"option_{value}"]
    if ask.words:
        return str(value)
    if ask.key == "alkalinity_test_error_meq_per_L":
        return alkalinity(float(value), alkalinity_unit, fine=True)
    if ask.key == "gas_exchange_per_day":
        return f"{significant(float(value))} a day"
    return number(_SUFFIXED.get(ask.key, ask.key), float(value), alkalinity_unit)


_SUFFIXED: Final = {
    "powder_assay": "assay_share",
    "stirrer_every_h": "every_hours",
    "doses_per_day": "doses_count",
    "lights_on_hours": "on_clock",
    "lights_off_hours": "off_clock",
    "reactor_flow_L_per_day": "reactor_flow",
    "flow_L_per_day": "set_flow",
}
