"""The tests; hypothesis with fixed seeds, and no time limit an example as the machine may be busy."""

import sys

from hypothesis import settings

sys.modules["rfc3987_syntax"] = None  # type: ignore[assignment]  # as start.py says of its QUICK: over a second a process
settings.register_profile("wirecalc", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("wirecalc")
