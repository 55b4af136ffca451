"""The Help page: (title, paragraphs), written for a keeper."""

from typing import Final

SECTIONS: Final[tuple[tuple[str, tuple[str, ...]], ...]] = (
    (
        "Before anything else",
        (
            (
                "The powder (calcium hydroxide) and limewater are caustic. Danger: it irritates skin "
                "(H315), damages eyes seriously (H318), and its dust may irritate the airways (H335)."
            ),
            (
                "Powder in an eye: nearest clean running tap at once, twenty minutes, lids held open, "
                "somebody calls the emergency number."
            ),
            (
                "The powder's own safety data sheet and your local rules come before this app. "
                "A vet, a poison centre and the emergency number come before any app."
            ),
            "The app never drives a pump. It tells, you set.",
        ),
    ),
    (
        "What the numbers rest on",
        (
            (
                "Strength of limewater: the solubility of calcium hydroxide by temperature, 1.50 g/L "
                "at 25 °C and more when colder. Taken as 3 % less to 10 % more than that "
                "(Bates, Bower and Smith 1956, with the shape of handbook tables)."
            ),
            (
                "One gram gives 27.0 meq of alkalinity and 0.54 g of calcium, in the proportion that "
                "corals use them."
            ),
            (
                "Demand: a straight line through your alkalinity tests, after everything that went in "
                "since has been taken off. The range holds nine times in ten."
            ),
            (
                "Water volume is taken as unsure by ±10 % unless you say otherwise. "
                "Every limit uses the unsafe end."
            ),
        ),
    ),
    (
        "What keeps a dose safe",
        (
            "Limewater replaces evaporated water only: at most your share of the least evaporation.",
            (
                "Alkalinity may rise by plan only so much a day, and only so much if the "
                "corals stopped feeding altogether."
            ),
            "No plan at pH 8.5 or more. With no pH on record the app assumes 8.4 and says so.",
            "One dose stays under 0.05 meq for each litre of tank: about 0.07 pH.",
            (
                "A test older than 14 days gives no plan. Without a plan: leave the pump as it is, "
                "never raise it untested."
            ),
            "These limits are common practice, no source, unless one is named.",
        ),
    ),
    (
        "What is not modelled",
        (
            "Room air, night and day, plants and breathing: pH is not predicted yet, only guarded.",
            "Beyond pH 9.5 magnesium and carbonate fall out and no figure is given.",
            "Vinegar in limewater, and slurry poured by hand: strength unknown, no numbers.",
            (
                "Quicklime (calcium oxide), garden, mortar or magnesian lime: never. No dose is "
                "computed for them."
            ),
        ),
    ),
    (
        "Your records",
        (
            (
                "Once the app says “Saved”, the entry is on the phone's storage. It is never "
                "rewritten: an amendment is a new entry beside the old one."
            ),
            (
                "Nothing leaves the phone. A lost or drowned phone takes the records with it: export "
                "now and then and keep the file elsewhere."
            ),
            (
                "On an iPhone or iPad install the app first (Share, then Add to Home Screen), then "
                "record: a web page and the installed app keep separate records there."
            ),
        ),
    ),
)

TITLE: Final = "Help"
EMERGENCY: Final = "Open the emergency card"
VERSION: Final = "Build {build}"
