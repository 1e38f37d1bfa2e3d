"""The lessons' pictures: each a pure function from what the sliders say to traces, layout and a sentence."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from dashboards.panels.controls import fields
from dashboards.panels.controls.chart import BELOW, Picture, Spec
from dashboards.panels.controls.colours import DASHES, INK, PATTERNS, SERIES
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.sizes import AWG_STOPS, METRIC_STOPS, Size
from wirecalc import units
from wirecalc.circuits import line_level, relay
from wirecalc.circuits.circuit import solve_loop, without_wire_w
from wirecalc.circuits.source import Amplifier
from wirecalc.runs import words
from wirecalc.wire import ampacity
from wirecalc.wire.cable import LONGEST_M, loop_ohm
from wirecalc.wire.conductor import Conductor, at_temperature, awg, conductor
from wirecalc.wire.fuse import choose_fuse
from wirecalc.wire.insulation import INSULATIONS, insulated

Shown = tuple[Picture, str]

_STOPS = {
    "AWG": tuple(size for size in AWG_STOPS if 4 <= size[1] <= 24),
    "mm2": tuple(size for size in METRIC_STOPS if size[1] <= 25),
}
_SINGLES = {
    "AWG": tuple(conductor(*size) for size in AWG_STOPS),
    "mm2": tuple(conductor(*size) for size in METRIC_STOPS),
}
_AS_WELL = 1.03  # two of 0.75 mm² are one of 1.5, though their tabled resistances differ by 2 %
_METRES = tuple(float(n) for n in range(1, 13))


def line(x: Any, y: Any, name: str, place: int = 0, width: float = 3) -> Spec:
    """A curve, in the colour and dash of its place among the shown ones."""
    return {
        "type": "scatter",
        "mode": "lines",
        "x": np.asarray(x, float),
        "y": np.asarray(y, float),
        "name": name,
        "line": {"color": SERIES[place], "width": width, "dash": DASHES[place]},
    }


def dot(x: float, y: float, place: int = 0) -> Spec:
    """A dot on a curve, where the sliders stand."""
    return {
        "type": "scatter",
        "mode": "markers",
        "x": [x],
        "y": [y],
        "name": "here",
        "showlegend": False,
        "hoverinfo": "skip",
        "marker": {"color": SERIES[place], "size": 13, "line": {"color": INK, "width": 1}},
    }


def layout(title: str, x: str, y: str, **more: Any) -> Spec:
    """Title, names of both axes, and a legend beneath."""
    base: dict[str, Any] = {
        "title": {"text": title},
        "meta": title,
        "xaxis": {"title": {"text": x}, "hoverformat": ",.3~r"},
        "yaxis": {"title": {"text": y}, "rangemode": "tozero", "hoverformat": ",.3~r"},
        "showlegend": True,
        "legend": BELOW | {"traceorder": "normal"},  # as drawn, not as stacked
    }
    return base | more


def way_back(length_m: float, size: Size) -> Shown:
    """Both ways of a run."""
    wire = conductor(*size)
    one_way, both = (1e3 * float(loop_ohm(wire.ohm_per_m_20c, length_m, ways=ways)) for ways in (1, 2))
    bars = [
        {"type": "bar", "x": ["one conductor", "the loop"], "y": [one_way, one_way], "name": "out",
         "marker": {"color": SERIES[0]}},
        {"type": "bar", "x": ["one conductor", "the loop"], "y": [0.0, both - one_way], "name": "back",
         "marker": {"color": SERIES[1], "pattern": {"shape": PATTERNS[1]}}},
    ]  # fmt: skip
    back, loop = _ohm((both - one_way) / 1e3), _ohm(both / 1e3)
    sentence = f"Out {_ohm(one_way / 1e3)}, back {back}: the loop of {length_m:.3g} m has {loop}."
    return (bars, layout("Resistance out and back", "", "Resistance (mΩ)", barmode="stack")), sentence


def decibels(loop: float, load_ohm: float) -> Shown:
    """Level lost against the loop's resistance."""
    x = np.linspace(0, 1, 81)
    speakers = sorted({2.0, 4.0, 8.0, load_ohm})
    traces = [
        line(x, -solve_loop(1.0, 0.0, x, ohm).level_db, f"{ohm:g} Ω speaker", place, 5 if ohm == load_ohm else 2.5)
        for place, ohm in enumerate(speakers)
    ]
    here = solve_loop(1.0, 0.0, loop, load_ohm)  # of 1 V with no wire
    loss_db = -float(here.level_db)
    watts = 100 / float(without_wire_w(1.0, loss_db))
    sentence = (
        f"{100 * float(here.load_v):.1f} % of the volts and {watts:.1f} % of the watts arrive:"
        f" {words.decibels(loss_db)} dB less. {words.heard(loss_db)}"
    )
    return (
        [*traces, dot(loop, loss_db, speakers.index(load_ohm))],
        layout("What the loop costs", "Loop resistance (Ω)", "Level lost (dB)"),
    ), sentence


def parallel(count: int, size: Size) -> Shown:
    """Conductors side by side against single thicker ones."""
    wire, counts = conductor(*size), np.arange(1, 9)
    each = 1e3 * loop_ohm(wire.ohm_per_m_20c, 1.0, parallel=counts, ways=1)
    looks = {
        "color": [SERIES[0 if n == count else 5] for n in counts],
        "pattern": {"shape": ["/" if n == count else "" for n in counts]},
    }
    bars = {"type": "bar", "x": counts, "y": each, "name": f"{wire.label} side by side", "marker": looks}
    told = f"{count} × {wire.label}: {each[count - 1]:.3g} mΩ in each metre, one way."
    singles = _SINGLES["AWG" if size[0] == "AWG" else "mm2"]
    picture = layout("Side by side", "Conductors each way", "One way, each metre (mΩ)")
    single = next((thicker for thicker in singles if 1e3 * thicker.ohm_per_m_20c <= each[count - 1] * _AS_WELL), None)
    if single is None:
        return ([bars], picture), f"{told} Not even one {singles[-1].label} does as well."
    same = 1e3 * single.ohm_per_m_20c
    more = 100 * (same / each[count - 1] - 1)
    sentence = f"{told} The thinnest single size that does as well: {single.label} with {same:.3g} mΩ in each metre"
    sentence += f", {more:.0f} % more." if more >= 0.5 else "."
    return ([bars, line([0.5, 8.5], [same, same], f"one {single.label}", 1)], picture), sentence


def temperature(celsius: float, length_m: float) -> Shown:
    """Loop against temperature."""
    wire = awg(16)
    x = np.linspace(-20, 105, 51)
    y, here, cold = (1e3 * loop_ohm(at_temperature(wire.ohm_per_m_20c, warm), length_m) for warm in (x, celsius, 20.0))
    gain = 100 * (float(here) / float(cold) - 1)
    change = f"{abs(gain):.0f} % {'more' if gain >= 0 else 'less'} than at 20 °C"
    sentence = f"At {celsius:g} °C the loop has {_ohm(float(here) / 1e3)}, {change}."
    picture = layout(f"{length_m:.3g} m of {wire.label}", "Copper temperature (°C)", "Loop resistance (mΩ)")
    return ([line(x, y, "loop"), dot(celsius, float(here))], picture), sentence


def damping(factor: float, length_m: float) -> Shown:
    """Damping factor against length for several sizes."""
    x = np.linspace(0.25, 12, 95)
    load_ohm = 4.0
    source_ohm = Amplifier(power_w=100, rated_ohm=load_ohm, damping_factor=factor).output_ohm

    def left(wire: Conductor, at_m: Any) -> Any:
        return solve_loop(1.0, source_ohm, loop_ohm(wire.ohm_per_m_20c, at_m), load_ohm).damping_factor

    traces = [line(x, left(awg(size), x), awg(size).label, place) for place, size in enumerate((18, 14, 10, 6))]
    here = float(left(awg(14), length_m))
    sentence = f"{factor:g} on the amplifier's box, {here:.0f} left at a 4 Ω speaker on {length_m:.3g} m of 14 AWG."
    return (
        [*traces, dot(length_m, here, 1)],
        layout("What is left of damping", "Run length, one way (m)", "Damping factor"),
    ), sentence


def bundle(loaded: int, air_c: float) -> Shown:
    """What a wire may carry among others."""
    sizes, counts = (16, 12), np.arange(1, 13)
    wires = insulated([awg(size) for size in sizes], INSULATIONS["pvc_80"])
    allowed = ampacity.allowable(wires, air_c, counts[:, np.newaxis]).current_a
    traces = [line(counts, allowed[:, place], awg(size).label, place) for place, size in enumerate(sizes)]
    may_a = float(allowed[loaded - 1, 1])
    fuses = choose_fuse(1.0, may_a).draw_at_most_a if may_a else 0.0
    sentence = f"12 AWG among {loaded} loaded wires in air of {air_c:g} °C may carry {may_a:.1f} A." + (
        f" The largest draw that it can be fused for is {fuses:g} A." if fuses else " No standard fuse protects it."
    )
    title = "PVC vehicle wire in a bundle"
    return ([*traces, dot(loaded, may_a, 1)], layout(title, "Loaded wires together", "May carry (A)")), sentence


def pull_in(coil_c: float, length_m: float) -> Shown:
    """Volts at a coil against volts that it needs."""
    coil = relay.Relay(coil_ohm=20.0, pull_in_v=7.5, drop_out_v=1.2)  # invented, a heavy relay
    loop = loop_ohm(awg(24).ohm_per_m_20c, length_m)
    x = np.linspace(-20, 120, 71)
    cold, here = (relay.pull(coil, loop, warm) for warm in (x, coil_c))
    traces = [
        line(x, cold.coil_v, "volts at the coil"),
        line(x, cold.pull_in_v, "volts it needs", 1),
    ]
    ends = "it pulls in" if here.pulls_in else "it stays open"
    sentence = (
        f"At {coil_c:g} °C the coil needs {float(here.pull_in_v):.1f} V and gets {float(here.coil_v):.1f} V: {ends}."
        f" The supply is {relay.LEAST_SUPPLY_V:g} V, the lowest for a 12 V vehicle."
    )
    marks = [dot(coil_c, float(here.coil_v)), dot(coil_c, float(here.pull_in_v), 1)]
    picture = layout(f"A 20 Ω coil on {length_m:.3g} m of 24 AWG", "Coil temperature (°C)", "Voltage (V)")
    return ([*traces, *marks], picture), sentence


def treble(length_m: float, source_ohm: float) -> Shown:
    """Level over frequency at the end of a line cable."""
    x = np.geomspace(100, 40e3, 90)
    farad = line_level.CABLE_FARAD_PER_M["shielded"]

    def level_db(hz: Any, ohm: float = source_ohm) -> Any:
        return line_level.low_pass(ohm, 20e3, farad, length_m, hz).treble_db

    loss_db = -float(level_db(line_level.TOP_HZ))
    corner = units.show(float(line_level.low_pass(source_ohm, 20e3, farad, length_m).corner_hz), units.FREQUENCY)
    sentence = f"At 20 kHz {words.decibels(loss_db)} dB are lost, at {corner} 3 dB. {words.heard(loss_db)}"
    traces = [line(x, level_db(x), "this cable"), dot(line_level.TOP_HZ, -loss_db)]
    picture = layout(f"{length_m:.3g} m of shielded cable into 20 kΩ", "Frequency (Hz)", "Level against 1 kHz (dB)")
    return (traces, {**picture,
        "xaxis": picture["xaxis"] | {"type": "log", "tickvals": [100, 1000, 10000], "ticktext": ["100", "1k", "10k"]},
        "yaxis": picture["yaxis"] | {"rangemode": "normal", "range": [-6, 0.5]},
    }), sentence  # fmt: skip


def _ohm(value: float) -> str:
    return units.show(value, units.RESISTANCE)


# --- what the sliders are -------------------------------------------------------------------------------------


def _length(start: float, most: float = LONGEST_M) -> Entry[Any]:
    return fields.LengthEntry(
        "Length, one way", start, low=0, high=most, above=True, stops=_METRES, foot_stops=fields.FOOT_STOPS
    )  # fmt: skip


def _celsius(label: str, start: float, high: float) -> Entry[Any]:
    stops = tuple(float(n) for n in range(-20, int(high) + 1, 5))
    return fields.quantity(label, units.TEMPERATURE, start, "°C", low=-20, high=high, stops=stops)


def _ohms(label: str, start: float, high: float, stops: tuple[float, ...]) -> Entry[Any]:
    return fields.quantity(label, units.RESISTANCE, start, "ohm", low=0, high=high, above=True, stops=stops)


def _count(label: str, start: int, most: int) -> Entry[Any]:
    return Entry(label, lambda text: int(units.read(text, label, units.COUNT, low=1, high=most)), str, start,
                 stops=range(1, most + 1))  # fmt: skip


def _size(start: int) -> Entry[Any]:
    def read(text: str) -> Size:
        size = units.read_standard_size(text, "Size")
        conductor(*size)  # a metric size must be in the table
        return size

    def place(size: Size) -> float:
        return float(-np.log(conductor(*size).area_m2))

    return Entry(
        "Size",
        read,
        lambda size: units.show_standard_size(*size),
        ("AWG", float(start)),
        position=place,
        stops_for=lambda size: _STOPS["AWG" if size[0] == "AWG" else "mm2"],
    )


def _factor() -> Entry[Any]:
    def read(text: str) -> float:
        return units.read(text, "Amplifier's damping factor", units.NUMBER, low=1, high=100_000)

    stops = (20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
    return Entry("Amplifier's damping factor", read, lambda value: f"{value:g}", 200.0, stops=stops, position=np.log)


_LOOPS = tuple(step / 20 for step in range(1, 21))
_SOURCES = (100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10000.0)

Lesson = tuple[Callable[[], dict[str, Entry[Any]]], Callable[[Any, Any], Shown]]

PICTURES: dict[str, Lesson] = {
    "return": (lambda: {"length": _length(5.0), "size": _size(16)}, way_back),
    "decibels": (lambda: {"loop": _ohms("Loop resistance", 0.15, 1.0, _LOOPS),
                          "speaker": _ohms("Speaker", 4.0, 16.0, (2.0, 3.0, 4.0, 6.0, 8.0))}, decibels),
    "parallel": (lambda: {"count": _count("Conductors side by side", 2, 8), "size": _size(18)}, parallel),
    "temperature": (lambda: {"copper": _celsius("Copper temperature", 60.0, 105.0), "length": _length(5.0)},
                    temperature),
    "damping": (lambda: {"factor": _factor(), "length": _length(5.0, 12.0)}, damping),
    "heat": (lambda: {"loaded": _count("Loaded wires together", 4, 12),
                      "air": _celsius("Air around them", 45.0, 75.0)}, bundle),
    "relay": (lambda: {"coil": _celsius("Coil temperature", 60.0, 120.0), "length": _length(6.0)}, pull_in),
    "treble": (lambda: {"length": _length(10.0), "source": _ohms("Source impedance", 5000.0, 10e3, _SOURCES)}, treble),
}  # fmt: skip
"""By the lesson's key: what makes its two sliders, by their keys in the page's address, and its picture."""
