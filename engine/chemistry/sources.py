"""Where the numbers come from: citation key to full reference, with a mark of honesty.

A key stands in the name of the formula (`k1_LDK00`), in a docstring (`[LDK00]`) and beside each
published check value. tests/published/test_sources.py fails on a key that is not here.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final


class Mark(Enum):
    """How the project came to know what the source says."""

    OPENED = "O"
    """The source, its abstract or its data page was opened."""
    COMPUTED = "C"
    """Computed with a named program and version."""
    MEMORY = "M"
    """From memory: the source was not opened. Quote it as from memory."""
    PRACTICE = "P"
    """Common practice of the trade, no source."""


@dataclass(frozen=True, slots=True)
class Source:
    """A reference."""

    text: str
    mark: Mark


_O, _C, _M, _P = Mark.OPENED, Mark.COMPUTED, Mark.MEMORY, Mark.PRACTICE

SOURCES: Final[dict[str, Source]] = {
    "B77": Source(
        "Bierman 1977, Factorization methods for discrete sequential estimation, ch. 5 to 7 "
        "(U-D factors, readings and random steps)",
        _M,
    ),
    "BBS56": Source(
        "Bates, Bower & Smith 1956, Calcium hydroxide as a highly alkaline pH standard, J. Res. "
        "Natl. Bur. Stand. 56(6), 305-312, doi:10.6028/jres.056.040 (abstract)",
        _O,
    ),
    "CIAAW": Source(
        "Atomic weights from the isotopic compositions of IUPAC's commission, as in molmass "
        "2026.1.8",
        _C,
    ),
    "CODATA18": Source("CODATA 2018 recommended value of the gas constant", _M),
    "COMP26": Source(
        "Computed for this project: PHREEQC 3.8.6 (pitzer.dat with the Thermoddem constant of "
        "portlandite; phreeqc.dat for conductance and ion pairs) and PyCO2SYS 1.8.3.4",
        _C,
    ),
    "CRC": Source(
        "CRC Handbook of Chemistry and Physics, equivalent conductivity of electrolytes, Ca(OH)2",
        _M,
    ),
    "D90a": Source("Dickson 1990, J. Chem. Thermodynamics 22, 113-127 (bisulfate)", _M),
    "D90b": Source("Dickson 1990, Deep-Sea Research 37, 755-766 (boric acid)", _M),
    "DIN": Source("German degree of hardness, 1 dH = 10 mg CaO per litre (DIN tradition)", _M),
    "DK12": Source(
        "Durbin & Koopman 2012, Time series analysis by state space methods, 2nd ed., ch. 4 "
        "(filter, smoother, auxiliary residuals)",
        _M,
    ),
    "DOE94": Source("DOE 1994, Handbook of methods, ch. 5 (ionic strength of seawater)", _M),
    "DSC07": Source(
        "Dickson, Sabine & Christian 2007, Guide to best practices for ocean CO2 measurements, "
        "PICES Special Publication 3, ch. 5",
        _M,
    ),
    "FCC": Source("Food Chemicals Codex, calcium hydroxide: 95.0 to 100.5 %", _M),
    "FP69": Source(
        "Fraser & Potter 1969, The optimum linear smoother as a combination of two optimum linear "
        "filters, IEEE Trans. Automatic Control 14, 387-390",
        _M,
    ),
    "JR99": Source("Johannsen & Rademacher 1999, dissolution kinetics of calcium hydroxide", _M),
    "LDK00": Source("Lueker, Dickson & Keeling 2000, Marine Chemistry 70, 105-119", _M),
    "LKB10": Source("Lee et al. 2010, Geochim. Cosmochim. Acta 74, 1801-1811 (borate)", _M),
    "M83": Source("Mucci 1983, American Journal of Science 283, 780-799", _M),
    "M95": Source("Millero 1995, Geochim. Cosmochim. Acta 59, 661-677 (water)", _M),
    "MP81": Source("Millero & Poisson 1981, Deep-Sea Research 28A, 625-629", _M),
    "MOR22": Source("Moras et al. 2022, Biogeosciences 19, 3537-3557 (abstract)", _O),
    "MR66": Source("Morris & Riley 1966, Deep-Sea Research 13, 699-705 (sulfate)", _M),
    "PAG54": Source("Page 1954, Continuous inspection schemes, Biometrika 41, 100-115 (CUSUM)", _M),
    "PERRY": Source(
        "Perry / Boynton type solubility table of calcium hydroxide, 0 to 50 degC; values for 0 "
        "to 40 degC seen on a web copy",
        _M,
    ),
    "PF87": Source("Perez & Fraga 1987, Marine Chemistry 21, 161-168 (fluoride)", _M),
    "PSS78": Source("Practical Salinity Scale 1978, in [UNESCO83]", _M),
    "PYCO2SYS": Source("PyCO2SYS 1.8.3.4, computed", _C),
    "R65": Source("Riley 1965, Deep-Sea Research 12, 219-220 (fluoride)", _M),
    "RIN24": Source("Ringham et al. 2024, Biogeosciences 21, 3551-3570 (abstract)", _O),
    "ROB18": Source("Roberts 2018, quasirandom additive recurrence, generalised golden ratio", _M),
    "RT67": Source("Riley & Tongudai 1967, Chemical Geology 2, 263-269 (calcium)", _M),
    "SAU91": Source("Saunders 1991, temperature scales T68 = 1.00024 T90", _M),
    "SEACARB": Source("Manual of the R package seacarb: Kspc(35, 25, 0) = 4.272351e-07", _O),
    "STOICHIOMETRY": Source("Stoichiometry from the atomic weights [CIAAW]", _C),
    "TRADE": Source("Common practice of the trade, no source", _P),
    "TWB82": Source(
        "Takahashi et al. 1982, GEOSECS Pacific Expedition 3, ch. 3 (activity coefficient fH)", _M
    ),
    "UNESCO83": Source(
        "Fofonoff & Millard 1983, UNESCO Technical Papers in Marine Science 44; the check values "
        "recomputed with seawater 3.3.5",
        _M,
    ),
    "W74": Source("Weiss 1974, Marine Chemistry 2, 203-215", _M),
    "WLD69": Source("Wooster, Lee & Dietrich 1969, salinity = 1.80655 chlorinity", _M),
    "WP80": Source("Weiss & Price 1980, Marine Chemistry 8, 347-359 (vapour pressure)", _M),
}
