"""After an overdose: what a water change brings back, and what air does in hours.

The new water's own alkalinity decides where alkalinity can fall to; its carbon brings pH down at
once. Air works over a day or two. Past pH_nbs 9.5 nothing is computed: what has precipitated is
not known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from engine.carbonate import PRECIPITATION_PH_NBS, solve
from engine.chemistry.constants import MOLAR_MASS_CALCIUM
from engine.chemistry.dose_physics import TankWater
from engine.chemistry.gas_exchange import Air, Segment, run_course
from engine.errors import check_between, check_not_negative, check_positive
from engine.hazards.codes import HazardCode, hazard_reason
from engine.hazards.rescue_water import NewWater, mixed_salt
from engine.units import Span

if TYPE_CHECKING:
    from engine.carbonate import CarbonateState
    from engine.reasons import Reason

SHARES: Final = (0.10, 0.25, 0.50)
AIR_HOURS: Final = (1.0, 3.0, 6.0, 12.0, 24.0)
# Poor, good and strong aeration, 1/d: estimate, no source.
EXCHANGE_PER_DAY: Final = Span(5.0, 20.0, 50.0)
# A room with people in it: common practice, no source.
ROOM_UATM: Final = 800.0
READY_SHARE: Final = 0.20  # of the net volume: what is wished for
# Balance of the new water with air, from outside air to a room with people: common practice.
NEW_WATER_UATM: Final = Span(400.0, 600.0, 800.0)
# Observation after a change, common practice: hours until pH is read again.
READ_AGAIN_H: Final = (0.25, 0.5, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRow:
    """What one water change brings; None past pH_nbs 9.5."""

    share: float
    litres: Span  # for the net volume and its interval
    ready: bool  # whether so much is ready, at the middle volume
    total_alkalinity_meq_per_L: Span | None
    pH_nbs: Span | None
    calcium_mg_per_L: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AirRow:
    """What air alone has done by a time: strong, good and poor aeration."""

    hours: float
    pH_nbs: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescue:
    """Both tables, and what they say."""

    changes: tuple[ChangeRow, ...]
    air: tuple[AirRow, ...]  # empty past pH_nbs 9.5
    reasons: tuple[Reason, ...]


def rescue(
    state: CarbonateState | None,
    *,
    net_volume_L: float,
    net_volume_error_share: float,
    water: NewWater,
    room_pCO2_uatm: float = ROOM_UATM,
) -> Rescue:
    """Return what water changes and air bring back.

    Parameters
    ----------
    state : CarbonateState or None
        The tank now; None where it is not known (past pH_nbs 9.5).
    net_volume_L, net_volume_error_share : float
        Of the tank, with its error as a share.
    water : NewWater
        What stands ready.
    room_pCO2_uatm : float
        Of the room; people in it help.
    """
    check_positive("net_volume_L", net_volume_L, "L")
    check_not_negative("net_volume_error_share", net_volume_error_share)
    if state is not None and state.pH_nbs > PRECIPITATION_PH_NBS:
        state = None
    volume = Span(1.0 - net_volume_error_share, 1.0, 1.0 + net_volume_error_share)
    rows = tuple(_row(state, share, volume.scaled(net_volume_L * share), water) for share in SHARES)
    air = () if state is None else air_table(state, room_pCO2_uatm=room_pCO2_uatm)
    return Rescue(changes=rows, air=air, reasons=_reasons(state, rows, air, water, net_volume_L))


def change_water(state: CarbonateState, share: float, new: CarbonateState) -> CarbonateState:
    """Return the tank after a share of it was replaced; matched salinity and temperature.

    Parameters
    ----------
    state, new : CarbonateState
        The tank and the new water.
    share : float
        0 to 1 of the net volume.
    """
    check_between("rescue", "share", share, 0.0, 1.0)

    def mixed(name: str) -> float:
        return (1.0 - share) * getattr(state, name) + share * getattr(new, name)

    return solve(
        total_alkalinity_umol_per_kg=mixed("total_alkalinity_umol_per_kg"),
        dic_umol_per_kg=mixed("dic_umol_per_kg"),
        calcium_umol_per_kg=mixed("calcium_umol_per_kg"),
        salinity=mixed("salinity"),
        temperature_degC=mixed("temperature_degC"),
    )


def air_table(
    state: CarbonateState,
    *,
    room_pCO2_uatm: float = ROOM_UATM,
    hours: tuple[float, ...] = AIR_HOURS,
) -> tuple[AirRow, ...]:
    """Return pH with ordinary room air alone, lime stopped, nothing eaten.

    Parameters
    ----------
    state : CarbonateState
        The tank when the lime stopped.
    room_pCO2_uatm : float
        At the water surface.
    hours : tuple of float
        Rising; also the rows' times.

    Returns
    -------
    tuple of AirRow
        `pH_nbs.low` is strong aeration, `best` good, `high` poor (estimates, no source).
    """
    lengths = [after - before for before, after in zip((0.0, *hours), hours, strict=False)]
    courses: list[list[float]] = []
    for exchange in reversed(EXCHANGE_PER_DAY):
        air = Air(pCO2_uatm=room_pCO2_uatm, exchange_per_day=exchange)
        points = run_course(state, air, [Segment(hours=length) for length in lengths])
        courses.append([min(points, key=lambda p, at=at: abs(p.hours - at)).pH_nbs for at in hours])
    return tuple(
        AirRow(hours=at, pH_nbs=Span(*values)) for at, *values in zip(hours, *courses, strict=True)
    )


def _row(state: CarbonateState | None, share: float, litres: Span, water: NewWater) -> ChangeRow:
    ready = water.ready_L >= litres.best
    if state is None:
        return ChangeRow(
            share=share,
            litres=litres,
            ready=ready,
            total_alkalinity_meq_per_L=None,
            pH_nbs=None,
            calcium_mg_per_L=None,
        )
    after = [
        [change_water(state, share, mixed_salt(state, alkalinity, air)) for air in NEW_WATER_UATM]
        for alkalinity in water.total_alkalinity_meq_per_L
    ]
    alkalinities = [row[0].total_alkalinity_umol_per_kg for row in after]
    pH_values = [each.pH_nbs for row in after for each in row]
    kg_per_L = TankWater.from_state(1.0, state).density_kg_per_L
    return ChangeRow(
        share=share,
        litres=litres,
        ready=ready,
        total_alkalinity_meq_per_L=Span(*(each * kg_per_L / 1000.0 for each in alkalinities)),
        pH_nbs=Span(min(pH_values), after[1][1].pH_nbs, max(pH_values)),
        calcium_mg_per_L=after[1][1].calcium_umol_per_kg * kg_per_L / 1000.0 * MOLAR_MASS_CALCIUM,
    )


def _reasons(
    state: CarbonateState | None,
    rows: tuple[ChangeRow, ...],
    air: tuple[AirRow, ...],
    water: NewWater,
    net_volume_L: float,
) -> tuple[Reason, ...]:
    found = [ready_reason(water, net_volume_L)]
    if not water.known:
        found.append(hazard_reason(HazardCode.NEW_WATER_UNKNOWN))
    if state is None:
        found += [hazard_reason(HazardCode.CHANGE_UNKNOWN), hazard_reason(HazardCode.AIR_UNKNOWN)]
        return tuple(found)
    for row in rows:
        alkalinity, pH = row.total_alkalinity_meq_per_L, row.pH_nbs
        calcium = row.calcium_mg_per_L
        if alkalinity is not None and pH is not None and calcium is not None:
            found.append(
                hazard_reason(
                    HazardCode.CHANGE_BRINGS,
                    change_share=row.share,
                    after_pH=pH.best,
                    after_low_meq_per_L=alkalinity.low,
                    after_high_meq_per_L=alkalinity.high,
                    after_calcium_mg_per_L=calcium,
                )
            )
    six = next(row for row in air if row.hours >= 6.0)  # noqa: PLR2004 - the row that is spoken
    found.append(
        hazard_reason(
            HazardCode.AIR_BRINGS,
            air_hours=six.hours,
            strong_pH=six.pH_nbs.low,
            poor_pH=six.pH_nbs.high,
        )
    )
    return tuple(found)


def ready_reason(water: NewWater, net_volume_L: float) -> Reason:
    """Return the verdict on the salt water that stands ready."""
    if water.ready_L <= 0.0:
        return hazard_reason(HazardCode.READY_WATER_NONE, wanted_L=READY_SHARE * net_volume_L)
    share = water.ready_L / net_volume_L
    if share < READY_SHARE:
        return hazard_reason(
            HazardCode.READY_WATER_SHORT,
            ready_L=water.ready_L,
            ready_share=share,
            wanted_L=READY_SHARE * net_volume_L,
        )
    return hazard_reason(HazardCode.READY_WATER, ready_L=water.ready_L, ready_share=share)
