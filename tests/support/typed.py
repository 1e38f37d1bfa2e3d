"""Every kind of quantity and every spelling of its units, and the refusal of an entry."""

from typing import Any

import pint
import pytest
from hypothesis import settings

from wirecalc.errors import InputError
from wirecalc.units import (
    AREA,
    CAPACITANCE,
    COUNT,
    CURRENT,
    FREQUENCY,
    INDUCTANCE,
    LENGTH,
    LEVEL,
    MASS,
    NUMBER,
    POWER,
    RATIO,
    RESISTANCE,
    TEMPERATURE,
    VOLTAGE,
    QuantityKind,
    read,
)

KINDS = [
    LENGTH, AREA, POWER, RESISTANCE, VOLTAGE, CURRENT, TEMPERATURE, FREQUENCY, INDUCTANCE, CAPACITANCE, MASS,
    RATIO, LEVEL, NUMBER, COUNT,
]  # fmt: skip
fixed = settings(derandomize=True, deadline=None)  # no deadline: the first read loads pint
SPELLINGS = [(kind, spelling) for kind in KINDS for spelling in kind.spellings]

OTHER: pint.UnitRegistry[float] = pint.UnitRegistry()
OTHER.define("cubit = 0.5 m")


def refusal(entry: object, kind: QuantityKind, **limits: Any) -> InputError:
    with pytest.raises(InputError) as caught:
        read(entry, "Entry", kind, **limits)
    assert caught.value.field == "Entry"
    return caught.value
