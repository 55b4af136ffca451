"""Words that the app writes into the emergency card's own figures."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "case": "{kind}: {said}",
    "pH_needs_test": "pH is not told here: alkalinity was never tested.",
    "rescue_from_reading": "From your reading of pH {from_pH} and {from_meq_per_L}:",
    "rescue_from_lime": (
        "If limewater brought pH to {from_pH} and alkalinity to {from_meq_per_L}:"
    ),
    "reading_pH_nbs": "pH",
    "reading_total_alkalinity": "Alkalinity",
    "reading_salinity": "Salinity",
    "reading_temperature": "Temperature",
}
