"""The powder on the shelf by the records: purchases add, a count replaces, recharges take."""

from engine.demand.facts import Facts
from engine.log.ledger import merged
from engine.records import PowderStock, Recharge


def shelf_g(facts: Facts) -> float | None:
    """Return the powder on the shelf, g as weighed; None when none was ever recorded."""
    found = None
    for record in merged(facts.of(PowderStock), facts.of(Recharge)):
        if isinstance(record, PowderStock):
            found = record.powder_g if record.counted else (found or 0.0) + record.powder_g
        elif isinstance(record, Recharge) and found is not None:
            found = max(0.0, found - record.powder_g)
    return found
