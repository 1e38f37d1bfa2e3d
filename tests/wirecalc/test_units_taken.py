"""Every public parameter whose name says a unit takes quantities of that dimension, and no other, and drops nothing."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import pkgutil
import textwrap
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pint
import pytest

import wirecalc
from wirecalc.bench.identify import identify_sample
from wirecalc.bench.sample import Reading, Sample
from wirecalc.circuits.circuit import compare, solve_loop
from wirecalc.circuits.line_level import pickup
from wirecalc.circuits.loudspeaker import Driver, closed_box
from wirecalc.circuits.source import Amplifier
from wirecalc.circuits.supply import constant_power
from wirecalc.errors import InputError, check
from wirecalc.units_taken import unit_of
from wirecalc.wire.ampacity import table_a
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import awg, gauge
from wirecalc.wire.heat import surface_w_per_m

pytestmark = pytest.mark.no_cover  # they take long, and others reach the same lines

u = pint.UnitRegistry()
OTHER: Any = pint.UnitRegistry()
OTHER.define("pace = 0.75 meter")
# factors by definition: the foot and the inch are exact; the rest are prefixes of SI
UNITS: dict[str, tuple[tuple[str, float], ...]] = {
    "m": (("ft", 0.3048), ("cm", 0.01), ("inch", 0.0254)),
    "mm": (("m", 1000.0), ("inch", 25.4), ("cm", 10.0)),
    "m**2": (("mm**2", 1e-6), ("cm**2", 1e-4), ("inch**2", 0.0254**2)),
    "mm**2": (("m**2", 1e6), ("cm**2", 100.0), ("inch**2", 25.4**2)),
    "m**3": (("liter", 1e-3), ("ft**3", 0.3048**3), ("cm**3", 1e-6)),
    "ohm": (("mohm", 1e-3), ("kohm", 1e3), ("V/A", 1.0)),
    "V": (("mV", 1e-3), ("kV", 1e3), ("W/A", 1.0)),
    "A": (("mA", 1e-3), ("kA", 1e3), ("W/V", 1.0)),
    "W": (("mW", 1e-3), ("kW", 1e3), ("V*A", 1.0)),
    "Hz": (("kHz", 1e3), ("MHz", 1e6), ("1/s", 1.0)),
    "s": (("ms", 1e-3), ("min", 60.0), ("hour", 3600.0)),
    "h": (("s", 1 / 3600), ("min", 1 / 60), ("day", 24.0)),
    "H": (("mH", 1e-3), ("uH", 1e-6), ("V*s/A", 1.0)),
    "F": (("pF", 1e-12), ("uF", 1e-6), ("A*s/V", 1.0)),
    "kg": (("g", 1e-3), ("mg", 1e-6), ("lb", 0.45359237)),
    "A*h": (("mA*h", 1e-3), ("A*s", 1 / 3600), ("coulomb", 1 / 3600)),
    "dB": (("dB", 1.0), ("decibel", 1.0), ("decibels", 1.0)),
    "ohm/m": (("mohm/m", 1e-3), ("ohm/km", 1e-3), ("mohm/ft", 1e-3 / 0.3048)),
    "ohm*m": (("ohm*mm**2/m", 1e-6), ("uohm*cm", 1e-8), ("nohm*m", 1e-9)),
    "F/m": (("pF/m", 1e-12), ("nF/km", 1e-12), ("pF/ft", 1e-12 / 0.3048)),
    "H/m": (("uH/m", 1e-6), ("mH/km", 1e-6), ("nH/ft", 1e-9 / 0.3048)),
    "A/m": (("mA/m", 1e-3), ("A/ft", 1 / 0.3048), ("mA/cm", 0.1)),
    "W/(m*K)": (("mW/m/K", 1e-3), ("W/cm/K", 100.0), ("W/m/delta_degC", 1.0)),
    "J/(m*K)": (("kJ/m/K", 1e3), ("J/cm/K", 100.0), ("J/m/delta_degC", 1.0)),
    "J/(m**3*K)": (("MJ/m**3/K", 1e6), ("J/cm**3/K", 1e6), ("kJ/m**3/delta_degC", 1e3)),
    "kg/m**3": (("g/cm**3", 1e3), ("kg/liter", 1e3), ("g/m**3", 1e-3)),
    "1/K": (("1/delta_degC", 1.0), ("1/mK", 1e3), ("percent/K", 0.01)),
}


def callables() -> Iterator[tuple[str, Any, list[str]]]:
    """Public functions, methods and value objects with the parameters whose names say a unit."""
    for module in pkgutil.walk_packages(wirecalc.__path__, "wirecalc."):
        if module.name.startswith("wirecalc.units") or module.name.endswith("__main__"):
            continue
        imported = importlib.import_module(module.name)
        for name, what in vars(imported).items():
            if name.startswith("_") or getattr(what, "__module__", "") != module.name:
                continue
            for path, member in [(name, what), *_methods(name, what)]:
                if inspect.isfunction(member):
                    names = list(inspect.signature(member).parameters)
                elif inspect.isclass(member) and dataclasses.is_dataclass(member):
                    names = [field.name for field in dataclasses.fields(member) if field.init]
                else:
                    continue
                names = [each for each in names if unit_of(each)]
                if names:
                    yield f"{module.name}.{path}", member, names


def _methods(name: str, kind: Any) -> list[tuple[str, Any]]:
    if not inspect.isclass(kind) or getattr(kind, "_is_protocol", False):
        return []
    own = [(n, getattr(m, "__func__", m)) for n, m in vars(kind).items() if not n.startswith("_")]
    return [(f"{name}.{n}", m) for n, m in own if not getattr(m, "__isabstractmethod__", False)]


@cache
def checked_by_itself(function: Any) -> dict[str, str]:
    """Parameters that a function hands to `check`, and takes what that gives, before anything else: with the unit."""
    units: dict[str, str] = {}
    used: set[str] = set()
    for line in ast.parse(textwrap.dedent(inspect.getsource(function))).body[0].body:  # type: ignore[attr-defined]
        calls = [node for node in ast.walk(line) if isinstance(node, ast.Call) and ast.unparse(node.func) == "check"]
        taken = {ast.unparse(call.args[1]): ast.literal_eval(call.args[2]) for call in calls}
        kept = ast.unparse(line.targets[0]) if isinstance(line, ast.Assign) else ""
        units |= {name: unit for name, unit in taken.items() if name == kept and name not in used}
        used |= {node.id for node in ast.walk(line) if isinstance(node, ast.Name)} - set(units)
    return units


ALL = {path: (what, names) for path, what, names in callables()}


def received(what: Any, name: str, value: Any) -> Any:
    """What the body of a function, or a value object, is handed for one parameter."""
    if inspect.isclass(what):
        steps = [vars(kind)["__post_init__"] for kind in reversed(what.__mro__) if "__post_init__" in vars(kind)]
        steps = [step for step in steps if step.__code__.co_filename == "<dataclass>"]
        assert steps, "its dataclass is not that of wirecalc.units_taken"
        made = object.__new__(what)
        for field in dataclasses.fields(what):
            object.__setattr__(made, field.name, 1.0)
        object.__setattr__(made, name, value)
        for step in steps:
            type(step)(step.__code__, step.__globals__ | {"after": lambda made: None})(made)
        return getattr(made, name)
    if what.__code__.co_filename != "<takes_units>":
        units = checked_by_itself(what)
        assert name in units, "it lacks @takes_units"
        return check(name, value, units[name])
    got: dict[str, Any] = {}
    parameters = inspect.signature(what).parameters

    def body(*args: Any, **kwargs: Any) -> None:
        got.update(zip(parameters, args, strict=False), **kwargs)

    door = type(what)(what.__code__, what.__globals__ | {"function": body})
    by_place = [n for n, parameter in parameters.items() if parameter.kind is parameter.POSITIONAL_OR_KEYWORD]
    by_name = [n for n, parameter in parameters.items() if parameter.kind is parameter.KEYWORD_ONLY]
    given = dict.fromkeys([*by_place, *by_name], 1.0) | {name: value}
    door(*[given[n] for n in by_place], **{n: given[n] for n in by_name})
    return got[name]


@pytest.mark.parametrize("path", ALL)
def test_each_parameter_takes_its_units_and_refuses_others(path: str) -> None:
    what, names = ALL[path]
    for name in names:
        unit = unit_of(name)
        if unit == "degC":
            tries = [("degF", 68.0, 20.0), ("kelvin", 293.15, 20.0), ("degC", 20.0, 20.0)]
        else:
            tries = [(each, 7.0, 7.0 * factor) for each, factor in UNITS[unit]]
        for each, number, expected in tries:
            np.testing.assert_allclose(received(what, name, u.Quantity(number, each)), expected, rtol=1e-12)
        each, number, expected = tries[0]
        array = received(what, name, OTHER.Quantity(np.array([number, number]), each))
        np.testing.assert_allclose(array, [expected, expected], rtol=1e-12)
        listed = received(what, name, [OTHER.Quantity(number, each), u.Quantity(number, each)])
        np.testing.assert_allclose(listed, [expected, expected], rtol=1e-12)
        wrong = "kg" if unit != "kg" else "m"
        with pytest.raises(InputError, match=f"(?s){name}.*{'kilogram' if wrong == 'kg' else 'meter'}"):
            received(what, name, u.Quantity(3.0, wrong))
        assert received(what, name, 7.0) == 7.0


def test_there_is_something_to_try() -> None:
    assert len(ALL) > 280
    assert sum(len(names) for _, names in ALL.values()) > 600


AMPLIFIER = Amplifier(power_w=100.0, rated_ohm=4.0)
CALLS: list[tuple[Callable[..., Any], tuple[Any, ...], tuple[Any, ...]]] = [
    (lambda length: compare(AMPLIFIER, 4, [awg(16)], length).level_db, (18 * 0.3048,), (18 * u.ft,)),
    (lambda load: compare(AMPLIFIER, load, [awg(16)], 5.0).level_db, (4.0,), (OTHER.Quantity(4000, "mohm"),)),
    (loop_ohm, (13.2e-3, 5.5), (13.2 * u("mohm/m"), 550 * u.cm)),
    (lambda length: loop_ohm(0.01, length), ([3.0, 0.75],), (np.array([4, 1]) * OTHER.pace,)),
    (lambda column: loop_ohm(0.01, column), ([1.0, 2.0],), (pd.Series([100 * u.cm, 2 * u.m], dtype=object),)),
    (lambda *args: solve_loop(*args).load_w, (20.0, 0.0, 0.2, 4.0), (20 * u.V, 0 * u.ohm, 200 * u.mohm, 4 * u("V/A"))),
    (lambda *args: pickup(*args).parallel_v, (10, 1000, 4, 0.02, 0.003, 0.02),
     (10 * u.A, 1 * u.kHz, 4 * u.m, 2 * u.cm, 3 * u.mm, 20 * u.mm)),
    (lambda *args: constant_power(*args).current_a, (12.6, 0.05, 100.0), (12.6 * u.V, 50 * u.mohm, 0.1 * u.kW)),
    (gauge, (3.31e-6,), (3.31 * u.mm**2,)),
    (surface_w_per_m, (0.003, 60.0, 20.0, 0.9), (3 * u.mm, u.Quantity(140, "degF"), u.Quantity(293.15, "kelvin"), 0.9)),
    (lambda *args: table_a(*args), (8.28e-3, 105.0), (8.28 * u("mohm/m"), u.Quantity(105, "degC"))),
    (lambda parallel: loop_ohm(0.01, 5.0, parallel=parallel), (2.0,), (u.Quantity(200, "percent"),)),
]  # fmt: skip


@pytest.mark.parametrize("at", range(len(CALLS)))
def test_a_call_with_units_gives_what_it_gives_without(at: int) -> None:
    call, plain, with_units = CALLS[at]
    np.testing.assert_allclose(call(*with_units), call(*plain), rtol=1e-9)


def test_value_objects_keep_floats() -> None:
    amplifier = Amplifier(power_w=0.1 * u.kW, rated_ohm=OTHER.Quantity(4, "ohm"))
    assert amplifier == AMPLIFIER
    assert dataclasses.replace(amplifier, least_ohm=2000 * u.mohm).least_ohm == 2.0
    driver = Driver(re_ohm=3.4 * u.ohm, fs_hz=0.03 * u.kHz, qes=0.5, qms=5.0, le_henry=1 * u.mH, vas_m3=40 * u.liter)
    plain = Driver(re_ohm=3.4, fs_hz=30.0, qes=0.5, qms=5.0, le_henry=1e-3, vas_m3=0.04)
    assert closed_box(driver, 20 * u.liter).fs_hz == pytest.approx(closed_box(plain, 0.02).fs_hz)


def test_readings_of_the_bench_take_units() -> None:
    plain = {"strands": (41, 0), "strand_m": (0.254e-3, 5e-6), "temperature_c": (20.0, 3.0)}
    typed = plain | {
        "strand_m": (0.01 * u.inch, 5 * u.um),
        "temperature_c": (u.Quantity(68, "degF"), u.Quantity(3, "delta_degC")),
    }
    chances = [
        identify_sample(Sample(**{name: Reading(value=v, uncertainty=d) for name, (v, d) in each.items()})).probability
        for each in (plain, typed)
    ]
    np.testing.assert_allclose(chances[1], chances[0], rtol=1e-6)
    with pytest.raises(InputError, match="strand_m"):
        Sample(strands=Reading(value=41), strand_m=Reading(value=3 * u.kg))


@pytest.mark.parametrize(
    ("unit", "given", "told"),
    [
        ("Hz", u.Quantity(1, "rad/s"), "radian"),  # pint takes it for 1 Hz
        ("", u.Quantity(3, "dB"), "decibel"),  # and this for the number 2
        ("dB", u.Quantity(2, "dimensionless"), "dimensionless"),
        ("°C", u.Quantity(5, "delta_degC"), "delta"),
        ("Ω·sⁿ", u.Quantity(5, "ohm"), "ohm"),
        ("m", u.Quantity([1, 2], "kg"), "kilogram"),
        ("m", [1.0, u.Quantity(2, "s")], "second"),
    ],
)
def test_what_pint_would_take_in_silence_is_refused(unit: str, given: Any, told: str) -> None:
    with pytest.raises(InputError, match=f"(?s)Field.*{told}"):
        check("Field", given, unit)


def test_another_librarys_quantity_is_refused_and_not_stripped() -> None:
    class Foreign(np.ndarray):
        """As of a library that keeps a unit beside an array."""

        unit = "km"

        def to_value(self, unit: str) -> Any:
            raise AssertionError

    with pytest.raises(InputError, match=r"Run length.*Its unit is km"):
        loop_ohm(0.01, np.array([1.0, 2.0]).view(Foreign))
