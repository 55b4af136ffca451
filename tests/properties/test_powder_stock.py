"""Powder against simulated vessels and shelves whose truth is known, seeds fixed.

The truth is drawn from the errors that the engine claims (tests/support/simulated_powder.py), so
this tests the reckoning, not whether a keeper's scale or powder is as good as claimed.
"""

import random

import pytest

from engine.jobs.forecasts import RECHARGE_NOTICE_DAYS
from tests.support.simulated_powder import Shelf, Vessel

RUNS = 600


def asked(seed: int) -> tuple[Vessel, float]:
    """Return a vessel and a moment, days after its recharge and before it runs weak."""
    vessel = Vessel(seed)
    return vessel, random.Random(seed + 10**6).uniform(0.1, 0.95) * vessel.days_to_weak


def covered(seed: int) -> tuple[bool, bool]:
    """Return whether the 90 % interval holds the true day, and whether a check was known."""
    vessel, at = asked(seed)
    found = vessel.powder(at)
    low, _, high = found.days_left.floats("day")
    return low <= vessel.days_to_weak - at <= high, found.checked


def test_ninety_percent_interval_of_the_weak_day_covers_as_claimed():
    found = [covered(seed) for seed in range(RUNS)]
    print(f"covered {sum(hit for hit, _ in found) / RUNS:.3f} of {RUNS}")
    assert 0.85 <= sum(hit for hit, _ in found) / RUNS <= 0.95
    for checked in (True, False):
        part = [hit for hit, known in found if known is checked]
        print(f"checked {checked}: {sum(part) / len(part):.3f} of {len(part)}")
        assert len(part) > 150
        assert 0.85 <= sum(part) / len(part) <= 0.95


def test_no_run_ends_weak_without_a_warning_the_notice_ahead():
    ahead = []
    for seed in range(RUNS // 2):
        vessel, day = Vessel(seed), 0.0
        while day < vessel.days_to_weak:
            if vessel.powder(day).days_to_recharge.floats("day").low <= RECHARGE_NOTICE_DAYS:
                break
            day += 1.0
        ahead.append(vessel.days_to_weak - day)
    print(f"least warning {min(ahead):.1f} days")
    assert min(ahead) >= RECHARGE_NOTICE_DAYS


def test_mass_balance_of_the_truth_closes():
    for seed in range(50):
        vessel = Vessel(seed)
        part = vessel.parts_g
        gone = vessel.days_to_weak * (part["given_a_day"] + part["carbonate_a_day"])
        charged = part["lime"] + part["old"]
        assert charged == pytest.approx(gone + part["buried"] + part["filling"], rel=1e-9)


def test_mass_balance_of_the_engine_closes():
    """What is left and what is gone make up the charge's usable lime, whenever it is asked."""
    for seed in range(50):
        vessel = Vessel(seed)
        first = vessel.powder(0.0)
        later = vessel.powder(0.3 * vessel.days_to_weak)
        if first.checked or later.checked:
            continue
        usable = first.left.floats("g").best
        assert later.left.floats("g").best + later.dosed_g == pytest.approx(usable, rel=1e-9)


def test_interval_grows_with_what_was_dosed():
    vessel = next(v for v in map(Vessel, range(99)) if not v.powder(0.5 * v.days_to_weak).checked)
    widths = []
    for share in (0.0, 0.3, 0.6):
        low, _, high = vessel.powder(share * vessel.days_to_weak).left.floats("g")
        widths.append(high - low)
    assert widths == sorted(widths)
    assert widths[2] > widths[0]


def test_no_shelf_is_empty_before_its_order_could_come():
    """Daily walks over two years of orders: warned at least the lead time before it is empty."""
    least = min(Shelf(seed).warned_days_ahead() - Shelf(seed).lead for seed in range(20))
    print(f"least margin beyond the lead time {least:.1f} days")
    assert least >= 0.0
