"""What carries lime in a set-up: container, pump, strength, the powder that lies in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from engine.demand.facts import BY_PUMP, THROUGH_TOP_OFF, THROUGH_VESSEL
from engine.demand.inputs import CHECKED_PUMP_ERROR_SHARE, UNCHECKED_PUMP_ERROR_SHARE
from engine.demand.strength import strength_now
from engine.errors import check_positive
from engine.records import Container, Delivery, PumpCheck, Recharge, Setup
from engine.stock.charge import ASSAY_ERROR
from engine.stock.charge_in_use import InUse, emptied_at, old_bed_g
from engine.units import Span

if TYPE_CHECKING:
    from engine.demand.facts import Facts
    from engine.demand.inputs import Inputs
    from engine.demand.strength import Strength

# Scoops of one recharge are recorded within so long.
_ONE_RECHARGE: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Guards:
    """What the keeper has built in; nothing by default.

    Attributes
    ----------
    cut_off_h : float, optional
        Longest continuous run of the lime pump, h: a timer or the pump's own limit.
    siphon_break : bool
        An air gap above every water level: the container cannot empty by itself.
    """

    cut_off_h: float | None = None
    siphon_break: bool = False

    def __post_init__(self) -> None:
        if self.cut_off_h is not None:
            check_positive("cut_off_h", self.cut_off_h, "h")


def guards_of(setup: Setup) -> Guards:
    """Return what a set-up says is built in, of the pump that carries the lime."""
    by_top_off = setup.delivery in THROUGH_TOP_OFF
    cut_off_h = setup.top_off_cut_off_hours if by_top_off else setup.pump_cut_off_hours
    return Guards(cut_off_h=cut_off_h, siphon_break=setup.siphon_break)


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """What carries lime in a system, every uncertain figure as low, best, high."""

    setup: Setup
    guards: Guards
    unattended_h: float
    strength_meq_per_L: Span  # of fresh, clear limewater
    rate_L_per_h: Span | None  # of the lime pump when it never stops
    source_L: float | None  # of the container that lime is drawn from
    charge_g: Span | None  # pure calcium hydroxide of the last charge; `high` with the old bed
    old_bed_g: float  # left of earlier charges, as weighed; partly carbonate, counted as lime
    lime_L_per_day: float | None  # given now
    dose_L: float | None

    @property
    def through_vessel(self) -> bool:
        """Whether the lime lies in a stirred vessel."""
        return self.setup.delivery in THROUGH_VESSEL

    @property
    def may_siphon(self) -> bool:
        """Whether the container can empty by itself, at a flow that nobody knows."""
        return not self.guards.siphon_break

    @property
    def bed_L(self) -> float | None:
        """Volume of what the powder lies in, L."""
        return self.setup.vessel_L if self.through_vessel else self.source_L


def equipment_of(
    facts: Facts, setup: Setup, inputs: Inputs, *, guards: Guards, unattended_h: float
) -> Equipment:
    """Return the equipment at the moment of the facts; parameters as in `hazard.assess`."""
    strength = strength_now(facts, setup)
    saturated = strength.saturated_meq_per_L
    given = inputs.lime_L_per_day(facts.now) if inputs.settings.points else None
    doses = 1 if setup.delivery is Delivery.DRIP else setup.doses_per_day
    through = setup.delivery in THROUGH_VESSEL
    old_bed_g = _old_bed_g(facts, setup, inputs, strength)
    return Equipment(
        setup=setup,
        guards=guards,
        unattended_h=unattended_h,
        # Weak lime may be recharged tonight: the middle is saturated limewater.
        strength_meq_per_L=Span(
            min(strength.meq_per_L.low, saturated), saturated, strength.unsafe_meq_per_L
        ),
        rate_L_per_h=_rate(facts, setup, inputs),
        source_L=setup.fresh_water_container_L if through else setup.lime_container_L,
        charge_g=_charge(facts, setup, old_bed_g),
        old_bed_g=old_bed_g,
        lime_L_per_day=given,
        dose_L=None if given is None else given / doses,
    )


def _rate(facts: Facts, setup: Setup, inputs: Inputs) -> Span | None:
    """Return the rate of what carries the lime; None where it is not in Setup."""
    if setup.delivery in THROUGH_TOP_OFF:
        rated = setup.top_off_L_per_h
        error = UNCHECKED_PUMP_ERROR_SHARE
        return None if rated is None else Span(1.0 - error, 1.0, 1.0 + error).scaled(rated)
    if setup.pump_L_per_h is None or setup.delivery not in BY_PUMP:
        return None
    checked = facts.last(PumpCheck) is not None
    error = CHECKED_PUMP_ERROR_SHARE if checked else UNCHECKED_PUMP_ERROR_SHARE
    # A new tube gives again what the worn one lost.
    share = inputs.pump.at(facts.now)
    low, high = share * (1.0 - error), max(1.0, share) * (1.0 + error)
    return Span(low, min(max(share, low), high), high).scaled(setup.pump_L_per_h)


def _container(setup: Setup) -> Container:
    return Container.VESSEL if setup.delivery in THROUGH_VESSEL else Container.LIME


def _charges(facts: Facts, setup: Setup) -> tuple[Recharge, ...]:
    container = _container(setup)
    return tuple(r for r in facts.of(Recharge) if r.container is container)


def _charge(facts: Facts, setup: Setup, old_bed_g: float) -> Span | None:
    """Return the whole last charge: the worst moment is right after a recharge."""
    charges = _charges(facts, setup)
    if not charges:
        return None
    newest = charges[-1].at
    grams = sum(r.powder_g for r in charges if newest - r.at <= _ONE_RECHARGE)
    assay = setup.powder_assay
    low, high = max(0.0, assay - ASSAY_ERROR), min(1.0, assay + ASSAY_ERROR)
    return Span(grams * low, grams * assay, grams * high + old_bed_g)


def _old_bed_g(facts: Facts, setup: Setup, inputs: Inputs, strength: Strength) -> float:
    """Return what earlier charges may have left, g: all of them where no dosing is on record."""
    charges, container = _charges(facts, setup), _container(setup)
    if not charges:
        return 0.0
    use = InUse(
        facts=facts,
        setup=setup,
        inputs=inputs,
        strength=strength,
        container=container,
        charges=charges,
    )
    return old_bed_g(use, emptied_at(facts, container))
