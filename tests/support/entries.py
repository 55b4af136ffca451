"""What is typed and tapped on every form, and what the saved record then holds."""

from dataclasses import replace

import pytest

from engine.records import Record, SecondSource, Setup
from engine.vocabulary import MEQ_PER_DKH
from tests.support.app import first_records

# parameter: (digits, unit to take or "", canonical value)
READINGS = {
    "total_alkalinity": ("8.2", "", 8.2 * MEQ_PER_DKH),
    "calcium": ("425", "", 425.0),
    "magnesium": ("1320", "", 1320.0),
    "pH_nbs": ("8.15", "", 8.15),
    "salinity": ("35.1", "", 35.1),
    "temperature": ("77", "degF", 25.0),
    "nitrate": ("5.5", "", 5.5),
    "phosphate": ("0.04", "", 0.04),
    "room_co2": ("640", "", 640.0),
    "tds": ("0", "", 0.0),
}
# form: (fields typed, controls tapped, what the record holds)
AMOUNTS = {
    "refill": (
        {"volume_L": "5"},
        ("unit-volume_L-US gal", "container-lime", "to_mark-no"),
        {
            "kind": "refill",
            "volume_L": 5 * 3.785411784,
            "container": "lime",
            "to_mark": False,
            "typed": "volume_L: 5 US gal",
        },
    ),
    "delivery_setting": (
        {"limewater_L_per_day": "5.5"},
        (),
        {
            "kind": "delivery_setting",
            "limewater_L_per_day": 5.5,
            "typed": "limewater_L_per_day: 5.5 L a day",
        },
    ),
    "pump_check": (
        {"expected_mL": "100", "run_1_mL": "97", "run_2_mL": "96.5"},
        (),
        {
            "kind": "pump_check",
            "expected_mL": 100.0,
            "measured_mL": [97.0, 96.5],
            "typed": "expected_mL: 100 mL; run_1_mL: 97 mL; run_2_mL: 96.5 mL",
        },
    ),
    "recharge": (
        {"powder_g": "0.12"},
        ("unit-powder_g-kg", "powder_into-lime"),
        {"kind": "recharge", "powder_g": 120.0, "container": "lime", "typed": "powder_g: 0.12 kg"},
    ),
    "strength_conductivity": (
        {"reading_mS_per_cm": "3.95", "own_saturated_mS_per_cm": "7.9"},
        (),
        {
            "kind": "limewater_strength",
            # a ratio of one half is 0.5 * (1 - 0.178 * 0.5) of saturation
            "fraction_of_saturation": 0.4555,
            "method": "conductivity",
            "reading_mS_per_cm": 3.95,
            "own_saturated_mS_per_cm": 7.9,
            "typed": "reading_mS_per_cm: 3.95 mS/cm; own_saturated_mS_per_cm: 7.9 mS/cm",
        },
    ),
    "strength_dilution": (
        {"diluted_total_alkalinity_meq_per_L": "5.7"},
        (),
        {
            "kind": "limewater_strength",
            # 20 x 5.7 dKH is 40.66 meq/L; saturated at the set-up's 24 degC is 40.90
            "fraction_of_saturation": pytest.approx(0.994, abs=0.001),
            "method": "dilution",
            "diluted_total_alkalinity_meq_per_L": pytest.approx(5.7 * MEQ_PER_DKH),
            "typed": "diluted_total_alkalinity_meq_per_L: 5.7 dKH",
        },
    ),
    "strength_titration": (
        {"titration_acid_mL": "20.45"},
        (),
        {
            "kind": "limewater_strength",
            # 20.45 mL of 0.1 eq/L acid to 100 mL is 20.45 meq/L: half of 40.90
            "fraction_of_saturation": pytest.approx(0.5, abs=0.001),
            "method": "titration",
            "titration_acid_mL": 20.45,
            "typed": "titration_acid_mL: 20.45 mL",
        },
    ),
    "second_two_part": (
        {"two_part_mL_per_day": "60"},
        (),
        {
            "kind": "second_source_setting",
            "alkalinity_meq_per_day": 90.0,  # of 1.5 meq/mL
            "two_part_mL_per_day": 60.0,
            "two_part_meq_per_mL": 1.5,
            "typed": "two_part_mL_per_day: 60 mL a day",
        },
    ),
    "second_reactor": (
        {
            "flow_L_per_day": "58",
            "effluent_meq_per_L": "35",
            "tank_total_alkalinity_meq_per_L": "8.2",
        },
        (),
        {
            "kind": "second_source_setting",
            # practice: 35 dKH into 8.2 dKH is worth 26.8; 58 mL/min is 83.52 L a day
            "alkalinity_meq_per_day": 83.52 * 26.8 * MEQ_PER_DKH,
            "flow_L_per_day": 83.52,
            "effluent_meq_per_L": 35 * MEQ_PER_DKH,
            "tank_total_alkalinity_meq_per_L": 8.2 * MEQ_PER_DKH,
            "typed": (
                "flow_L_per_day: 58 mL/min; effluent_meq_per_L: 35 dKH; "
                "tank_total_alkalinity_meq_per_L: 8.2 dKH"
            ),
        },
    ),
    "water_change": (
        {
            "volume_L": "45",
            "new_calcium_mg_per_L": "440",
            "new_magnesium_mg_per_L": "1350",
            "new_total_alkalinity_meq_per_L": "150",
        },
        ("unit-new_total_alkalinity_meq_per_L-mg/L CaCO3",),
        {
            "kind": "water_change",
            "volume_L": 45.0,
            "new_total_alkalinity_meq_per_L": 150 * 2.0 / 100.087,
            "new_calcium_mg_per_L": 440.0,
            "new_magnesium_mg_per_L": 1350.0,
            "typed": (
                "volume_L: 45 L; new_total_alkalinity_meq_per_L: 150 mg/L CaCO3; "
                "new_calcium_mg_per_L: 440 mg/L; new_magnesium_mg_per_L: 1350 mg/L"
            ),
        },
    ),
    "addition": (
        {"salt_g": "42"},
        ("salt-carbonate",),
        {
            "kind": "addition",
            "salt": "carbonate",
            "salt_g": 42.0,
            "alkalinity_meq": 42.0 / 0.0529943,
            "typed": "salt_g: 42 g",
        },
    ),
    "happening": (
        {},
        ("what-fans_on",),
        {"kind": "event", "what": "fans", "detail": "on", "typed": ""},
    ),
    "powder_stock": (
        {"powder_g": "1.5"},
        ("unit-powder_g-kg", "stock-counted"),
        {"kind": "powder_stock", "powder_g": 1500.0, "counted": True, "typed": "powder_g: 1.5 kg"},
    ),
    "pack_opened": (
        {"powder_g": "500"},
        (),
        {"kind": "pack_opened", "powder_g": 500.0, "typed": "powder_g: 500 g"},
    ),
    "vessel_emptied": ({}, ("emptied-lime",), {"kind": "vessel_emptied", "container": "lime"}),
    "supply_solution": (
        {"solution_mL": "2000", "good_for_days": "6"},
        ("unit-good_for_days-months", "item-calcium_part", "stock-bought"),
        {
            "kind": "supply_stock",
            "item": "calcium_part",
            "solution_mL": 2000.0,
            "tests_count": None,
            "good_for_days": 6 * 365.25 / 12,
            "counted": False,
        },
    ),
    "supply_kit": (
        {"tests_count": "40"},
        ("item-magnesium_kit", "stock-counted"),
        {
            "kind": "supply_stock",
            "item": "magnesium_kit",
            "tests_count": 40.0,
            "solution_mL": None,
            "counted": True,
        },
    ),
}


def records_for(form: str) -> tuple[Record, ...]:
    """Return a set-up to which the form is offered."""
    setup, setting = first_records()
    assert isinstance(setup, Setup)
    source = form.removeprefix("second_") if form.startswith("second_") else "none"
    has = replace(setup, second_source=SecondSource(source), two_part_meq_per_mL=1.5)
    return has, setting


def assert_holds(record: dict, expected: dict) -> None:
    """Compare the fields that a test names; numbers to a ten-thousandth."""
    for key, value in expected.items():
        got = record[key]
        assert got == (pytest.approx(value, rel=1e-4) if isinstance(value, float) else value), key
