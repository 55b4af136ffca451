"""What can be recorded, as data: each form's fields, units and choices, and the record it makes.

The Record screen draws every form by the same few controls; a new kind of entry is a new row here.
"""

from typing import Final

from engine.records import (
    Addition,
    Container,
    DeliverySetting,
    Happening,
    LimewaterStrength,
    Note,
    PowderStock,
    PumpCheck,
    Recharge,
    Refill,
    SecondSource,
    SecondSourceSetting,
    Setup,
    WaterChange,
    WaterTest,
)
from engine.vocabulary import PARAMETERS
from mobile.state import form_makers
from mobile.state.form_makers import HAPPENINGS, SALTS
from mobile.state.form_parts import Choice, Field, Form, numbers
from mobile.state.forms_care import CARE_FORMS, STOCK

BY_REAGENT: Final = ("total_alkalinity", "calcium", "magnesium", "nitrate", "phosphate")
_HAPPENING_HEADS: Final = (
    ("power_cut", "water"),
    ("cover_on", "air"),
    ("animals_added", "animals"),
)


def _test_form(code: str) -> Form:
    return Form(
        key=code,
        record=WaterTest,
        fields=(Field(key=code),),
        bottle=code in BY_REAGENT,
    )


TEST_FORMS: Final = tuple(_test_form(code) for code in PARAMETERS)

OTHER_FORMS: Final = (
    Form(
        key="refill",
        record=Refill,
        fields=numbers(Refill, "volume_L"),
        choices=(
            Choice(key="container", options=("fresh_water", "lime")),
            Choice(key="to_mark", options=("yes", "no")),
        ),
        make=lambda values, answers, _around: {
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
        fields=numbers(DeliverySetting, "limewater_L_per_day"),
        make=form_makers.limewater,
    ),
    Form(
        key="pump_check",
        record=PumpCheck,
        fields=numbers(PumpCheck, "expected_mL", "run_1_mL", optional=("run_2_mL", "run_3_mL")),
        make=form_makers.runs,
    ),
    Form(
        key="recharge",
        record=Recharge,
        fields=numbers(Recharge, "powder_g"),
        choices=(Choice(key="powder_into", options=("vessel", "lime")),),
        make=lambda values, answers, _around: {
            "powder_g": values["powder_g"],
            "container": Container(answers["powder_into"]),
        },
        recall=lambda recharge: {"powder_into": recharge.container},
    ),
    Form(
        key="strength_conductivity",
        record=LimewaterStrength,
        fields=numbers(LimewaterStrength, "reading_mS_per_cm", "own_saturated_mS_per_cm"),
        make=form_makers.by_conductivity,
        fits=lambda record: record.reading_mS_per_cm is not None,
    ),
    Form(
        key="strength_dilution",
        record=LimewaterStrength,
        fields=numbers(LimewaterStrength, "diluted_total_alkalinity_meq_per_L"),
        make=form_makers.by_dilution,
        fits=lambda record: record.diluted_total_alkalinity_meq_per_L is not None,
    ),
    Form(
        key="strength_titration",
        record=LimewaterStrength,
        fields=numbers(LimewaterStrength, "titration_acid_mL"),
        make=form_makers.by_titration,
        fits=lambda record: record.titration_acid_mL is not None,
    ),
    Form(
        key="second_two_part",
        record=SecondSourceSetting,
        fields=numbers(SecondSourceSetting, "two_part_mL_per_day"),
        make=form_makers.two_part,
        fits=lambda record: record.two_part_mL_per_day is not None,
    ),
    Form(
        key="second_reactor",
        record=SecondSourceSetting,
        fields=numbers(
            SecondSourceSetting,
            "flow_L_per_day",
            optional=("effluent_meq_per_L", "tank_total_alkalinity_meq_per_L"),
        ),
        make=form_makers.reactor,
        fits=lambda record: record.flow_L_per_day is not None,
    ),
    Form(
        key="second_source",  # as it was recorded before own units; only amended
        record=SecondSourceSetting,
        fields=numbers(SecondSourceSetting, "alkalinity_meq_per_day"),
    ),
    Form(
        key="water_change",
        record=WaterChange,
        fields=numbers(
            WaterChange,
            "volume_L",
            optional=(
                "new_total_alkalinity_meq_per_L",
                "new_calcium_mg_per_L",
                "new_magnesium_mg_per_L",
            ),
        ),
    ),
    Form(
        key="addition",
        record=Addition,
        fields=numbers(Addition, "salt_g"),
        choices=(Choice(key="salt", options=tuple(SALTS)),),
        make=form_makers.addition,
        recall=lambda addition: {"salt": addition.salt},
    ),
    Form(
        key="happening",
        record=Happening,
        choices=(
            Choice(key="what", options=tuple(HAPPENINGS), heads=_HAPPENING_HEADS, preset=False),
        ),
        make=form_makers.happening,
        recall=lambda record: {"what": form_makers.happened(record)},
    ),
    Form(
        key="powder_stock",
        record=PowderStock,
        fields=numbers(PowderStock, "powder_g", optional=("pack_g", "price")),
        choices=(STOCK,),
        make=lambda values, answers, _around: {**values, "counted": answers["stock"] == "counted"},
        recall=lambda stock: {"stock": "counted" if stock.counted else "bought"},
    ),
    *CARE_FORMS,
    Form(key="note", record=Note, words=True),
)

FORMS: Final = {form.key: form for form in (*TEST_FORMS, *OTHER_FORMS)}

# What a thumb should find first, whatever the system.
USUAL: Final = ("total_alkalinity", "refill", "pH_nbs", "calcium")
_OF_SECOND: Final = {
    SecondSource.NONE: "",
    SecondSource.TWO_PART: "second_two_part",
    SecondSource.REACTOR: "second_reactor",
}


def offered(setup: Setup | None) -> tuple[Form, ...]:
    """Return the forms in the order in which this system uses them."""
    own = _OF_SECOND[setup.second_source] if setup is not None else ""
    without = {*USUAL, *_OF_SECOND.values(), "second_source"} - {own}
    return (
        *(FORMS[key] for key in USUAL),
        *(form for form in FORMS.values() if form.key not in without),
    )
