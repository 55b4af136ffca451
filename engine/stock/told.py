"""What the powder balance comes to, as reasons: the day it runs weak, the next charge, the bed."""

from math import ceil, floor

from engine.decision import Decision
from engine.limewater import saturated_alkalinity_meq_per_L
from engine.reasons import Reason
from engine.records import Container, Setup
from engine.stock.charge import Charge, bed_height_share, recharge, recharge_days
from engine.stock.codes import StockCode, stock_reason
from engine.stock.powder import LONGEST_DAYS, Powder
from engine.stock.shelf import litres_per_day
from engine.units import to_float


def in_use_reasons(decision: Decision) -> tuple[Reason, ...]:
    """Return what is said of the powder in use, the day it runs weak first."""
    powder = decision.powder
    if not isinstance(powder, Powder):
        return (stock_reason(StockCode.VESSEL_UNKNOWN),)
    found = [_runs_weak(powder), _balance(powder)]
    if powder.weak_despite_powder:
        found.append(stock_reason(StockCode.WEAK_DESPITE_POWDER))
    if powder.old_bed_g > 0.0 and powder.container is Container.VESSEL:
        found.append(stock_reason(StockCode.OLD_BED, old_bed_g=float(round(powder.old_bed_g))))
    return tuple(found)


def _runs_weak(powder: Powder) -> Reason:
    days = powder.days_left.floats("day")
    if powder.found_weak:
        return stock_reason(StockCode.FOUND_WEAK)
    if days.high <= 0.0:
        return stock_reason(StockCode.RUN_OUT)
    code = StockCode.RUNS_WEAK_LATER if days.low >= LONGEST_DAYS else StockCode.RUNS_WEAK
    return stock_reason(code, weak_low_days=days.low, weak_high_days=days.high)


def _balance(powder: Powder) -> Reason:
    left = powder.left.floats("g")
    code = StockCode.VESSEL_BALANCE_NARROWED if powder.checked else StockCode.VESSEL_BALANCE
    return stock_reason(
        code,
        charged_g=powder.charged_g,
        dosed_g=float(round(powder.dosed_g)),
        left_low_g=float(floor(left.low)),
        left_high_g=float(ceil(left.high)),
    )


def next_charge(decision: Decision) -> Charge | None:
    """Return the powder for the next recharge of a stirred vessel; None where there is none."""
    setup, litres = decision.setup, litres_per_day(decision)
    if setup is None or setup.vessel_L is None or litres is None or litres <= 0.0:
        return None
    powder = decision.powder
    return recharge(
        setup,
        limewater_L_per_day=litres,
        strength_meq_per_L=saturated_alkalinity_meq_per_L(setup.lime_temperature_degC),
        days=recharge_days(setup),
        old_bed_g=powder.old_bed_g if isinstance(powder, Powder) else 0.0,
    )


def charge_reasons(decision: Decision, charge: Charge, setup: Setup) -> tuple[Reason, ...]:
    """Return what is said of the next charge: grams, height of the bed, the keeper's own scoop."""
    grams, vessel_L = to_float(charge.powder, "g"), setup.vessel_L
    if grams <= 0.0 or vessel_L is None:
        return (stock_reason(StockCode.BED_FULL),)
    powder = decision.powder
    old_g = powder.old_bed_g if isinstance(powder, Powder) else 0.0
    numbers = {"charge_g": grams, "charge_days": to_float(charge.days, "day")}
    wanted = recharge_days(setup)
    if charge.reasons:
        found = [stock_reason(StockCode.CHARGE_CUT, **numbers, wanted_days=wanted)]
    else:
        found = [stock_reason(StockCode.CHARGE, **numbers)]
    settled, loose = bed_height_share(grams + old_g, vessel_L)
    bed = {"settled_share": settled, "loose_share": loose}
    found.append(stock_reason(StockCode.BED_HEIGHT, **bed))
    found.append(_scoops(setup, grams))
    return tuple(found)


def _scoops(setup: Setup, grams: float) -> Reason:
    if setup.scoop_g is None:
        return stock_reason(StockCode.NO_SCOOP)
    scoops = grams / setup.scoop_g
    return stock_reason(StockCode.CHARGE_SCOOPS, scoops_count=round(scoops), scoop_g=setup.scoop_g)
