"""Alkalinity as a function of pH, and its inversion: the numerical core under `carbonate.solve`.

Everything here is in mol per kg of seawater on the total pH scale, and unchecked: the checks
stand at the doors (`carbonate.solve`, `water_at`).
"""

from __future__ import annotations

from math import log
from typing import TYPE_CHECKING, Final, NamedTuple

from engine.chemistry.equilibrium import constants_at
from engine.errors import OutsideValidity, check_between
from engine.seawater import total_borate_umol_per_kg_LKB10

if TYPE_CHECKING:
    from engine.chemistry.equilibrium import EquilibriumConstants

PH_TOTAL_RANGE: Final = (3.0, 12.0)
BORATE_RANGE_UMOL_PER_KG: Final = (0.0, 20_000.0)

_FIRST_GUESS_PH_TOTAL: Final = 8.1
_LN_10: Final = log(10.0)
_PH_TOLERANCE: Final = 1e-9
_MAX_STEPS: Final = 100


class OtherAlkalinity(NamedTuple):
    """Alkalinity other than that of carbonic acid at one pH, mol/kg."""

    borate: float
    hydroxide: float
    hydrogen_free: float
    hso4: float
    hf: float
    total: float
    slope: float
    """Derivative of `total` with the natural logarithm of [H]: negative."""


class CarbonDioxide(NamedTuple):
    """What a gas-exchange step needs to know of the water, mol/kg."""

    pH_total: float
    co2: float
    per_dic: float
    """Derivative of [CO2] with DIC at constant alkalinity (beta)."""
    per_alkalinity: float
    """Derivative of [CO2] with alkalinity at constant DIC: negative."""


class ChargeShares(NamedTuple):
    """DIC's species at one pH: the share of CO2, and mean and variance of the charge."""

    co2: float
    mean: float
    variance: float


class Water(NamedTuple):
    """One water's constants and totals; the methods are the solver."""

    constants: EquilibriumConstants
    total_borate: float

    def other_alkalinity(self, hydrogen: float) -> OtherAlkalinity:
        """Alkalinity of borate, water, sulfate and fluoride at [H]."""
        c = self.constants
        borate = self.total_borate * c.kb / (c.kb + hydrogen)
        hydroxide = c.kw / hydrogen
        free = hydrogen / c.total_per_free
        hso4 = c.total_sulfate * free / (c.ks + free)
        hf = c.total_fluoride * free / (c.kf + free)
        slope = (
            -hydroxide
            - free
            - borate * hydrogen / (c.kb + hydrogen)
            - hso4 * c.ks / (c.ks + free)
            - hf * c.kf / (c.kf + free)
        )
        total = borate + hydroxide - free - hso4 - hf
        return OtherAlkalinity(borate, hydroxide, free, hso4, hf, total, slope)

    def charge_shares(self, hydrogen: float) -> ChargeShares:
        """Shares of DIC at [H]; with ln [H] the mean charge falls by its variance."""
        c = self.constants
        hco3 = c.k1 / hydrogen
        co3 = hco3 * c.k2 / hydrogen
        total = 1.0 + hco3 + co3
        return ChargeShares(
            1.0 / total,
            (hco3 + 2.0 * co3) / total,
            (hco3 + 4.0 * co3 + hco3 * co3) / (total * total),
        )

    def pH_total_from_dic(
        self, alkalinity: float, dic: float, guess: float = _FIRST_GUESS_PH_TOTAL
    ) -> float:
        """Find the pH for this alkalinity and DIC; `guess` only saves steps."""
        low, high = PH_TOTAL_RANGE
        pH = guess if low < guess < high else _FIRST_GUESS_PH_TOTAL
        for _ in range(_MAX_STEPS):
            hydrogen = 10.0**-pH
            other = self.other_alkalinity(hydrogen)
            shares = self.charge_shares(hydrogen)
            excess = dic * shares.mean + other.total - alkalinity
            slope = _LN_10 * (dic * shares.variance - other.slope)
            previous = pH
            pH, low, high = _newton_step(pH, excess, slope, low, high)
            if abs(pH - previous) < _PH_TOLERANCE:
                break
        return _inside(pH)

    def pH_total_from_co2(self, alkalinity: float, co2: float) -> float:
        """Find the pH for this alkalinity and dissolved carbon dioxide."""
        c = self.constants
        low, high = PH_TOTAL_RANGE
        pH = _FIRST_GUESS_PH_TOTAL
        for _ in range(_MAX_STEPS):
            hydrogen = 10.0**-pH
            other = self.other_alkalinity(hydrogen)
            hco3 = co2 * c.k1 / hydrogen
            co3 = hco3 * c.k2 / hydrogen
            excess = hco3 + 2.0 * co3 + other.total - alkalinity
            slope = _LN_10 * (hco3 + 4.0 * co3 - other.slope)
            previous = pH
            pH, low, high = _newton_step(pH, excess, slope, low, high)
            if abs(pH - previous) < _PH_TOLERANCE:
                break
        return _inside(pH)

    def dic_from_pH_total(self, alkalinity: float, pH_total: float) -> float:
        """DIC that this alkalinity and pH imply; negative when they contradict each other."""
        hydrogen = 10.0**-pH_total
        carbonate = alkalinity - self.other_alkalinity(hydrogen).total
        return carbonate / self.charge_shares(hydrogen).mean

    def dic_from_co2(self, co2: float, pH_total: float) -> float:
        """DIC that this dissolved carbon dioxide and pH imply."""
        return co2 / self.charge_shares(10.0**-pH_total).co2

    def carbon_dioxide(
        self, alkalinity: float, dic: float, guess: float = _FIRST_GUESS_PH_TOTAL
    ) -> CarbonDioxide:
        """Find pH and dissolved carbon dioxide, and how that answers to DIC and alkalinity."""
        pH = self.pH_total_from_dic(alkalinity, dic, guess)
        hydrogen = 10.0**-pH
        shares = self.charge_shares(hydrogen)
        co2 = shares.co2 * dic
        # At constant DIC d ln[H] = -dTA / slope; [CO2] follows ln[H] with the mean charge.
        slope = dic * shares.variance - self.other_alkalinity(hydrogen).slope
        per_alkalinity = -co2 * shares.mean / slope
        per_dic = shares.co2 - per_alkalinity * shares.mean
        return CarbonDioxide(pH, co2, per_dic, per_alkalinity)


def water_at(
    salinity: float, temperature_degC: float, total_borate_umol_per_kg: float | None = None
) -> Water:
    """Constants and totals of a water, for repeated solving.

    Parameters
    ----------
    salinity : float
        Practical salinity. Valid 19 to 40.
    temperature_degC : float
        Temperature, degC. Valid 9 to 33.
    total_borate_umol_per_kg : float, optional
        Total borate, 0 to 20 000; by default that of natural seawater at this salinity.

    Raises
    ------
    OutsideValidity
        Outside a fit of the constants.
    """
    constants = constants_at(salinity, temperature_degC)
    if total_borate_umol_per_kg is None:
        return Water(constants, total_borate_umol_per_kg_LKB10(salinity) * 1e-6)
    check_between(
        "carbonate.solve",
        "total_borate_umol_per_kg",
        total_borate_umol_per_kg,
        *BORATE_RANGE_UMOL_PER_KG,
    )
    return Water(constants, total_borate_umol_per_kg * 1e-6)


def _newton_step(
    pH: float, excess: float, slope: float, low: float, high: float
) -> tuple[float, float, float]:
    """Next pH and the narrower bracket; halves the bracket when Newton would leave it."""
    if excess > 0.0:
        high = pH
    else:
        low = pH
    following = pH - excess / slope
    if not low <= following <= high:
        following = 0.5 * (low + high)
    return following, low, high


def _inside(pH: float) -> float:
    """Return the pH found, unless it is an end of the bracket: then no pH fits the knowns."""
    low, high = PH_TOTAL_RANGE
    margin = 2.0 * _PH_TOLERANCE
    if low + margin < pH < high - margin:
        return pH
    raise OutsideValidity("carbonate.solve", "pH_total", pH, low, high)
