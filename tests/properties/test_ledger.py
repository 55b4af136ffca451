"""A ledger that grew is the ledger read anew, whatever comes in whatever order."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.decision import decide
from engine.log import ledger as ledgers
from engine.log.ledger import ledger_of, read_ledger
from engine.log.reading import effective, setup_in_force
from engine.records import Amendment, Record
from tests.support.keeper_log import NOW, SYSTEM, KeeperLog, kettle

KINDS = ("test", "pH", "refill", "setting", "recharge", "setup", "withdrawal", "amendment", "late")


def added(log: KeeperLog, kind: str, days_ago: float, pick: int) -> Record:
    """Return the record that was added to a log."""
    old = log.records[pick % len(log.records)]
    if kind == "test":
        log.test(days_ago, 7.5 + days_ago / 20.0)
    elif kind == "pH":
        log.read(days_ago, pH_nbs=8.2, total_alkalinity=2.9)
    elif kind == "refill":
        log.refill(days_ago, 6.0 + days_ago / 10.0)
    elif kind == "setting":
        log.pump(days_ago, 4.0 + days_ago / 20.0)
    elif kind == "recharge":
        log.recharge(days_ago, 120.0)
    elif kind == "setup":
        log.setup(days_ago, net_volume_L=430.0 + days_ago)
    elif kind == "withdrawal":
        log.add(Amendment, days_ago, supersedes=old.id, replacement=None)
    elif kind == "amendment":
        new = None if isinstance(old, Amendment) else replace(old, at=old.at - timedelta(hours=1))
        log.add(Amendment, days_ago, supersedes=old.id, replacement=new)
    else:  # an amendment of what arrives only after it
        log.add(Amendment, days_ago, supersedes=f"other:{pick}", replacement=None)
    return log.records[-1]


steps = st.lists(
    st.tuples(
        st.sampled_from(KINDS),
        st.floats(-2.0, 30.0),
        st.integers(0, 50),
        st.sampled_from(("own", "other")),
    ),
    min_size=1,
    max_size=12,
)


@given(steps, st.randoms(use_true_random=False))
def test_a_ledger_that_grew_is_the_ledger_read_anew(taken, rng):
    log = kettle().pump_check(30.0, 100.0, 96.0).recharge(20.0, 150.0)
    shown = tuple(log.records)
    for number, (kind, days_ago, pick, device) in enumerate(taken):
        ledger_of(shown)
        record = added(log, kind, days_ago, pick)
        if device == "other":
            log.records[-1] = record = replace(record, id=f"other:{number}")
        place = rng.randrange(len(shown) + 1)
        shown = (*shown[:place], record, *shown[place:])
        grown = ledger_of(shown)
        anew = read_ledger(shown)
        assert grown == anew
        assert grown.standing == effective(shown)
        assert grown.setup == setup_in_force(shown)


def test_a_ledger_that_grew_from_nothing_is_the_ledger_read_anew():
    ledgers.forget()
    log = KeeperLog()
    for add in (
        lambda: log.read(3.0, pH_nbs=8.2),
        lambda: log.refill(3.0, 6.0),
        lambda: log.test(2.0, 8.0),
        lambda: log.setup(2.0),
        lambda: log.add(Amendment, 1.0, supersedes=log.records[0].id, replacement=None),
        lambda: log.test(1.0, 8.1),
    ):
        ledger_of(tuple(log.records))
        add()
        assert ledger_of(tuple(log.records)) == read_ledger(tuple(log.records))


@given(steps)
@settings(deadline=None)  # the first decision solves what later ones remember
def test_a_decision_on_a_log_that_grew_is_that_on_the_log_read_anew(taken):
    log = kettle().refill(8.0, 30.0).refill(4.0, 28.0).strength(2.0, 0.95)
    for kind, days_ago, pick, _ in taken:
        decide(tuple(log.records), system=SYSTEM, now=NOW)
        added(log, kind, days_ago, pick)
    grown = decide(tuple(log.records), system=SYSTEM, now=NOW)
    ledgers.forget()
    assert decide(list(log.records), system=SYSTEM, now=NOW) == grown
