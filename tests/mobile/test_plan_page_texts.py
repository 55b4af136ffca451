"""Every cap of the engine has a name on the Plan page."""

from engine.caps import CAPS
from mobile.texts.plan_page import TEXTS


def test_every_cap_has_a_name() -> None:
    assert {code for code, _ in CAPS if code not in TEXTS} == set()
