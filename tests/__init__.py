"""The tests; hypothesis with fixed seeds, and no time limit an example as the machine may be busy."""

from hypothesis import settings

settings.register_profile("wirecalc", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("wirecalc")
