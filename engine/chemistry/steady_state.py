"""Where a tank between lime, corals and the room's air comes to rest, and when it cannot."""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING

from engine.carbonate import CarbonateState, solve
from engine.chemistry.alkalinity import water_at
from engine.errors import OutsideValidity, check_finite, check_not_negative, check_positive
from engine.seawater import density_kg_per_m3

if TYPE_CHECKING:
    from engine.chemistry.gas_exchange import Air


def steady_state(
    *,
    total_alkalinity_umol_per_kg: float,
    salinity: float,
    temperature_degC: float,
    air: Air,
    lime_meq_per_L_per_day: float,
    respiration_mmol_per_L_per_day: float = 0.0,
    other_alkalinity_meq_per_L_per_day: float = 0.0,
    other_dic_mmol_per_L_per_day: float = 0.0,
    calcium_umol_per_kg: float | None = None,
) -> CarbonateState:
    """Where a tank comes to rest when the corals take exactly the alkalinity that is given.

    Parameters
    ----------
    total_alkalinity_umol_per_kg, salinity, temperature_degC, calcium_umol_per_kg : float
        Of the water at rest.
    air : Air
        Room and exchange rate.
    lime_meq_per_L_per_day, other_alkalinity_meq_per_L_per_day : float
        Alkalinity given; calcification is half their sum.
    other_dic_mmol_per_L_per_day, respiration_mmol_per_L_per_day : float
        Carbon given, and net respiration over the whole day.

    Returns
    -------
    CarbonateState

    Raises
    ------
    OutsideValidity
        Code `no_steady_state`: corals want more carbon than air and animals bring; pH climbs
        until lime precipitates. The limit is `largest_steady_lime_meq_per_L_per_day`.

    Notes
    -----
    Exact: the flux through the surface equals calcification less respiration and other carbon.
    """
    limit = largest_steady_lime_meq_per_L_per_day(
        salinity=salinity,
        temperature_degC=temperature_degC,
        air=air,
        respiration_mmol_per_L_per_day=respiration_mmol_per_L_per_day,
        other_alkalinity_meq_per_L_per_day=other_alkalinity_meq_per_L_per_day,
        other_dic_mmol_per_L_per_day=other_dic_mmol_per_L_per_day,
    )
    check_not_negative("lime_meq_per_L_per_day", lime_meq_per_L_per_day, "meq/L/d")
    if lime_meq_per_L_per_day >= limit or air.exchange_per_day <= 0.0:
        raise OutsideValidity(
            "steady_state",
            "lime_meq_per_L_per_day",
            lime_meq_per_L_per_day,
            0.0,
            limit,
            code="no_steady_state",
        )
    # The margin below the limit, in carbon, is what is left of the air's push.
    left_umol_per_kg_per_day = (
        0.5 * (limit - lime_meq_per_L_per_day) * 1e6 / density_kg_per_m3(salinity, temperature_degC)
    )
    constants = water_at(salinity, temperature_degC).constants
    pCO2_uatm = left_umol_per_kg_per_day / (
        air.exchange_per_day * constants.k0 * constants.fugacity_factor
    )
    return solve(
        total_alkalinity_umol_per_kg=total_alkalinity_umol_per_kg,
        pCO2_uatm=pCO2_uatm,
        salinity=salinity,
        temperature_degC=temperature_degC,
        calcium_umol_per_kg=calcium_umol_per_kg,
    )


def largest_steady_lime_meq_per_L_per_day(
    *,
    salinity: float,
    temperature_degC: float,
    air: Air,
    respiration_mmol_per_L_per_day: float = 0.0,
    other_alkalinity_meq_per_L_per_day: float = 0.0,
    other_dic_mmol_per_L_per_day: float = 0.0,
) -> float:
    """Most limewater for which a steady pH exists, meq/L/d; see `steady_state`.

    Below 0 no amount does. All carbon that calcification takes must come through the surface,
    from the animals or with the other source.
    """
    check_finite("respiration_mmol_per_L_per_day", respiration_mmol_per_L_per_day)
    check_finite("other_alkalinity_meq_per_L_per_day", other_alkalinity_meq_per_L_per_day)
    check_finite("other_dic_mmol_per_L_per_day", other_dic_mmol_per_L_per_day)
    constants = water_at(salinity, temperature_degC).constants
    air_co2_umol_per_kg = air.pCO2_uatm * constants.k0 * constants.fugacity_factor
    surface_mmol_per_L = (
        air.exchange_per_day
        * air_co2_umol_per_kg
        * density_kg_per_m3(salinity, temperature_degC)
        / 1e6
    )
    carbon = surface_mmol_per_L + respiration_mmol_per_L_per_day + other_dic_mmol_per_L_per_day
    return 2.0 * carbon - other_alkalinity_meq_per_L_per_day


def alkalinity_with_first_order_demand_meq_per_L(
    start_meq_per_L: float,
    *,
    floor_meq_per_L: float,
    demand_per_day: float,
    given_meq_per_L_per_day: float,
    days: float,
) -> float:
    """Alkalinity after days when demand is proportional to alkalinity above a floor, meq/L.

    Settles at floor + given / demand.
    """
    check_finite("start_meq_per_L", start_meq_per_L, "meq/L")
    check_finite("floor_meq_per_L", floor_meq_per_L, "meq/L")
    check_positive("demand_per_day", demand_per_day, "1/d")
    check_finite("given_meq_per_L_per_day", given_meq_per_L_per_day, "meq/L/d")
    check_not_negative("days", days, "d")
    rest = floor_meq_per_L + given_meq_per_L_per_day / demand_per_day
    return rest + (start_meq_per_L - rest) * exp(-demand_per_day * days)
