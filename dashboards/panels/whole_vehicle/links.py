"""A circuit of a plan as the entries of the page One run: a link that opens it there with the same numbers."""

from __future__ import annotations

from dashboards.panels.controls.address import link, name
from dashboards.panels.kinds import form_of
from dashboards.panels.kinds.form import written, written_length
from dashboards.panels.settings.units import FEET, METRES
from wirecalc.vehicle.fits import least_terminal
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.plan import Circuit
from wirecalc.wire.as_sold import show_size


def one_run(vehicle: Vehicle, circuit: Circuit, *, feet: bool = False) -> str | None:
    """The address of the page One run with this circuit in it, as the plan feeds it; None if it has no such kind."""
    fields = entries(vehicle, circuit, feet=feet)
    return None if fields is None else link("one_run", fields)


def entries(vehicle: Vehicle, circuit: Circuit, *, feet: bool = False) -> dict[str, str] | None:
    """By their names in the address, see `dashboards.panels.controls.address`."""
    run, wire, laid = circuit.run, circuit.wire, circuit.laid
    if run is None:
        return None
    assert not isinstance(wire.size, str)
    form, channels = form_of(run), len(vehicle.roles(wire)[0][1])
    fields = {"circuit": form.key, **form.linked(run, vehicle.device(wire.start), vehicle.device(wire.end), channels)}
    fields |= {
        "units": FEET if feet else METRES,
        "length": written_length(laid.length_m, feet=feet),
        "metal": name(wire.metal),
        "stranding": name(wire.stranding),
        "insulation": name(wire.insulation),
        "zone": name(wire.zone),
        "temperature": written(laid.temperature_c, "°C"),
        "size": show_size(*wire.size),
        "return": "conductor" if laid.ways == 2 else "body",
        "joints": written(laid.joints_ohm, "ohm"),
        "parallel": str(laid.parallel),
        "loaded": str(circuit.place.loaded),
        "sheathed": "yes" if wire.cable else "no",
    }
    if (least := least_terminal(vehicle, wire)) is not None:
        fields["terminal"] = show_size(*least[1])
    return fields
