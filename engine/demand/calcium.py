"""How much calcium goes with each meq of alkalinity that the tank takes.

Calcium carbonate takes 20.04 mg of calcium a meq, and limewater, a balanced two-part and a
reactor bring just that. A tank on balanced sources therefore tells its ratio only by a slow drift
of calcium: nothing is said until the interval is inside 20 %.
"""

from datetime import timedelta
from typing import Final, NamedTuple

from engine.chemistry.constants import MOLAR_MASS_CALCIUM
from engine.chemistry.salts import COMPOUNDS, effect
from engine.demand.facts import Facts, Sample
from engine.demand.inputs import Inputs
from engine.demand.kalman import Observation, run_filter, smooth
from engine.demand.stretch import stretch
from engine.records import Addition, Setup
from engine.units import Span
from engine.vocabulary import MEQ_PER_DKH, PARAMETERS, Z90

CALCIUM: Final = "calcium"
BALANCED_MG_PER_MEQ: Final = MOLAR_MASS_CALCIUM / 2.0
BALANCED_MG_PER_L_PER_DKH: Final = BALANCED_MG_PER_MEQ * MEQ_PER_DKH
# Shown only when the 90 % interval is inside this share of the ratio (common practice).
KNOWN_SHARE: Final = 0.2
# Skeletons hold some magnesium in calcium's place: the ratio may lie so far below (from memory).
RATIO_FITS_SHARE: Final = 0.1
_FEWEST: Final = 4
_WINDOW_DAYS: Final = 120.0
# Calcium that no record explains, for the root of a day; new water of unknown calcium, one
# standard deviation (common practice, no source).
_WANDER_MG_PER_L: Final = 1.0
_UNKNOWN_WATER_MG_PER_L: Final = 30.0
_SUSPECT_DEVIATIONS: Final = 3.0


class _Known(NamedTuple):
    error_mg_per_L: float  # of a calcium test, one standard deviation
    demand_meq_per_L_per_day: float  # of alkalinity


def calcium_ratio_mg_per_meq(
    facts: Facts,
    setup: Setup,
    inputs: Inputs,
    *,
    demand_meq_per_L_per_day: float,
) -> Span | None:
    """Return calcium used for alkalinity used, None until it is known within 20 %.

    Parameters
    ----------
    facts, setup, inputs
        The system.
    demand_meq_per_L_per_day : float
        Of alkalinity.

    Notes
    -----
    The same filter as for alkalinity, with alkalinity used in the place of time: what calcium
    loses for each meq is the rate that it finds.
    """
    samples = _usable(facts, inputs)
    if len(samples) < _FEWEST or demand_meq_per_L_per_day <= 0.0:
        return None
    error = setup.calcium_test_error_mg_per_L or PARAMETERS[CALCIUM].test_error
    known = _Known(error, demand_meq_per_L_per_day)
    observations = [
        _observation(before, sample, inputs, known)
        for before, sample in zip([samples[0], *samples], samples, strict=False)
    ]
    observations = _without_wild(observations)
    last = run_filter(observations)[-1]
    ratio, half = last.mean[1], Z90 * last.variance[1][1] ** 0.5
    if ratio <= 0.0 or half > KNOWN_SHARE * ratio:
        return None
    return Span(ratio - half, ratio, ratio + half)


def _usable(facts: Facts, inputs: Inputs) -> list[Sample]:
    known_from = inputs.known_from
    samples = facts.samples(CALCIUM)
    if known_from is None or not samples:
        return []
    since = max(known_from, samples[-1].at - timedelta(days=_WINDOW_DAYS))
    return list(facts.samples(CALCIUM, since))


def _without_wild(observations: list[Observation]) -> list[Observation]:
    smoothed = smooth(observations, run_filter(observations))
    far = [abs(state.deviation) for state in smoothed]
    worst = max(range(len(far)), key=far.__getitem__)
    if far[worst] <= _SUSPECT_DEVIATIONS or len(far) <= _FEWEST:
        return observations
    return [each._replace(used=number != worst) for number, each in enumerate(observations)]


def _observation(before: Sample, sample: Sample, inputs: Inputs, known: _Known) -> Observation:
    setup = inputs.setup
    between = stretch(inputs, setup, before.at, sample.at)
    # Balanced sources bring calcium with their alkalinity; weighed salts bring their own.
    added = inputs.additions(before.at, sample.at)
    by_salts = sum(addition.alkalinity_meq for addition in added) / setup.net_volume_L
    brought = (between.inputs - by_salts) * BALANCED_MG_PER_MEQ
    brought += sum(_calcium_mg_per_L(addition, setup) for addition in added)
    keep, variance = 1.0, _WANDER_MG_PER_L**2 * between.days
    for change in inputs.water_changes(before.at, sample.at):
        share = min(1.0, change.volume_L / setup.net_volume_L)
        new = change.new_calcium_mg_per_L
        if new is None:
            variance += (share * _UNKNOWN_WATER_MG_PER_L) ** 2
        else:
            keep, brought = keep * (1.0 - share), brought * (1.0 - share) + share * new
    return Observation(
        value=sample.value,
        variance=known.error_mg_per_L**2,
        keep=keep,
        span=known.demand_meq_per_L_per_day * between.demand_days,
        given=brought,
        level_variance=variance,
    )


def _calcium_mg_per_L(addition: Addition, setup: Setup) -> float:
    if addition.calcium_mg is not None:
        return addition.calcium_mg / setup.net_volume_L
    compound = COMPOUNDS.get(addition.salt)
    if compound is None or addition.salt_g is None:
        return 0.0
    return effect(
        compound, addition.salt_g, volume_L=setup.net_volume_L, assay=1.0
    ).calcium_mg_per_L
