"""Words where a build is recalled: it is known to advise wrongly and gives no number."""

from typing import Final

TEXTS: Final = {
    "lead": "No dose from this version: it is known to advise wrongly.",
    "meanwhile": (
        "Measure pH and alkalinity before the next dose. At pH 8.5 or more, limewater off. "
        "Never raise it now."
    ),
    "works": "Recording, export and the emergency card work as before.",
    "ends": (
        "An update ends this: open the app with a network, and press Use it when a new version "
        "is offered."
    ),
}
