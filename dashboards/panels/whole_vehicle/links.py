"""A circuit of a plan as the entries of the page One run: a link that opens it there with the same numbers."""

from __future__ import annotations

from dashboards.panels.controls.address import link, name
from dashboards.panels.controls.forms import (
    FeedForm,
    Form,
    LampForm,
    LineForm,
    RelayForm,
    SpeakerForm,
    SubwooferForm,
    TurnOnForm,
)
from wirecalc import runs, units
from wirecalc.vehicle.model import Vehicle, given
from wirecalc.vehicle.plan import Circuit

_FORM_OF: dict[type, type[Form]] = {
    runs.SpeakerRun: SpeakerForm,
    runs.SubwooferRun: SubwooferForm,
    runs.LineRun: LineForm,
    runs.TurnOnRun: TurnOnForm,
    runs.RelayRun: RelayForm,
    runs.LampRun: LampForm,
    runs.FeedRun: FeedForm,
}


def one_run(vehicle: Vehicle, circuit: Circuit) -> str | None:
    """The address of the page One run with this circuit in it, as the plan feeds it; None if it has no such kind."""
    found = entries(vehicle, circuit)
    return None if found is None else link("one_run", found)


def entries(vehicle: Vehicle, circuit: Circuit) -> dict[str, str] | None:
    """By their names in the address, see `dashboards.panels.controls.address`."""
    run, wire, laid = circuit.run, circuit.wire, circuit.laid
    if run is None:
        return None
    assert not isinstance(wire.size, str)
    found = {"circuit": name(_FORM_OF[type(run)].title), **_of_kind(vehicle, circuit)}
    found |= {
        "run-length-one-way": _written(laid.length_m, "m"),
        "metal": name(wire.metal),
        "stranding": name(wire.stranding),
        "insulation": name(wire.insulation),
        "where-it-lies": name(wire.zone),
        "conductor-temperature": _written(laid.temperature_c, "°C"),
        "size": units.show_size(*wire.size),
        "return": name("by a second conductor" if laid.ways == 2 else "by the vehicle's body"),
        "joints-whole-loop": _written(laid.joints_ohm, "ohm"),
        "conductors-in-parallel": str(laid.parallel),
        "loaded-wires-together": str(circuit.place.loaded),
    }
    return found


def _of_kind(vehicle: Vehicle, circuit: Circuit) -> dict[str, str]:
    run = circuit.run
    start, end = vehicle.device(circuit.wire.start), vehicle.device(circuit.wire.end)
    if isinstance(run, runs.SpeakerRun):
        found = {
            "amplifier-power": _written(given(start.power_w), "W"),
            "rated-into": _written(given(start.into_ohm), "ohm"),
            "load-impedance": _written(given(end.impedance_ohm), "ohm"),
            "amplifier-damping-factor": _written(given(start.damping_factor)),
            "channels": "two-bridged" if len(vehicle.roles(circuit.wire)[0][1]) == 2 else "one-channel",
        }
        return found | ({} if start.least_ohm is None else {"least-load-allowed": _written(start.least_ohm, "ohm")})
    if isinstance(run, runs.LineRun):
        return {
            "output-impedance": _written(run.source_ohm, "ohm"),
            "input-impedance": _written(run.input_ohm, "ohm"),
            "cable-capacitance-per-metre": _written(run.farad_per_m * 1e12, "pF"),
        }
    if isinstance(run, runs.TurnOnRun):
        return {
            "draw-of-all-devices": _written(run.draw_a, "A"),
            "head-unit-s-limit": _written(run.limit_a, "A"),
            "turn-on-voltage": _written(run.supply_v, "V"),
            "least-turn-on-voltage": _written(run.least_v, "V"),
        }
    if isinstance(run, runs.RelayRun):
        return {
            "coil-resistance": _written(run.relay.coil_ohm, "ohm"),
            "pull-in-voltage": _written(run.relay.pull_in_v, "V"),
            "drop-out-voltage": _written(run.relay.drop_out_v, "V"),
            "supply-voltage": _written(run.supply_v, "V"),
            "coil-temperature": _written(run.coil_c, "°C"),
        }
    if isinstance(run, runs.LampRun):
        return {
            "supply-voltage": _written(run.supply_v, "V"),
            "strip-length": _written(run.strip_m, "m"),
            "strip-current-per-metre": _written(run.amps_per_m, "A"),
            "strip-resistance-per-metre": _written(run.strip_ohm_per_m, "ohm"),
        }
    assert isinstance(run, runs.FeedRun)
    return {
        "rated-power-all-channels": _written(run.rated_w, "W"),
        "battery-voltage": _written(run.supply_v, "V"),
        "class": name(run.amplifier_class.key),
        "power-supply": "regulated" if run.regulated else "not-regulated",
        "rated-at": _written(run.full_power_v, "V"),
    }


def _written(number: float, unit: str = "") -> str:
    """With more digits than the page shows."""
    return f"{number:.8g} {unit}".rstrip()
