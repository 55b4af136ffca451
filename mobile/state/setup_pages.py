"""The set-up as a row of questions, as data: the first run walks through them, Setup lists them."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, Final

from engine.entry_fields import amount_units
from engine.limewater import saturated_alkalinity_meq_per_L
from engine.records import Delivery, SecondSource, Setup
from engine.vocabulary import MEQ_PER_DKH
from mobile.state.sentences import alkalinity, number
from mobile.texts.setup import TEXTS

Draft = Mapping[str, Any]  # field of Setup -> value in the field's own unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One number, text or choice of a page, for one field of `Setup`."""

    key: str
    options: tuple[str, ...] = ()
    words: bool = False
    optional: bool = False
    only: tuple[str, tuple[str, ...]] | None = None  # (field, values) that make it matter
    of: str = "setup"  # the kind of record whose field it is

    @property
    def entry(self) -> str:
        """The name under which engine.entry_fields knows the number."""
        return f"{self.of}.{self.key}"

    @property
    def units(self) -> tuple[str, ...]:
        """The units that the number may be typed in."""
        return amount_units(self.entry)

    @property
    def label(self) -> str:
        """The question."""
        return TEXTS[f"field_{self.key}"]

    @property
    def hint(self) -> str:
        """A second line, empty when there is none."""
        return TEXTS.get(f"hint_{self.key}", "")

    @property
    def may_clear(self) -> bool:
        """Whether a number given once can be taken away again."""
        return self.optional and not self.options and not self.words

    def matters(self, draft: Draft) -> bool:
        """Return whether the answers so far make this one matter."""
        return self.only is None or draft.get(self.only[0]) in self.only[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A few questions that belong together."""

    key: str
    asks: tuple[Ask, ...]
    first_run: bool = True
    in_setup: bool = True  # what is set at the start is changed by recording it

    @property
    def title(self) -> str:
        """The page's title."""
        return TEXTS[f"page_{self.key}"]

    @property
    def about(self) -> str:
        """Why it is asked."""
        return TEXTS[f"about_{self.key}"]


_VESSEL: Final = ("delivery", (Delivery.PUMP_VESSEL, Delivery.TOP_OFF_VESSEL))
_CONTAINER: Final = (
    "delivery",
    (Delivery.PUMP_CONTAINER, Delivery.TOP_OFF_CONTAINER, Delivery.DRIP),
)
_PUMP: Final = ("delivery", (Delivery.PUMP_VESSEL, Delivery.PUMP_CONTAINER))
YES_NO: Final = ("no", "yes")
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
            Ask(key="shared_container", options=YES_NO, only=_PUMP),
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
            Ask(key="two_part_meq_per_mL", only=("second_source", (SecondSource.TWO_PART,))),
            Ask(key="reactor_effluent_meq_per_L", only=("second_source", (SecondSource.REACTOR,))),
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
                key="alkalinity_meq_per_day",
                of="second_source_setting",
                optional=True,
                only=("second_source", (SecondSource.TWO_PART, SecondSource.REACTOR)),
            ),
            Ask(key="set_since", options=tuple(SINCE_DAYS)),
            Ask(key="holds_steady", options=YES_NO),
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
        ),
    ),
)
FIRST_RUN: Final = tuple(page for page in PAGES if page.first_run)
BY_KEY: Final = {page.key: page for page in PAGES}

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
    draft["shared_container"] = YES_NO[setup.shared_container]
    return draft


def setup_fields(draft: Draft) -> dict[str, Any]:
    """Return the fields of the `Setup` that the answers describe."""
    found = {key: value for key, value in draft.items() if key in _SETUP_FIELDS}
    found["shared_container"] = draft.get("shared_container") == "yes"
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
    second_meq = draft.get("alkalinity_meq_per_day")
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
    if ask.key == "reactor_effluent_meq_per_L":
        return alkalinity(float(value), alkalinity_unit)
    return number(_SUFFIXED.get(ask.key, ask.key), float(value), alkalinity_unit)


_SUFFIXED: Final = {
    "powder_assay": "assay_share",
    "stirrer_every_h": "every_hours",
    "doses_per_day": "doses_count",
}
