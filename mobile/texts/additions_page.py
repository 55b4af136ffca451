"""Words of the page of one-off additions."""

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "title": "One-off addition",
    "about": "Raise a low value once, by a weighed salt over some days.",
    "lead": "What should rise? The daily need is not for here: that is the plan's.",
    "alkalinity": "Alkalinity",
    "calcium": "Calcium",
    "magnesium": "Magnesium",
    "now": "{what} now",
    "target": "{what} wanted",
    "assay": "Share of this salt in the product",
    "assay_hint": "From its label; 100 % when it says pure.",
    "from_test": "Your test, {when}.",
    "no_test": "No test of the last {days}: test it, and type it.",
    "test_before": "Your last test was before the last addition: test it, and type it.",
    "from_target": "Your target.",
    "from_practice": "The middle of common practice.",
    "salt": "By which salt",
    "work_out": "Work it out",
    "held_back": (
        "Nothing is worked out here while entries may be missing, or while the plan could not be "
        "worked out. Today says what ends it."
    ),
    "nothing_chosen": "Choose first what should rise.",
    "assay_range": "Type a share from 50 to 100 %. A weaker product is not reckoned.",
    "value_needed": "{label}: {said}",
    "doubtful": "Nothing is weighed on a doubtful value: test it again.",
    "one_day": "Day {first}",
    "some_days": "Days {first} to {last}",
    "portion": "{grams} of {salt} each day, about +{rise} each",
    "portion_once": "{grams} of {salt}, about +{rise}",
    "today": "Today: {grams} of {salt}",
    "record": "Record today's part",
    "recorded": "One-off addition, {grams}",
    "wait": (
        "An addition was recorded {when}. "
        "Test {hours} after it. The next part comes {day_hours} after it, from that test."
    ),
    "back": "Back to Plan",
}
