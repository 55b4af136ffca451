"""What can be said of powder, packs and supplies, as codes; sentences: mobile/texts/stock.py."""

from enum import StrEnum

from engine.reasons import Reason


class StockCode(StrEnum):
    """Every reason of engine/stock/charge.py, stock.py, shelf.py and supplies.py."""

    # In the vessel
    VESSEL_UNKNOWN = "stock_vessel_unknown"
    VESSEL_BALANCE = "stock_vessel_balance"
    VESSEL_BALANCE_NARROWED = "stock_vessel_balance_narrowed"
    RUNS_WEAK = "stock_runs_weak"
    RUNS_WEAK_LATER = "stock_runs_weak_later"
    FOUND_WEAK = "stock_found_weak"
    RUN_OUT = "stock_run_out"
    WEAK_DESPITE_POWDER = "stock_weak_despite_powder"
    OLD_BED = "stock_old_bed"

    # A recharge
    CHARGE = "stock_charge"
    CHARGE_SCOOPS = "stock_charge_scoops"
    CHARGE_CUT = "stock_charge_cut"
    BED_FULL = "stock_bed_full"
    BED_HEIGHT = "stock_bed_height"
    NO_SCOOP = "stock_no_scoop"

    # On the shelf
    SHELF_UNKNOWN = "stock_shelf_unknown"
    SHELF = "stock_shelf"
    SHELF_EMPTY = "stock_shelf_empty"
    SHELF_PACKS = "stock_shelf_packs"
    PACK_OLD = "stock_pack_old"
    PACK_AGE = "stock_pack_age"
    REORDER_BY = "stock_reorder_by"
    REORDER_NOW = "stock_reorder_now"
    REORDER_LATER = "stock_reorder_later"
    SEASON_INCLUDED = "stock_season_included"
    SEASON_LEFT_OUT = "stock_season_left_out"
    YEAR = "stock_year"
    YEAR_PACKS = "stock_year_packs"
    YEAR_MONEY = "stock_year_money"
    STORE = "stock_store"

    # Solutions and kits
    SUPPLY_LEFT_ML = "stock_supply_left_mL"
    SUPPLY_LEFT_TESTS = "stock_supply_left_tests"
    SUPPLY_DAYS = "stock_supply_days"
    SUPPLY_EXPIRES = "stock_supply_expires"
    SUPPLY_EXPIRED = "stock_supply_expired"
    SUPPLY_USE_UNKNOWN = "stock_supply_use_unknown"


def stock_reason(code: StockCode, **numbers: float | str) -> Reason:
    """Return a reason; each keyword's name carries its unit."""
    return Reason(code, numbers)
