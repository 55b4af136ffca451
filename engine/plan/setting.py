"""What the setting that the keeper recorded does, above the caps or not."""

from dataclasses import dataclass

from engine.caps import CapValue, LimitContext
from engine.demand.facts import THROUGH_TOP_OFF, Facts
from engine.demand.inputs import Inputs
from engine.plan.salinity_drift import dilution_PSU_per_day, excess_L_per_day, salinity_now
from engine.reasons import Code, Reason, reason
from engine.records import Setup
from engine.units import Estimate, Quantity, Span, estimate, quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingConsequence:
    """What is set now, and what comes of it."""

    limewater_set: Quantity  # L/day as the pump shows it
    delivered: Quantity  # L/day as the last pump check found
    net_change: Estimate | None  # meq/L/day with both sources as they are; None without a demand
    rise_if_stopped: Quantity  # meq/L/day at most, if the animals took nothing
    dose_rise: Quantity  # meq/L that one dose adds at most
    salinity_change: Estimate | None  # PSU/day, 0 or below; None when evaporation is unknown
    over: tuple[CapValue, ...]  # caps that it exceeds, smallest first
    reasons: tuple[Reason, ...]


def setting_consequence(
    facts: Facts,
    setup: Setup,
    inputs: Inputs,
    *,
    context: LimitContext,
    caps: tuple[CapValue, ...],
    evaporation_L_per_day: Span | None,
    net_change_meq_per_L_per_day: Span | None,
) -> SettingConsequence | None:
    """Return the consequence of the recorded setting, None when none is recorded.

    Parameters
    ----------
    facts, setup, inputs, context
        The system.
    caps : tuple of CapValue
        Every cap that is known.
    evaporation_L_per_day, net_change_meq_per_L_per_day : Span or None
        Evaporation, and where alkalinity goes with the inputs of now.
    """
    shown = inputs.settings.at(facts.now)
    if shown is None:
        return None
    delivered = inputs.lime_L_per_day(facts.now)
    # What the top-off draws is evaporation by nature.
    by_nature = (Code.CAP_EVAPORATION,) if setup.delivery in THROUGH_TOP_OFF else ()
    over = tuple(c for c in caps if c.L_per_day < delivered and c.code not in by_nature)
    second = inputs.second_meq_per_day(facts.now)
    stopped = (delivered * context.unsafe_meq_per_L + second) / context.net_volume_low_L
    one_dose = delivered / context.doses_per_day * context.unsafe_meq_per_L
    salinity = None
    if evaporation_L_per_day is not None:
        excess = excess_L_per_day(
            setup,
            lime_L_per_day=delivered,
            two_part_L_per_day=inputs.most_two_part_water_L(second),
            evaporation=evaporation_L_per_day,
        )
        now, volume_L = salinity_now(facts).value, setup.net_volume_L
        salinity = Span(*(dilution_PSU_per_day(now, each, volume_L) for each in reversed(excess)))
    net = net_change_meq_per_L_per_day
    return SettingConsequence(
        limewater_set=quantity(shown, "L/day"),
        delivered=quantity(delivered, "L/day"),
        net_change=None if net is None else estimate(net, "meq/L/day"),
        rise_if_stopped=quantity(stopped, "meq/L/day"),
        dose_rise=quantity(one_dose / context.net_volume_low_L, "meq/L"),
        salinity_change=None if salinity is None else estimate(salinity, "PSU/day"),
        over=over,
        reasons=_reasons(
            over=over,
            delivered=delivered,
            net=net,
            stopped=stopped,
            salinity=salinity,
            evaporation=evaporation_L_per_day,
        ),
    )


def _reasons(
    *,
    over: tuple[CapValue, ...],
    delivered: float,
    net: Span | None,
    stopped: float,
    salinity: Span | None,
    evaporation: Span | None,
) -> tuple[Reason, ...]:
    found = [
        reason(Code.SETTING_ABOVE_CAP, delivered_L_per_day=delivered, cap_L_per_day=cap.L_per_day)
        for cap in over[:1]
    ]
    if net is not None:
        numbers = {"net_low_meq_per_L_per_day": net.low, "net_high_meq_per_L_per_day": net.high}
        found.append(reason(Code.SETTING_NET_CHANGE, **numbers))
    if delivered > 0.0:
        found.append(reason(Code.IF_STOPPED_EATING, rise_meq_per_L_per_day=stopped))
    if salinity is not None and evaporation is not None and salinity.low < 0.0:
        found.append(
            reason(
                Code.SALINITY_FALLS,
                delivered_L_per_day=delivered,
                evaporation_low_L_per_day=evaporation.low,
                salinity_fall_PSU_per_day=-salinity.low,
            )
        )
    return tuple(found)
