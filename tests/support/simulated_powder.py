"""Vessels and shelves whose truth is known: drawn from the errors that the engine claims.

Assay, moisture, sludge, scale, pump, solubility, strength and carbonate are drawn once a charge;
the log holds only what a keeper would see.
"""

import random
from dataclasses import dataclass, field, replace
from datetime import timedelta

from engine.decision import decide
from engine.demand.facts import gather
from engine.demand.inputs import recorded_inputs
from engine.demand.strength import strength_now
from engine.limewater import saturated_alkalinity_meq_per_L
from engine.records import Record
from engine.stock.powder import Powder, powder_now
from engine.stock.shelf import Shelf as ShelfNow
from engine.stock.shelf import shelf_now
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog

MEQ_PER_G = 2000.0 / 74.0927
Z90 = 1.645


@dataclass
class Vessel:
    """One charge of a stirred vessel, from the recharge until it runs weak."""

    seed: int
    records: list[Record] = field(default_factory=list)
    usable_g: float = 0.0
    use_g_per_day: float = 0.0
    parts_g: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        draw = random.Random(self.seed)
        litres = draw.uniform(2.0, 8.0)
        saturated = saturated_alkalinity_meq_per_L(24.0)
        fortnight = 14.0 * litres * saturated / MEQ_PER_G
        charged = draw.uniform(0.7, 1.4) * fortnight
        log = KeeperLog().setup(200.0).pump(200.0, litres)
        pump = draw.gauss(1.0, 0.10 / Z90)
        if draw.random() < 0.5:  # a pump check narrows what the pump may give
            log.pump_check(30.0, 100.0, 100.0 * pump * draw.gauss(1.0, 0.03 / Z90))
        old_g = 0.0
        how = draw.random()
        if how < 0.3:
            log.add_emptied(0.5)
        elif how < 0.8:  # what the charge before had left may be lime in part
            before = draw.uniform(0.5, 1.3) * fortnight
            log.recharge(14.0, before)
            left = max(0.0, before * 0.87 - fortnight * pump)
            old_g = left * draw.uniform(0.0, 0.3)
        log.recharge(0.0, charged)
        self._truth(draw, charged, old_g, litres * pump * saturated, emptied=how < 0.3)
        self.records = log.records
        self.days_to_weak = self.usable_g / self.use_g_per_day
        if draw.random() < 0.5:
            self._checks(draw)

    def _truth(
        self, draw: random.Random, charged: float, old_g: float, meq: float, *, emptied: bool
    ) -> None:
        weighed = charged * draw.gauss(1.0, 0.01)
        lime = weighed * draw.uniform(0.98, 1.0) * min(1.0, draw.gauss(0.95, 0.03))
        buried = lime * draw.uniform(0.05, 0.10)
        # the vessel's own 5 litres take their share first
        filling = 5.0 * 1.515 if emptied else 0.0
        solubility = draw.gauss(0.0, 1.0)
        solubility = 1.0 + solubility * (0.061 if solubility > 0.0 else 0.018)
        share = min(1.0, 1.0 - abs(draw.gauss(0.0, 0.051)))
        carbonate = draw.uniform(0.0, 0.02)
        self.share = share
        self.usable_g = lime - buried + old_g - filling
        given = meq * share * solubility / MEQ_PER_G
        self.use_g_per_day = given * (1.0 + carbonate)
        self.parts_g = {
            "lime": lime,
            "old": old_g,
            "buried": buried,
            "filling": filling,
            "given_a_day": given,
            "carbonate_a_day": given * carbonate,
        }

    def _checks(self, draw: random.Random) -> None:
        """Record a strength check about every week, as a meter would find it."""
        at = draw.uniform(1.0, 4.0)
        while at < 1.5 * self.days_to_weak:
            spent = at > self.days_to_weak
            read = (draw.uniform(0.1, 0.6) if spent else self.share) + draw.gauss(0.0, 0.03)
            log = KeeperLog()
            log.strength(-at, min(1.1, max(0.0, read)))
            self.records += [_renamed(record, len(self.records)) for record in log.records]
            at += draw.uniform(5.0, 9.0)

    def powder(self, day: float) -> Powder:
        """Return the engine's balance so many days after the recharge."""
        moment = NOW + timedelta(days=day)
        facts = gather(self.records, system=SYSTEM, now=moment)
        setup = facts.setup
        assert setup is not None
        strength = strength_now(facts, setup)
        inputs = recorded_inputs(facts, setup, strength, None)
        found = powder_now(facts, setup, inputs, strength)
        assert isinstance(found, Powder), found
        return found


class Shelf:
    """A shelf with one purchase, used by recharges of a fortnight until it is empty."""

    def __init__(self, seed: int) -> None:
        draw = random.Random(seed)
        self.lead = draw.choice((3.0, 7.0, 14.0, 21.0))
        litres = draw.uniform(2.0, 8.0)
        fortnight = 14.0 * litres * saturated_alkalinity_meq_per_L(24.0) / MEQ_PER_G
        self.powder_g = draw.uniform(3.0, 10.0) * fortnight
        # what a recharge really takes: scale, powder and the keeper's rounding
        self.takes = [fortnight * draw.uniform(1.0, 1.25) for _ in range(40)]
        self.litres = litres

    def records(self, day: float) -> list[Record]:
        """Return the log of so many days after the purchase."""
        log = KeeperLog(now=NOW + timedelta(days=day))
        log.setup(day + 60.0, powder_lead_days=self.lead).pump(day + 60.0, self.litres)
        log.stock(day, self.powder_g, counted=False)
        left = self.powder_g
        for number, grams in enumerate(self.takes):
            if number * 14.0 > day or left < grams:
                break
            log.recharge(day - number * 14.0, grams)
            left -= grams
        return log.records

    def day_empty(self) -> float:
        """Return the day on which a recharge finds too little on the shelf."""
        left = self.powder_g
        for number, grams in enumerate(self.takes):
            if left < grams:
                return number * 14.0
            left -= grams
        raise AssertionError("never empty")

    def warned_days_ahead(self) -> float:
        """Return the days from the first call to order until the shelf fails a recharge."""
        day, empty = 0.0, self.day_empty()
        while day < empty:
            moment = NOW + timedelta(days=day)
            records = self.records(day)
            decision = decide(records, system=SYSTEM, now=moment)
            facts = gather(records, system=SYSTEM, now=moment)
            found = shelf_now(decision, facts, None)
            assert isinstance(found, ShelfNow), found
            assert found.reorder_days is not None
            if found.reorder_days <= 0.0:
                return empty - day
            day += 1.0
        return 0.0


def _renamed(record: Record, number: int) -> Record:
    return replace(record, id=f"{SYSTEM}:{number + 1}")
