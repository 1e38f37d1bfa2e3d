"""The size of a conductor as typed and as shown."""

import math

import numpy as np
import pytest

from tests.support.typed import OTHER
from wirecalc.errors import InputError
from wirecalc.units import (
    read_standard_size,
    show_standard_size,
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        *(
            (text, ("AWG", 12))
            for text in ("12 AWG", "12awg", "AWG 12", "AWG12", "12 ga", "12 gauge", "12 Ga.", "12/2", "12/4 AWG")
        ),
        *((text, ("AWG", 12)) for text in ("#12", "# 12", "#12 AWG", "12", " 12\u00a0AWG ", 12, np.int64(12), 12.0)),
        *((text, ("AWG", 0)) for text in ("1/0", "1/0 AWG", "0", "0 AWG", "AWG 1/0", "1/0ga")),
        *((text, ("AWG", -1)) for text in ("2/0", "00", -1)),
        *((text, ("AWG", -3)) for text in ("4/0", "0000", "4/0 AWG")),
        *((text, ("AWG", 13.5)) for text in ("13.5 AWG", "AWG 13,5")),
        ("40", ("AWG", 40)),
        *((text, ("mm2", 4)) for text in ("4 mm2", "4 mm²", "4mm^2", "4 sq mm", "4 MM2")),
        ("2,5 mm2", ("mm2", 2.5)),
        ("0.75 mm2", ("mm2", 0.75)),
        ("0.07 mm2", ("mm2", 0.07)),
        ("500 mm2", ("mm2", 500)),
        (OTHER.Quantity(4, "mm^2"), ("mm2", 4)),
    ],
)
def test_sizes_accepted(text, expected):
    assert read_standard_size(text) == expected  # exactly: sizes are looked up in tables


def test_size_in_thousand_circular_mils():
    # A circular mil is the area of a circle 0.001 in across: the definition (from memory), computed.
    system, area_mm2 = read_standard_size("250 kcmil")
    assert system == "mm2"
    assert area_mm2 == pytest.approx(250e3 * math.pi / 4 * 0.0254**2, rel=1e-14)


@pytest.mark.parametrize(
    ("entry", "part"),
    [
        ("0.75", "write 0.75 mm2 (area) or 0.75 AWG (gauge)"),
        ("2,5", "write 2.5 mm2 (area) or 2.5 AWG (gauge)"),
        (2.5, "write 2.5 mm2 (area) or 2.5 AWG (gauge)"),
        ("50", "as in 50 mm2"),
        ("41 AWG", "allowed: 4/0 to 40 AWG, or 0.01 to 500 mm²"),
        ("5/0", "allowed: 4/0 to 40 AWG"),
        ("00000", "allowed: 4/0 to 40 AWG"),
        (-4, "allowed: 4/0 to 40 AWG"),
        ("0.009 mm2", "Write a size in that range"),
        ("501 mm2", "Write a size in that range"),
        ("-4 mm2", "Write a size in that range"),
        ("4 mm", "“mm” is a length, not a size: write 12 AWG, 1/0 AWG or 4 mm2"),
        ("-1", "“-1” has no unit"),
        ("½ AWG", "no fraction but 1/0 to 4/0"),
        ("0/0", "a fraction or two numbers"),
        ("12,500 AWG", "can mean 12.5 or 12500"),
        ("1.2.3 AWG", "separators"),
        ("", "Nothing is entered"),
        ("abc", "“abc” is no number"),
        ("2x1.5 mm2", "Write 1.5 mm2 here, and 2 where conductors side by side are asked for"),
        ("18 AWG CCA", "Write 18 AWG here, and choose CCA where the metal is asked for"),
        ("12 AWG 14 AWG", "write 12 AWG"),
        (None, "Write 12 AWG"),
        (True, "Write 12 AWG"),
        (math.nan, "too large or is none"),
        (OTHER.Quantity(4, "mm"), "no single size"),
        ("1" * 10_000, "10000 characters"),
    ],
)
def test_sizes_refused_with_the_reason(entry, part):
    with pytest.raises(InputError) as caught:
        read_standard_size(entry, "Conductor")
    assert caught.value.field == "Conductor"
    assert part in str(caught.value)


@pytest.mark.parametrize(
    ("system", "number", "expected"),
    [
        ("AWG", 12.0, "12 AWG"),
        ("AWG", 1, "1 AWG"),
        ("AWG", 0.0, "1/0 AWG"),
        ("AWG", -3.0, "4/0 AWG"),
        ("AWG", 13.5, "13.5 AWG"),
        ("AWG", 11.9999, "12 AWG"),
        ("AWG", -0.5, "between 1/0 and 2/0 AWG"),
        ("AWG", math.nan, "—"),
        ("mm2", 0.75, "0.75 mm²"),
        ("mm2", math.nan, "—"),
    ],
)
def test_sizes_shown(system, number, expected):
    assert show_standard_size(system, number) == expected


def test_a_size_system_must_be_known():
    with pytest.raises(InputError, match="AWG or mm2"):
        show_standard_size("SWG", 12)


@pytest.mark.parametrize("number", range(-3, 41))
def test_a_shown_gauge_is_read_back(number):
    assert read_standard_size(show_standard_size("AWG", number)) == ("AWG", number)
