"""Every cap of the engine has a name on the Plan page."""

from engine.caps import CAPS
from mobile.texts.plan_page import TEXTS


def test_every_cap_has_a_name() -> None:
    assert {cap.code for cap in CAPS if cap.code not in TEXTS} == set()
