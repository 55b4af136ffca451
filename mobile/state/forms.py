"""What can be recorded, as data: each form's fields, units and choices, and the record it makes.

The Record screen draws every form by the same few controls; a new kind of entry is a new row here.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from engine.entry_fields import amount_units
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
from engine.vocabulary import PARAMETERS
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
    make: Callable[[Values, Answers], dict[str, Any]]
    recall: Callable[[Any], dict[str, str]] = lambda _record: {}  # a record's answers, to amend it
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
        make=lambda _values, _answers: {},
    )


TEST_FORMS: Final = tuple(_test_form(code) for code in PARAMETERS)

_GRAMS_PER_MEQ: Final = {"bicarbonate": 0.0840067, "carbonate": 0.0529943}


def _runs(values: Values) -> list[float]:
    return [values[key] for key in ("run_1_mL", "run_2_mL", "run_3_mL") if key in values]


OTHER_FORMS: Final = (
    Form(
        key="refill",
        record=Refill,
        fields=(Field(key="volume_L", entry="refill.volume_L"),),
        choices=(
            Choice(key="container", options=("fresh_water", "lime")),
            Choice(key="to_mark", options=("yes", "no")),
        ),
        make=lambda values, answers: {
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
        make=lambda values, _answers: dict(values),
    ),
    Form(
        key="pump_check",
        record=PumpCheck,
        fields=(
            Field(key="expected_mL", entry="pump_check.expected_mL"),
            Field(key="run_1_mL", entry="pump_check.measured_mL"),
            Field(key="run_2_mL", entry="pump_check.measured_mL", optional=True),
            Field(key="run_3_mL", entry="pump_check.measured_mL", optional=True),
        ),
        make=lambda values, _answers: {
            "expected_mL": values["expected_mL"],
            "measured_mL": tuple(_runs(values)),
        },
    ),
    Form(
        key="recharge",
        record=Recharge,
        fields=(Field(key="powder_g", entry="recharge.powder_g"),),
        choices=(Choice(key="powder_into", options=("vessel", "lime")),),
        make=lambda values, answers: {
            "powder_g": values["powder_g"],
            "container": Container(answers["powder_into"]),
        },
        recall=lambda recharge: {"powder_into": recharge.container},
    ),
    Form(
        key="limewater_strength",
        record=LimewaterStrength,
        fields=(
            Field(key="fraction_of_saturation", entry="limewater_strength.fraction_of_saturation"),
        ),
        choices=(Choice(key="method", options=tuple(StrengthMethod)),),
        make=lambda values, answers: {
            **values,
            "method": StrengthMethod(answers["method"]),
        },
        recall=lambda strength: {"method": strength.method},
    ),
    Form(
        key="second_source",
        record=SecondSourceSetting,
        fields=(
            Field(
                key="alkalinity_meq_per_day", entry="second_source_setting.alkalinity_meq_per_day"
            ),
        ),
        make=lambda values, _answers: dict(values),
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
        make=lambda values, _answers: dict(values),
    ),
    Form(
        key="addition",
        record=Addition,
        fields=(Field(key="salt_g", entry="addition.salt_g"),),
        choices=(Choice(key="salt", options=tuple(_GRAMS_PER_MEQ)),),
        make=lambda values, answers: {
            **values,
            "salt": answers["salt"],
            "alkalinity_meq": values["salt_g"] / _GRAMS_PER_MEQ[answers["salt"]],
        },
        recall=lambda addition: {"salt": addition.salt},
    ),
    Form(
        key="powder_stock",
        record=PowderStock,
        fields=(Field(key="powder_g", entry="powder_stock.powder_g"),),
        choices=(Choice(key="stock", options=("bought", "counted")),),
        make=lambda values, answers: {
            "powder_g": values["powder_g"],
            "counted": answers["stock"] == "counted",
        },
        recall=lambda stock: {"stock": "counted" if stock.counted else "bought"},
    ),
    Form(key="note", record=Note, words=True, make=lambda _values, _answers: {}),
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
