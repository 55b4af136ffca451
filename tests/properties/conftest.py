"""No property is judged by the clock: machines here are noisy."""

from hypothesis import settings

settings.register_profile("sumpside", deadline=None)
settings.load_profile("sumpside")
