"""Words of the plots of what was recorded."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "title": "Plots",
    "about": "Readings over time beside their band, and the limewater's litres.",
    "parameter": "What",
    "span": "How far back",
    "span_30": "30 days",
    "span_90": "90 days",
    "span_365": "A year",
    "back": "Back to the log",
    "empty": "Nothing of this was recorded in the last {span}. Look further back, or record one.",
    "empty_ever": "Nothing of this is recorded yet.",
    "record": "Record one",
    "says_one": "One reading in the last {span}: {high}.",
    "says": "{count} in the last {span}, from {low} to {high}. The newest: {last}.",
    "says_band": "{inside} of {count} within {band_low} to {band_high}.",
    "reading": "reading",
    "own_band": "your band, {low} to {high}",
    "usual_band": "usual, {low} to {high}",
    "readings": "readings",
    "set_aside": "set aside: does not fit",
    "expected": "expected now, {low} to {high}",
    "litres_title": "Limewater as set",
    "litres_kept": "Limewater stayed at {now_delivered_L_per_day} in the last {span}.",
    "litres_moved": (
        "Limewater was set to {low_delivered_L_per_day} to {high_delivered_L_per_day} "
        "in the last {span}; now {now_delivered_L_per_day}."
    ),
    "litres_none": "No setting of the limewater is recorded.",
    "litres_y": "L a day",
    "litres_line": "litres a day",
    "x_label": "Day",
    "today": "now",
}
