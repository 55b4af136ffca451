"""How what is typed on a form becomes a record's fields."""

from typing import Any, Final

from engine.chemistry.salts import (
    CALCIUM_CHLORIDE_ANHYDROUS,
    CALCIUM_CHLORIDE_DIHYDRATE,
    CALCIUM_CHLORIDE_HEXAHYDRATE,
    MAGNESIUM_CHLORIDE_HEXAHYDRATE,
    MAGNESIUM_SULFATE_HEPTAHYDRATE,
    SODIUM_BICARBONATE,
    SODIUM_CARBONATE,
    Compound,
    effect,
)
from engine.chemistry.strength_checks import (
    strength_from_diluted_kit_meq_per_L,
    strength_from_titration_meq_per_L,
)
from engine.errors import InvalidQuantity
from engine.limewater import fraction_of_saturation, saturated_alkalinity_meq_per_L
from engine.plan.happenings import (
    ANIMALS,
    COVER,
    FANS,
    FOOD,
    HEAT,
    HEATING,
    LAMP,
    POWER_CUT,
    PUMP_STOPPED,
    SKIMMER_OVERFLOW,
    TOP_OFF_SLUG,
    WINDOWS,
)
from engine.plan.second_source import reactor_setting, two_part_setting
from engine.records import (
    Addition,
    Delivery,
    DeliverySetting,
    Happening,
    Record,
    Setup,
    StrengthMethod,
)
from engine.vocabulary import MEQ_PER_DKH
from mobile.state.form_parts import Answers, Around, Values

SOLUBILITY_REFERENCE_DEGC: Final = 25.0
SALTS: Final[dict[str, Compound]] = {
    "bicarbonate": SODIUM_BICARBONATE,
    "carbonate": SODIUM_CARBONATE,
    **{
        salt.code: salt
        for salt in (
            CALCIUM_CHLORIDE_DIHYDRATE,
            CALCIUM_CHLORIDE_ANHYDROUS,
            CALCIUM_CHLORIDE_HEXAHYDRATE,
            MAGNESIUM_CHLORIDE_HEXAHYDRATE,
            MAGNESIUM_SULFATE_HEPTAHYDRATE,
        )
    },
}
# option -> what happened, as engine.plan.happenings knows it, and the rest of what the option says
HAPPENINGS: Final[dict[str, tuple[str, str]]] = {
    "power_cut": (POWER_CUT, ""),
    "top_off_slug": (TOP_OFF_SLUG, ""),
    "skimmer_overflow": (SKIMMER_OVERFLOW, ""),
    "pump_stopped": (PUMP_STOPPED, ""),
    "cover_on": (COVER, "on"),
    "cover_off": (COVER, "off"),
    "fans_on": (FANS, "on"),
    "fans_off": (FANS, "off"),
    "heating_on": (HEATING, "on"),
    "heating_off": (HEATING, "off"),
    "windows_open": (WINDOWS, "open"),
    "windows_shut": (WINDOWS, "shut"),
    "animals_added": (ANIMALS, "added"),
    "animals_lost": (ANIMALS, "lost"),
    "lamp": (LAMP, ""),
    "food": (FOOD, ""),
    "heat": (HEAT, ""),
}


def limewater(values: Values, _answers: Answers, around: Around) -> dict[str, Any]:
    """Return a setting; a part of the top-off with what it is a part of, an amended one its own."""
    if around.setup is None or around.setup.delivery is not Delivery.TOP_OFF_VESSEL:
        return dict(values)
    amended = around.amended
    of = (
        amended.top_off_L_per_day
        if isinstance(amended, DeliverySetting)
        else around.most_evaporated_L_per_day()
    )
    return {**values, "top_off_L_per_day": of}


def runs(values: Values, _answers: Answers, _around: Around) -> dict[str, Any]:
    """Return a pump check's fields."""
    keys = ("run_1_mL", "run_2_mL", "run_3_mL")
    measured = tuple(values[key] for key in keys if key in values)
    return {"expected_mL": values["expected_mL"], "measured_mL": measured}


def addition(values: Values, answers: Answers, around: Around) -> dict[str, Any]:
    """Return a weighed salt with what it brings in all; an amended one keeps its purity."""
    grams = values["salt_g"]
    salt = SALTS[answers["salt"]]
    brought = effect(salt, grams, volume_L=1.0, assay=_purity(around.amended, answers["salt"]))
    return {
        "salt_g": grams,
        "salt": answers["salt"],
        "alkalinity_meq": brought.alkalinity_meq_per_L,
        "calcium_mg": brought.calcium_mg_per_L or None,
        "magnesium_mg": brought.magnesium_mg_per_L or None,
    }


def _purity(amended: Record | None, salt: str) -> float:
    """Return the share of salt in the product that an addition was reckoned with, 1 by itself."""
    if not isinstance(amended, Addition) or amended.salt != salt or not amended.salt_g:
        return 1.0
    pure = effect(SALTS[salt], amended.salt_g, volume_L=1.0, assay=1.0)
    shares = (
        (amended.alkalinity_meq, pure.alkalinity_meq_per_L),
        (amended.calcium_mg or 0.0, pure.calcium_mg_per_L),
        (amended.magnesium_mg or 0.0, pure.magnesium_mg_per_L),
    )
    return min(1.0, *(had / whole for had, whole in shares if whole > 0.0 and had > 0.0))


def happening(_values: Values, answers: Answers, _around: Around) -> dict[str, Any]:
    """Return what happened."""
    what, detail = HAPPENINGS[answers["what"]]
    return {"what": what, "detail": detail}


def happened(record: Happening) -> str:
    """Return the option that a happening stands for; its own words where there is none."""
    said = (record.what, record.detail)
    return next((option for option, pair in HAPPENINGS.items() if pair == said), record.what)


def two_part(values: Values, _answers: Answers, around: Around) -> dict[str, Any]:
    """Return a two-part's setting by the strength in Setup, an amended one by its own."""
    strength = getattr(around.amended or around.setup, "two_part_meq_per_mL", None)
    return two_part_setting(values["two_part_mL_per_day"], strength)


def reactor(values: Values, _answers: Answers, around: Around) -> dict[str, Any]:
    """Return a reactor's setting: what is not typed is that of Setup and of the last test."""
    effluent = values.get("effluent_meq_per_L")
    if effluent is None and around.setup is not None:
        effluent = around.setup.reactor_effluent_meq_per_L
    tank = values.get("tank_total_alkalinity_meq_per_L", around.tank_meq_per_L)
    if tank is None:
        raise InvalidQuantity("tank", None, unit="meq/L", code="tank_alkalinity_unknown")
    return reactor_setting(values["flow_L_per_day"], effluent, tank)


def by_conductivity(values: Values, _answers: Answers, _around: Around) -> dict[str, Any]:
    """Return a strength from two conductivities."""
    ratio = values["reading_mS_per_cm"] / values["own_saturated_mS_per_cm"]
    share = fraction_of_saturation(ratio)
    return {**values, "fraction_of_saturation": share, "method": StrengthMethod.CONDUCTIVITY}


def by_dilution(values: Values, _answers: Answers, around: Around) -> dict[str, Any]:
    """Return a strength from a diluted sample and a test kit."""
    strength = strength_from_diluted_kit_meq_per_L(
        sample_mL=5.0,
        diluted_to_mL=100.0,
        reading_dKH=values["diluted_total_alkalinity_meq_per_L"] / MEQ_PER_DKH,
    )
    share = strength / _saturated(around.setup)
    return {**values, "fraction_of_saturation": share, "method": StrengthMethod.DILUTION}


def by_titration(values: Values, _answers: Answers, around: Around) -> dict[str, Any]:
    """Return a strength from a titration with acid."""
    strength = strength_from_titration_meq_per_L(
        sample_mL=100.0, acid_mL=values["titration_acid_mL"], acid_normality_eq_per_L=0.1
    )
    share = strength / _saturated(around.setup)
    return {**values, "fraction_of_saturation": share, "method": StrengthMethod.TITRATION}


def _saturated(setup: Setup | None) -> float:
    """Return the alkalinity of saturated limewater where this system's lime dissolves, meq/L."""
    return saturated_alkalinity_meq_per_L(
        setup.lime_temperature_degC if setup else SOLUBILITY_REFERENCE_DEGC
    )
