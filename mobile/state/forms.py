"""What can be recorded, as data: each form's fields, units and choices, and the record it makes.

The Record screen draws every form by the same few controls; a new kind of entry is a new row here.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from engine.entry_fields import amount_units
from engine.limewater import fraction_of_saturation, saturated_alkalinity_meq_per_L
from engine.limewater_strength import (
    strength_from_diluted_kit_meq_per_L,
    strength_from_titration_meq_per_L,
)
from engine.records import (
    Addition,
    Container,
    DeliverySetting,
    LimewaterStrength,
    Note,
    PowderStock,
    PumpCheck,
    Recharge,
    Record,
    Refill,
    SecondSource,
    SecondSourceSetting,
    Setup,
    StrengthMethod,
    WaterChange,
    WaterTest,
)
from engine.salts import SODIUM_BICARBONATE, SODIUM_CARBONATE, Compound
from engine.vocabulary import MEQ_PER_DKH, PARAMETERS
from mobile.texts.forms import TEXTS


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One number to type."""

    key: str  # a parameter's code, or our name of the number
    entry: str = ""  # "kind.field" of engine.records; empty for a parameter
    optional: bool = False

    @property
    def units(self) -> tuple[str, ...]:
        """The units it may be typed in, the usual one first."""
        return amount_units(self.entry) if self.entry else PARAMETERS[self.key].typed_units

    @property
    def label(self) -> str:
        """The words beside the figure."""
        return TEXTS[f"field_{self.key}"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of a few answers to take."""

    key: str
    options: tuple[str, ...]

    @property
    def label(self) -> str:
        """The question."""
        return TEXTS[f"choice_{self.key}"]

    def option_label(self, option: str) -> str:
        """Return the words of an option."""
        return TEXTS[f"option_{option}"]


Values = Mapping[str, float]
Answers = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One kind of entry."""

    key: str
    record: type[Record]
    fields: tuple[Field, ...] = ()
    choices: tuple[Choice, ...] = ()
    make: Callable[[Values, Answers, Setup | None], dict[str, Any]]
    recall: Callable[[Any], dict[str, str]] = lambda _record: {}  # a record's answers, to amend it
    fits: Callable[[Any], bool] = lambda _record: True  # of the forms of one kind of record
    words: bool = False  # takes a text instead of numbers

    @property
    def title(self) -> str:
        """The name of the entry."""
        return TEXTS[f"form_{self.key}"]


def _test_form(code: str) -> Form:
    return Form(
        key=code,
        record=WaterTest,
        fields=(Field(key=code),),
        make=lambda _values, _answers, _setup: {},
    )


TEST_FORMS: Final = tuple(_test_form(code) for code in PARAMETERS)

SOLUBILITY_REFERENCE_DEGC: Final = 25.0
_SALTS: Final = {"bicarbonate": SODIUM_BICARBONATE, "carbonate": SODIUM_CARBONATE}


def _runs(values: Values) -> list[float]:
    return [values[key] for key in ("run_1_mL", "run_2_mL", "run_3_mL") if key in values]


def _meq_per_g(salt: Compound) -> float:
    return salt.alkalinity_eq_per_mol / salt.molar_mass_g_per_mol * 1000.0


def _saturated(setup: Setup | None) -> float:
    """Return the alkalinity of saturated limewater where this system's lime dissolves, meq/L."""
    return saturated_alkalinity_meq_per_L(
        setup.lime_temperature_degC if setup else SOLUBILITY_REFERENCE_DEGC
    )


def _strength_by_conductivity(
    values: Values, _answers: Answers, _setup: Setup | None
) -> dict[str, Any]:
    ratio = values["reading_mS_per_cm"] / values["own_saturated_mS_per_cm"]
    share = fraction_of_saturation(ratio)
    return {**values, "fraction_of_saturation": share, "method": StrengthMethod.CONDUCTIVITY}


def _strength_by_dilution(values: Values, _answers: Answers, setup: Setup | None) -> dict[str, Any]:
    strength = strength_from_diluted_kit_meq_per_L(
        sample_mL=5.0,
        diluted_to_mL=100.0,
        reading_dKH=values["diluted_total_alkalinity_meq_per_L"] / MEQ_PER_DKH,
    )
    share = strength / _saturated(setup)
    return {**values, "fraction_of_saturation": share, "method": StrengthMethod.DILUTION}


def _strength_by_titration(
    values: Values, _answers: Answers, setup: Setup | None
) -> dict[str, Any]:
    strength = strength_from_titration_meq_per_L(
        sample_mL=100.0, acid_mL=values["titration_acid_mL"], acid_normality_eq_per_L=0.1
    )
    share = strength / _saturated(setup)
    return {**values, "fraction_of_saturation": share, "method": StrengthMethod.TITRATION}


OTHER_FORMS: Final = (
    Form(
        key="refill",
        record=Refill,
        fields=(Field(key="volume_L", entry="refill.volume_L"),),
        choices=(
            Choice(key="container", options=("fresh_water", "lime")),
            Choice(key="to_mark", options=("yes", "no")),
        ),
        make=lambda values, answers, _setup: {
            "volume_L": values["volume_L"],
            "container": Container(answers["container"]),
            "to_mark": answers["to_mark"] == "yes",
        },
        recall=lambda refill: {
            "container": refill.container,
            "to_mark": "yes" if refill.to_mark else "no",
        },
    ),
    Form(
        key="delivery_setting",
        record=DeliverySetting,
        fields=(Field(key="limewater_L_per_day", entry="delivery_setting.limewater_L_per_day"),),
        make=lambda values, _answers, _setup: dict(values),
    ),
    Form(
        key="pump_check",
        record=PumpCheck,
        fields=(
            Field(key="expected_mL", entry="pump_check.expected_mL"),
            Field(key="run_1_mL", entry="pump_check.run_1_mL"),
            Field(key="run_2_mL", entry="pump_check.run_2_mL", optional=True),
            Field(key="run_3_mL", entry="pump_check.run_3_mL", optional=True),
        ),
        make=lambda values, _answers, _setup: {
            "expected_mL": values["expected_mL"],
            "measured_mL": tuple(_runs(values)),
        },
    ),
    Form(
        key="recharge",
        record=Recharge,
        fields=(Field(key="powder_g", entry="recharge.powder_g"),),
        choices=(Choice(key="powder_into", options=("vessel", "lime")),),
        make=lambda values, answers, _setup: {
            "powder_g": values["powder_g"],
            "container": Container(answers["powder_into"]),
        },
        recall=lambda recharge: {"powder_into": recharge.container},
    ),
    Form(
        key="strength_conductivity",
        record=LimewaterStrength,
        fields=(
            Field(key="reading_mS_per_cm", entry="limewater_strength.reading_mS_per_cm"),
            Field(
                key="own_saturated_mS_per_cm", entry="limewater_strength.own_saturated_mS_per_cm"
            ),
        ),
        make=_strength_by_conductivity,
        fits=lambda record: record.reading_mS_per_cm is not None,
    ),
    Form(
        key="strength_dilution",
        record=LimewaterStrength,
        fields=(
            Field(
                key="diluted_total_alkalinity_meq_per_L",
                entry="limewater_strength.diluted_total_alkalinity_meq_per_L",
            ),
        ),
        make=_strength_by_dilution,
        fits=lambda record: record.diluted_total_alkalinity_meq_per_L is not None,
    ),
    Form(
        key="strength_titration",
        record=LimewaterStrength,
        fields=(Field(key="titration_acid_mL", entry="limewater_strength.titration_acid_mL"),),
        make=_strength_by_titration,
        fits=lambda record: record.titration_acid_mL is not None,
    ),
    Form(
        key="second_source",
        record=SecondSourceSetting,
        fields=(
            Field(
                key="alkalinity_meq_per_day", entry="second_source_setting.alkalinity_meq_per_day"
            ),
        ),
        make=lambda values, _answers, _setup: dict(values),
    ),
    Form(
        key="water_change",
        record=WaterChange,
        fields=(
            Field(key="volume_L", entry="water_change.volume_L"),
            Field(
                key="new_total_alkalinity_meq_per_L",
                entry="water_change.new_total_alkalinity_meq_per_L",
                optional=True,
            ),
        ),
        make=lambda values, _answers, _setup: dict(values),
    ),
    Form(
        key="addition",
        record=Addition,
        fields=(Field(key="salt_g", entry="addition.salt_g"),),
        choices=(Choice(key="salt", options=tuple(_SALTS)),),
        make=lambda values, answers, _setup: {
            **values,
            "salt": answers["salt"],
            "alkalinity_meq": values["salt_g"] * _meq_per_g(_SALTS[answers["salt"]]),
        },
        recall=lambda addition: {"salt": addition.salt},
    ),
    Form(
        key="powder_stock",
        record=PowderStock,
        fields=(Field(key="powder_g", entry="powder_stock.powder_g"),),
        choices=(Choice(key="stock", options=("bought", "counted")),),
        make=lambda values, answers, _setup: {
            "powder_g": values["powder_g"],
            "counted": answers["stock"] == "counted",
        },
        recall=lambda stock: {"stock": "counted" if stock.counted else "bought"},
    ),
    Form(key="note", record=Note, words=True, make=lambda _values, _answers, _setup: {}),
)

FORMS: Final = {form.key: form for form in (*TEST_FORMS, *OTHER_FORMS)}

# What a thumb should find first, whatever the system.
USUAL: Final = ("total_alkalinity", "refill", "pH_nbs", "calcium")


def offered(setup: Setup | None) -> tuple[Form, ...]:
    """Return the forms in the order in which this system uses them."""
    alone = setup is not None and setup.second_source is SecondSource.NONE
    without = ("second_source",) if alone else ()
    usual = [FORMS[key] for key in USUAL]
    rest = [form for form in FORMS.values() if form.key not in USUAL and form.key not in without]
    return (*usual, *rest)
