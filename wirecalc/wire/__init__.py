"""A conductor and what it lies in: resistance, heat, fuse, cables of several conductors, packing."""

import sys
from importlib import import_module
from types import ModuleType
from typing import Any


class _Wire(ModuleType):
    """`wirecalc.wire("18 AWG")`: the front door's `wire` has the name of this package, which has to stay importable."""

    def __call__(self, *size: Any, **of: Any) -> Any:
        """See `wirecalc.front.wires.wire`."""
        return import_module("wirecalc.front.wires").wire(*size, **of)


sys.modules[__name__].__class__ = _Wire
