"""What is typed and tapped on every form, and what the saved record then holds."""

import pytest

from engine.vocabulary import MEQ_PER_DKH

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
    "second_source": (
        {"alkalinity_meq_per_day": "120"},
        (),
        {
            "kind": "second_source_setting",
            "alkalinity_meq_per_day": 120.0,
            "typed": "alkalinity_meq_per_day: 120 meq a day",
        },
    ),
    "water_change": (
        {"volume_L": "45", "new_total_alkalinity_meq_per_L": "150"},
        ("unit-new_total_alkalinity_meq_per_L-mg/L CaCO3",),
        {
            "kind": "water_change",
            "volume_L": 45.0,
            "new_total_alkalinity_meq_per_L": 150 * 2.0 / 100.087,
            "typed": "volume_L: 45 L; new_total_alkalinity_meq_per_L: 150 mg/L CaCO3",
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
    "powder_stock": (
        {"powder_g": "1.5"},
        ("unit-powder_g-kg", "stock-counted"),
        {"kind": "powder_stock", "powder_g": 1500.0, "counted": True, "typed": "powder_g: 1.5 kg"},
    ),
}


def assert_holds(record: dict, expected: dict) -> None:
    """Compare the fields that a test names; numbers to a ten-thousandth."""
    for key, value in expected.items():
        got = record[key]
        assert got == (pytest.approx(value, rel=1e-4) if isinstance(value, float) else value), key
