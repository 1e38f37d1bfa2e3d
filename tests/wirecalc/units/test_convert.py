"""The factors of pint against GNU units, and quantities that mix with the caller's own."""

import os
import subprocess
import sys

import numpy as np
import pint
import pytest

from tests.support.typed import KINDS, SPELLINGS
from wirecalc.units import (
    CAPACITANCE,
    LENGTH,
    TEMPERATURE,
    QuantityKind,
    quantity,
    read,
)
from wirecalc.units.convert import line


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_quantity_comes_back_and_mixes_with_the_callers(kind):
    made = quantity(2.0, kind)
    assert isinstance(made, pint.Quantity)
    assert made == pint.Quantity(2.0, kind.unit)
    assert read(made, "Entry", kind) == 2


def test_quantity_of_an_array():
    lengths = quantity(np.array([1.0, 2.0]), LENGTH) + pint.Quantity(1, "m")
    np.testing.assert_allclose(lengths.m_as("cm"), [200, 300])


# What GNU units calls a spelling, where it does not know it or knows something else by it.
GNU = (
    dict.fromkeys(["'", "feet"], "ft")
    | dict.fromkeys(['"', "inches"], "in")
    | {
        "MM": "mm",
        "sq mm": "mm^2",
        "mm²": "mm^2",
        "MM2": "mm^2",
        "MM²": "mm^2",
        "MM^2": "mm^2",
        "mm2": "mm^2",
    }
    | {"sq in": "in^2", "in2": "in^2", "in²": "in^2", "sq cm": "cm^2", "cm2": "cm^2", "cm²": "cm^2"}
    | {"sq m": "m^2", "m2": "m^2", "m²": "m^2", "MCM": "1000 circularmil", "cmil": "circularmil"}
    | {"R": "ohm", "kilohm": "kiloohm", "kilohms": "kiloohm", "VDC": "volt"}
    | {"Ω": "ohm", "mΩ": "milliohm", "kΩ": "kiloohm", "µH": "microhenry", "µF": "microfarad"}
    | {"%": "percent", "": "1", "dB": "1"}
    | dict.fromkeys(["°C", "degC", "C", "deg C", "degrees C", "° C", "Celsius", "degrees Celsius"], "tempC")
    | dict.fromkeys(["°F", "degF", "F", "deg F", "degrees F", "° F", "Fahrenheit", "degrees Fahrenheit"], "tempF")
)


def test_factor_of_every_spelling_against_gnu_units():
    points = [300.0, 301.0, 1000.0]  # three, so that an offset shows; none below absolute zero on any scale
    asked = ""
    for kind, spelling in SPELLINGS:
        gnu = spelling if (kind, spelling) == (CAPACITANCE, "F") else GNU.get(spelling, spelling)
        have = "{0}({1})" if gnu.startswith("temp") else "{1} {0}"
        want = {"degC": "tempC", "": "1", "dB": "1"}.get(kind.unit, kind.unit)
        asked += "".join(f"{have.format(gnu, point)}\n{want}\n" for point in points)
    answer = subprocess.run(  # not installed: an error, never a skip
        ["units", "--terse", "--output-format", "%.17g"],
        input=asked,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=os.environ | {"LC_ALL": "C.UTF-8"},
        timeout=60,
        check=True,
    ).stdout.split("\n")
    expected = iter(answer)
    for kind, spelling in SPELLINGS:
        for point in points:
            si_value = read(f"{point:g} {spelling}", "Entry", kind)
            slack = 1e-9 if kind == TEMPERATURE else 0.0  # rounded to that on purpose
            assert si_value == pytest.approx(float(next(expected)), rel=2e-15, abs=slack), (kind.name, spelling)
    assert list(expected) == [""]


def test_case_folding_never_changes_the_unit():
    for kind in KINDS:
        by_fold = {}
        for spelling, name in kind.spellings.items():
            assert by_fold.setdefault(spelling.casefold(), name) == name


@pytest.mark.parametrize("shown", [(), ((1, "m"),), ((0, "m"), (-1, "m")), ((0, "furlong"),)])
def test_a_kind_checks_itself(shown):
    with pytest.raises(ValueError, match="shown must ascend"):
        QuantityKind(name="reach", unit="m", example="1 m", spellings={"m": "meter"}, shown=shown)


def test_what_is_known_without_pint_is_as_pint_has_it():
    units = pint.UnitRegistry()
    for kind, spelling in SPELLINGS:
        name = kind.spellings[spelling]
        slope = units.Quantity(1.0, name).m_as(kind.unit) - units.Quantity(0.0, name).m_as(kind.unit)
        assert line(name, kind.unit)[0] == pytest.approx(slope, rel=1e-14), name
        zero = units.Quantity(0.0, name).m_as(kind.unit)
        assert line(name, kind.unit)[1] == pytest.approx(zero, rel=1e-14, abs=0), name
    assert line("foot", "inch") == (12.0, 0.0)
    assert line("kelvin", "kelvin") == (1.0, 0.0)
    assert line("millimeter**2", "mm^2") == (1.0, 0.0)
    assert line("millimeter**2", "m^2") == (1e-6, 0.0)
    assert line("kilogram", "kg") == (1.0, 0.0)


def test_pint_is_not_loaded_before_it_is_needed():
    """Nor by a page that says what a handout says, nor by what is typed there."""
    code = (
        "import sys; from dashboards.panels.whole_vehicle.page import WholeVehiclePanel; WholeVehiclePanel()\n"
        "from wirecalc import units\n"
        "units.read('18 ft 6 in', 'Length', units.LENGTH), units.read('20 °C', 'Air', units.TEMPERATURE)\n"
        "units.show(5.6, units.LENGTH, feet=True), units.read('80 %', 'Share', units.RATIO)\n"
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0
