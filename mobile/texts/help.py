"""The Help page: (title, paragraphs), written for a keeper."""

from typing import Final

from mobile.texts.procedures import HAZARD_SOURCE

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
        "What a dose rests on",
        (
            "One gram of powder gives 27.0 meq of alkalinity and 0.54 g of calcium, in the proportion that corals use them.",
            "Demand is estimated from your alkalinity tests, after everything that went in since has been taken off. A test far from the others is named and set aside until it is repeated. The range holds nine times in ten.",
            "Water volume is taken as unsure by ±10 % unless you say otherwise. Every limit uses the unsafe end.",
        ),
    ),
    (
        "How strong limewater is",
        (
            "Cold water dissolves more lime than warm: 44.9 meq/L at 10 °C, 40.6 at 25 °C, 39.1 at 30 °C. Modern data lie from 3 % below to 10 % above these figures.",
            "Below saturation, strength follows the powder. Above it more powder makes the clear liquid no stronger and lies at the bottom.",
            "Milky limewater carries solid lime, and every gram of it counts: 27 meq, about 0.17 dKH in 450 litres. pH is a poor gauge: half the strength costs only 0.3.",
        ),
    ),
    (
        "Checking strength with a conductivity meter",
        (
            "Read your vessel's output and a sample you know is saturated (shaken, settled overnight) with the same meter. The ratio of the two counts, so the meter's own constant drops out.",
            "A ratio of one half means 46 % strength, not 50. A meter that compensates 2 % a degree is a little off, since limewater needs 1.74.",
            "You may read that saturated limewater shows 10.3 mS/cm. That is what its ions would conduct if they did not hinder each other; two independent sources put real saturated limewater near 8.0 at 25 °C. If your own sample is far from 8, trust the ratio and check the meter.",
            "Salts in the water read as strength; white haze does not conduct. Error about ±3 % of saturation. A titration or a diluted alkalinity test needs no meter.",
        ),
    ),
    (
        "The water model",
        (
            "From alkalinity, pH (or room CO₂), salinity and temperature it works out the whole carbonate balance: dissolved carbon, carbon dioxide, and how far the water is oversaturated for aragonite, the mineral of coral skeletons.",
            "It uses oceanographers' published equations and agrees with their reference program to the last digit. That shows the sums are right, not that your test kit is.",
            "A pH probe is good to about 0.1 and an alkalinity test to 0.2 to 0.5 dKH (common practice, no source). Those errors, not the model, decide how sure a figure is.",
            "Your probe shows pH on the NBS scale, 0.137 above the scale used inside at 25 °C. The app converts; do not convert yourself.",
        ),
    ),
    (
        "pH through the day",
        (
            "Limewater brings alkalinity without carbon, so it raises pH at once. Then the air's carbon dioxide brings pH back, over days rather than hours: the water's buffer slows it 15 to 30 times.",
            "Room air is the strongest lever: 400 against 1000 ppm is about 0.3 pH. If corals are given more lime than air and animals can match with carbon, there is no resting pH: it climbs until lime falls out.",
            "The plan limits the pH rise of one dose and the day's highest pH by this model; the day's course is not drawn yet.",
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
            "One dose raises pH by at most 0.05, and alkalinity by at most 0.05 meq for each litre of tank.",
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
            "Lime or magnesia falling out of the water. Above pH 9.5 that happens, and no figure is given there.",
            "Seawater's usual proportions of salts are assumed; a salt mix with much extra borate shifts pH. Phosphate, silicate and organic matter are not known to it.",
            "It works for salinity 19 to 40 and 9 to 33 °C. Outside that it gives no number and says so.",
            "Vinegar in limewater, and slurry poured by hand: strength unknown, no numbers.",
            "Quicklime (calcium oxide), garden, mortar or magnesian lime: never. No dose is computed for them.",
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
    (
        "Sources",
        (
            "Carbonate constants: Lueker and others 2000, Dickson 1990, Millero 1995, Weiss 1974, Mucci 1983, Perez and Fraga 1987, Lee and others 2010. Seawater: UNESCO 1983, Practical Salinity Scale 1978. These papers are cited from memory; every equation was checked against PyCO2SYS, gsw and seawater.",
            "Limewater: Bates, Bower and Smith 1956 (abstract read); its shape with temperature from handbook tables (partly from memory); conductivity and pH from PHREEQC.",
            "Precipitation: Moras and others 2022, Ringham and others 2024 (abstracts read). The reading of an NaCl-scaled refractometer is common practice, no source.",
            HAZARD_SOURCE,
            "First aid: the powder's registration (ECHA). Your powder's own safety data sheet prevails.",
        ),
    ),
)

TITLE: Final = "Help"
EMERGENCY: Final = "Open the emergency card"
VERSION: Final = "Build {build}"
