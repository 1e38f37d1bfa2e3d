"""One device on the supply: a light bar, a cool box, an inverter, a camera."""

from __future__ import annotations

from typing import Any

from wirecalc import tables
from wirecalc.circuits.device import NOMINAL_V
from wirecalc.jobs.job import JobKind, Rows, device, fused
from wirecalc.jobs.question import ACROSS_FT, ACROSS_M, Pick, length, power
from wirecalc.jobs.vehicle_own import BATTERY_NAME, supply
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import OTHER

TYPICAL = {str(row["device"]): row for row in tables.rows("typical_devices")}
START = "light bar with diodes"
HOT = {"zone": "engine_bay", "insulation": "xlpe_125"}


def start_of(typical: str) -> dict[str, Any]:
    """How a device of `TYPICAL` starts, as fields of a plan's device."""
    row = TYPICAL[typical]
    return {"start_ratio": float(row["inrush_ratio"]), "start_s": float(row["inrush_s"])}


@takes_units
def plan_rows(*, what: str, power_w: float, length_m: float, back: str, way: str) -> Rows:
    """The plan.

    Parameters
    ----------
    what : str
        A key of `TYPICAL`.
    power_w : float
        0 for the usual one. [W]
    length_m : float
        From the battery, one way. [m]
    back : str
        "wire" or "body": how the current comes back.
    way : str
        "clear" of the engine, or "hot": beside it.

    Returns
    -------
    Rows
        A draw keeps its behaviour: constant current, constant power or a resistance.
    """
    usual = TYPICAL[what]
    name = what.capitalize()
    usual_w = float(usual["draw"]) * (1.0 if usual["unit"] == "W" else NOMINAL_V)
    drawn_w = power_w or usual_w
    drawn: dict[str, dict[str, Any]] = {
        "constant power": {"power_w": drawn_w},
        "constant current": {"draw_a": drawn_w / NOMINAL_V},
        "resistance": {"impedance_ohm": NOMINAL_V**2 / drawn_w},
    }
    note = f"{usual['behaviour']}; {'as you said' if power_w else 'a usual one: the type plate comes first'}"
    return Rows(
        devices=(*supply(), device(name, OTHER, note, **drawn[str(usual["behaviour"])], **start_of(what))),
        wires=(
            fused(f"{name} feed", (BATTERY_NAME, "plus"), (name, "plus"), length_m, back=back,
                  **(HOT if way == "hot" else {})),
        ),
    )  # fmt: skip


JOB = JobKind(
    key="device-on-supply",
    title="One device on the supply",
    about="A light bar, a cool box, an inverter, a camera: its feed from the battery with the fuse, and how the current"
    " comes back.",
    questions=(
        Pick(key="what", label="Device", options={key: key for key in TYPICAL}, start=START),
        power("power_w", "Its power", 0.0, "0 W: as usual for its kind; better what its plate says", low=0, high=1500),
        length("length_m", "From the battery to the device", ACROSS_M, ACROSS_FT, "one way"),
        Pick(key="back", label="The current comes back by", options={"wire": "a wire of its own", "body": "the body"},
             start="wire", help="a wire: sound where paint and rust are not"),
        Pick(key="way", label="The wire passes", options={"clear": "clear of the engine", "hot": "beside the engine"},
             start="clear", help="beside the engine it is 90 °C and the wire is for that"),
    ),
    rows=plan_rows,
)  # fmt: skip
