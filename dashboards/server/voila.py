"""What Voilà reads as its settings. It goes on without a file that fails: so whatever fails here ends the start.

Keep it this short: a fault in this file itself is the one that it cannot catch. The settings are in settings.py.
"""

import sys

try:
    from pathlib import Path

    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))
    from dashboards.server import settings

    settings.put_into(get_config())  # type: ignore[name-defined]  # noqa: F821  (traitlets puts it there)
except BaseException as fault:  # an Exception would be noted, and the server started all the same
    raise SystemExit(f"Error: not started, the server's settings cannot be used: {fault!r}") from None
