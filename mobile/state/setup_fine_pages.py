"""The questions that sharpen the numbers: none of them in the first run, each with its default."""

from typing import Final

from mobile.state.setup_asks import MONTHS, YES_NO, Ask, Page, chosen

FINE_PAGES: Final = (
    Page(
        key="lamps",
        first_run=False,
        asks=(
            Ask(key="lights_on_hours", optional=True),
            Ask(key="lights_off_hours", optional=True),
            chosen("doses_at_night", YES_NO),
        ),
    ),
    Page(
        key="pH_limits",
        first_run=False,
        tool="/setup/air/measure",
        asks=(
            Ask(key="ceiling_pH", optional=True),
            Ask(key="dose_rise_pH", optional=True),
            Ask(key="gas_exchange_per_day", optional=True),
        ),
    ),
    Page(
        key="other_water",
        first_run=False,
        asks=(
            Ask(key="top_off_alkalinity_meq_per_L"),
            Ask(key="skimmate_L_per_day"),
            Ask(key="sump_room_L", optional=True),
        ),
    ),
    Page(
        key="kits",
        first_run=False,
        asks=(
            Ask(key="alkalinity_test_error_meq_per_L", optional=True),
            Ask(key="calcium_test_error_mg_per_L", optional=True),
        ),
    ),
    Page(
        key="season",
        first_run=False,
        asks=(
            chosen("evaporation_high_month", MONTHS),
            chosen("evaporation_low_month", MONTHS),
        ),
    ),
)
