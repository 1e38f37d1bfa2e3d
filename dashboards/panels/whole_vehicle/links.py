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
    found = {"circuit": _FORM_OF[type(run)].key, **_of_kind(vehicle, circuit)}
    found |= {
        "length": _written(laid.length_m, "m"),
        "metal": name(wire.metal),
        "stranding": name(wire.stranding),
        "insulation": name(wire.insulation),
        "zone": name(wire.zone),
        "temperature": _written(laid.temperature_c, "°C"),
        "size": units.show_size(*wire.size),
        "return": "conductor" if laid.ways == 2 else "body",
        "joints": _written(laid.joints_ohm, "ohm"),
        "parallel": str(laid.parallel),
        "loaded": str(circuit.place.loaded),
    }
    return found


def _of_kind(vehicle: Vehicle, circuit: Circuit) -> dict[str, str]:
    run = circuit.run
    start, end = vehicle.device(circuit.wire.start), vehicle.device(circuit.wire.end)
    if isinstance(run, runs.SpeakerRun):
        found = {
            "power": _written(given(start.power_w), "W"),
            "rated": _written(given(start.into_ohm), "ohm"),
            "load": _written(given(end.impedance_ohm), "ohm"),
            "damping": _written(given(start.damping_factor)),
            "bridge": "yes" if len(vehicle.roles(circuit.wire)[0][1]) == 2 else "no",
        }
        return found | ({} if start.least_ohm is None else {"least": _written(start.least_ohm, "ohm")})
    if isinstance(run, runs.LineRun):
        return {
            "source": _written(run.source_ohm, "ohm"),
            "input": _written(run.input_ohm, "ohm"),
            "capacitance": _written(run.farad_per_m * 1e12, "pF"),
        }
    if isinstance(run, runs.TurnOnRun):
        return {
            "draw": _written(run.draw_a, "A"),
            "limit": _written(run.limit_a, "A"),
            "supply": _written(run.supply_v, "V"),
            "least": _written(run.least_v, "V"),
        }
    if isinstance(run, runs.RelayRun):
        return {
            "coil": _written(run.relay.coil_ohm, "ohm"),
            "pull-in": _written(run.relay.pull_in_v, "V"),
            "drop-out": _written(run.relay.drop_out_v, "V"),
            "supply": _written(run.supply_v, "V"),
            "hot": _written(run.coil_c, "°C"),
        }
    if isinstance(run, runs.LampRun):
        return {
            "supply": _written(run.supply_v, "V"),
            "strip": _written(run.strip_m, "m"),
            "per-m": _written(run.amps_per_m, "A"),
            "strip-ohm": _written(run.strip_ohm_per_m, "ohm"),
        }
    assert isinstance(run, runs.FeedRun)
    return {
        "power": _written(run.rated_w, "W"),
        "supply": _written(run.supply_v, "V"),
        "amplifier-class": name(run.amplifier_class.key),
        "regulated": "yes" if run.regulated else "no",
        "full-v": _written(run.full_power_v, "V"),
    }


def _written(number: float, unit: str = "") -> str:
    """With more digits than the page shows."""
    return f"{number:.8g} {unit}".rstrip()
