"""Following the app for a year keeps the tank; leaving a setting as it was does not."""

import pytest

from engine.plan.ph_guard import CEILING_PH
from tests.support.closed_loop import Year, live_a_year

SEEDS = 3


def row(name: str, year: Year) -> str:
    return (
        f"  {name:34} {year.within_share:7.1%} {min(year.alkalinity_dKH):6.1f} "
        f"{max(year.alkalinity_dKH):6.1f} {max(abs(s - 35.0) for s in year.salinity):6.2f} "
        f"{max(year.pH):6.2f} {year.over_caps:4}"
    )


HEAD = f"\n  {'365 days':34} {'within':>7} {'least':>6} {'most':>6} {'S off':>6} {'pH':>6} over"


def check(year: Year) -> None:
    assert year.within_share >= 0.95
    assert max(abs(salinity - 35.0) for salinity in year.salinity) <= 0.5
    assert max(year.pH) < CEILING_PH
    assert year.over_caps == 0
    assert year.planned >= 0.9 * year.decided


@pytest.mark.parametrize("seed", range(SEEDS))
def test_a_year_of_following_the_plan(seed):
    followed, constant = live_a_year(seed, follows=True), live_a_year(seed, follows=False)
    print(HEAD)
    print(row("follows the app", followed))
    print(row("never changes a setting", constant))
    check(followed)
    assert constant.within_share < followed.within_share - 0.3


@pytest.mark.long
def test_many_years():
    years = [live_a_year(100 + seed, follows=True) for seed in range(30)]
    print(HEAD)
    for number, year in enumerate(years):
        print(row(f"follows the app, tank {number}", year))
    for year in years:
        check(year)
