"""The tests; hypothesis with fixed seeds, and no time limit an example as the machine may be busy."""

import os
import sys
from collections.abc import Iterable
from typing import TypeVar

from hypothesis import settings

Case = TypeVar("Case")
DEEP = os.environ.get("WIRECALC_DEEP") == "1"


def tried(count: int) -> int:
    """So many of `count` examples, plans or wires: all in the deep run, else a tenth, but five at least.

    Of thousands, which are drawn in one array, a quarter: shares are counted among them.
    """
    return count if DEEP else count // 4 if count >= 1000 else min(count, max(count // 10, 5))


def some_of(cases: Iterable[Case], count: int) -> list[Case]:
    """All of `cases` of one kind in the deep run; else `count` from end to end of them, the first always."""
    every = list(cases)
    if DEEP or len(every) <= count:
        return every
    return [every[round(place * (len(every) - 1) / max(count - 1, 1))] for place in range(count)]


sys.modules["rfc3987_syntax"] = None  # type: ignore[assignment]  # as start.py says of its QUICK: over a second a process
settings.register_profile("wirecalc", derandomize=True, deadline=None, max_examples=tried(50))
settings.load_profile("wirecalc")
