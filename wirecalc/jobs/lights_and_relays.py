"""Lights switched by relays: the relays at the supply, one cable to the lights, thin leads to the switches."""

from __future__ import annotations

from wirecalc.jobs.device_on_supply import start_of
from wirecalc.jobs.job import JobKind, Row, Rows, device, fused, job_wire
from wirecalc.jobs.question import ACROSS_FT, ACROSS_M, Pick, amps, length
from wirecalc.jobs.vehicle_own import BATTERY_NAME, supply
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import BLOCK, OTHER, RELAY
from wirecalc.wire.zones import ZONES

RELAYS = "Relay panel"
FILAMENTS = "pair of filament lamps"  # lights that start with more than any others
SHORT_M = 0.2  # inside a relay panel: common practice, no source
PANEL_ZONE, SWITCH_ZONE = "battery_side", "cabin"
PASSES = ("outside", "underbody", "sill", "cabin", "boot")


@takes_units
def plan_rows(
    *, lights: str, draw_a: float, feed_m: float, cable_m: float, switch_m: float, passes: str, back: str, run_in: str
) -> Rows:
    """The plan.

    Parameters
    ----------
    lights : str
        How many, each with its relay: "1" to "6".
    draw_a : float
        Of one light. [A]
    feed_m, cable_m, switch_m : float
        Battery to relays, relays to lights, relays to the switches, one way. [m]
    passes : str
        Key of the hottest place that the cable passes.
    back : str
        "wire" or "body": how the lights' current comes back.
    run_in : str
        "cable" for one cable of several conductors, "loose" for wires by themselves.

    Returns
    -------
    Rows
    """
    numbers = range(1, int(lights) + 1)
    cable = {"cable": "Lights cable"} if run_in == "cable" else {}
    devices: list[Row] = [*supply(), device(RELAYS, BLOCK, "fuses and relays, beside the battery")]
    wires: list[Row] = [
        fused("Relay panel feed", (BATTERY_NAME, "plus"), (RELAYS, "plus"), feed_m, zone=PANEL_ZONE),
    ]
    for at in numbers:
        relay, light = f"Relay {at}", f"Light {at}"
        devices += [device(relay, RELAY), device(light, OTHER, draw_a=draw_a, **start_of(FILAMENTS))]
        wires += [
            fused(f"Relay {at} contact", (RELAYS, f"out {at}"), (relay, "30"), SHORT_M, zone=PANEL_ZONE),
            fused(f"Switch {at} lead", (RELAYS, f"out {at + 10}"), (relay, "86"), 2 * switch_m,
                  "to the switch and back to the relay's coil", zone=PANEL_ZONE),
            job_wire(f"Light {at} run", (relay, "87"), (light, "plus"), cable_m, zone=passes, back=back, **cable),
        ]  # fmt: skip
    return Rows(devices=tuple(devices), wires=tuple(wires))


JOB = JobKind(
    key="lights-and-relays",
    title="Lights and relays",
    about="Work, cargo or marker lights, each with its relay near the battery, over one cable to the lights; thin leads"
    " to the switches.",
    questions=(
        Pick(key="lights", label="Lights", options={str(n): str(n) for n in range(1, 7)}, start="3",
             help="each with its own relay and switch"),
        amps("draw_a", "Current of a light", 2.0, "2 A: a 24 W lamp; its plate says it", high=15),
        length("feed_m", "From the battery to the relays", 0.6, "2 ft", "one way", high=10),
        length("cable_m", "From the relays to the lights", ACROSS_M, ACROSS_FT, "one way, to the rear of a car"),
        length("switch_m", "From the relays to the switches", 2.0, "7 ft", "one way, through the bulkhead", high=10),
        Pick(key="passes", label="The cable passes", options={key: ZONES[key].name for key in PASSES}, start="outside",
             help="the hottest place on its way"),
        Pick(key="back", label="The current comes back by", options={"body": "the body", "wire": "a wire in the cable"},
             start="wire", help="a wire: sound where paint and rust are not"),
        Pick(key="run_in", label="To the lights", options={"cable": "one cable with several conductors",
                                                           "loose": "separate wires"}, start="cable"),
    ),
    rows=plan_rows,
)  # fmt: skip
