"""How much is tried of what is drawn at random: a quarter in a run of everything, all in the deep run."""

from __future__ import annotations

import os

DEEP = os.environ.get("WIRECALC_DEEP") == "1"


def tried(count: int) -> int:
    """So many of `count` examples, plans or wires: all with `WIRECALC_DEEP=1`, else a quarter, but five at least."""
    return count if DEEP else min(count, max(count // 4, 5))
