"""The formulas of a device on the supply."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc.circuits import device
from wirecalc.runs.device import DeviceRun
from wirecalc.units_taken import takes_units
from wirecalc.wire import fuse
from wirecalc.wire.fuse_families import start_share
from wirecalc.workings.circuit import ALONE, DIVIDER, DROP, OHM, circuit_rules
from wirecalc.workings.formula import Book, Given, Rule, Symbols, field_of

_POWER = "A load of constant power behind a resistance, the stable root of v² − V v + P Zw = 0"
_START = "A standing motor, a cold filament or an empty capacitor is a resistance for that moment"


@takes_units
@circuit_rules.register
def rules(run: DeviceRun, ohm: float, measures: Mapping[str, float]) -> tuple[Book, Symbols]:
    """What the loop's resistance does to a device; see `wirecalc.workings.circuit.circuit_rules`.

    Parameters
    ----------
    run : DeviceRun
        Source and load.
    ohm : float
        Of the whole loop. [ohm]
    measures : mapping of str to float
        The run's measures as they were computed, each in its unit; not used here.

    Returns
    -------
    tuple of (mapping, mapping)
        Inputs and formulas by symbol; and the symbol of each measure.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    reason = device.powered(
        run.supply_v, ohm, run.rated_a, behaviour=run.behaviour, nominal_v=run.nominal_v
    ).reason  # fmt: skip
    book = DROP | {
        "V": field_of("supply voltage where the wire starts", run, "supply_v", "V"),
        "In": field_of("draw as it is stated", run, "rated_a", "A"),
        "Vn": Given("voltage that the draw is stated at", run.nominal_v, "V"),
        "Pd": Rule("Power that it draws", "In*Vn", "W", "Power is volts times amperes"),
        "Rd": Rule("Resistance that the draw amounts to", "Vn/In", "Ω", OHM),
        "Pmax": Rule("The most that gets through the wire", "V**2/(4*Zw)", "W", _POWER),
        **_behaviour(run.behaviour, reason),
        **_start(run),
    }
    return book, ALONE | {
        "inrush_a": "Is", "inrush_s": "ts", "draw_a": "Ix", "quick_bound_v": "Vq", "device_w": "Pd", "most_w": "Pmax",
    }  # fmt: skip


def _behaviour(behaviour: device.Behaviour, reason: str) -> Book:
    """Voltage and current of the running device, and its current with no wire in the way."""
    if behaviour == "constant power":
        return {
            "VL": Rule("Voltage at the device", "V/2*(1+sqrt(1-4*Zw*Pd/V**2))", "V", _POWER, reason),
            "I": Rule("Current", "Pd/VL", "A", "Power over voltage", reason),
            "I0": Rule("Current with a wire of no resistance", "Pd/V", "A", "Power over voltage"),
        }
    if behaviour == "resistance":
        return {
            "VL": Rule("Voltage at the device", "V*Rd/(Rd+Zw)", "V", DIVIDER),
            "I": Rule("Current", "VL/Rd", "A", OHM),
            "I0": Rule("Current with a wire of no resistance", "V/Rd", "A", OHM),
        }
    constant = "The stated draw at any voltage"
    return {
        "I": Rule("Current", "In", "A", constant, reason),
        "VL": Rule("Voltage at the device", "V-I*Zw", "V", "Kirchhoff's voltage law", reason),
        "I0": Rule("Current with a wire of no resistance", "In", "A", constant),
    }


def _start(run: DeviceRun) -> Book:
    """Start current, and the steady draw that a fuse is chosen for."""
    book: Book = {
        "ts": Given("how long the start lasts", run.start_s, "s"),
        "gs": Given("what a blade fuse carries for so long, over its rating", start_share(run.start_s), "",
                     "gates of ISO 8820-3, data/fuse_gates.csv", "memory"),
        "kf": Given("largest steady draw over a fuse's rating", fuse.LOADING, "", "common practice, no source",
                     "common practice"),
        "Is": Rule("Start current", "I", "A", "It starts as it runs"),
        "Fs": Rule("Least fuse that stands the start", "Is/gs", "A", "The fuse's shortest time to open is longer"),
        "Ix": Rule("Draw that the fuse is chosen for", "max(I,kf*Fs)", "A", "Of two rules the one that asks for more"),
    }  # fmt: skip
    if run.inrush_ratio > 1:
        book["ks"] = field_of("start current over stated draw", run, "inrush_ratio")
        book["Is"] = Rule("Start current", "max(I,V/(Rd/ks+Zw))", "A", _START)
    return book
