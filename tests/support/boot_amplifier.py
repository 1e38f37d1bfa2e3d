"""A four-channel amplifier in the boot, 20 ft of cable back to the radio's plug, and its turn-on lead: all invented."""

from __future__ import annotations

from wirecalc.vehicle.fields import AMPLIFIER, BATTERY, BODY, HEAD, LOUDSPEAKER
from wirecalc.vehicle.model import Device, Vehicle, Wire

CABLE = "nine"
DOORS = ("Front left door", "Front right door", "Rear left door", "Rear right door")
FEET_20 = 6.096


def boot_amplifier(power_w: float = 75.0, length_m: float = FEET_20) -> Vehicle:
    """With every size and fuse left to choose; the loudspeakers' runs and the turn-on lead are listed for one cable.

    Parameters
    ----------
    power_w : float
        Of each channel into 4 ohm. [W]
    length_m : float
        Of the cable. [m]

    Returns
    -------
    Vehicle
    """
    devices = [
        Device(name="Battery", kind=BATTERY, voltage_v=12.6, inner_ohm=0.006, capacity_ah=70.0),
        Device(name="Body", kind=BODY, inner_ohm=0.0005),
        Device(
            name="Amplifier", kind=AMPLIFIER, power_w=power_w, into_ohm=4.0, channels=4.0, amplifier_class="D",
            regulated="no", full_power_v=14.4, damping_factor=150.0, line_in_ohm=10e3, remote_draw_a=0.03,
        ),
        Device(name="Radio", kind=HEAD, draw_a=2.0, line_out_ohm=300.0, remote_limit_a=0.5),
        *(Device(name=name, kind=LOUDSPEAKER, impedance_ohm=4.0) for name in DOORS),
    ]  # fmt: skip
    wires = [
        _wire("Feed", "Battery", "plus", "Amplifier", "plus", 5.5, fuse="choose"),
        _wire("Ground", "Amplifier", "minus", "Body", "boot", 0.6),
        _wire("Radio feed", "Battery", "plus", "Radio", "plus", 2.0, fuse="choose"),
        _wire("Radio ground", "Radio", "minus", "Body", "dash", 1.0),
        _wire("Turn-on", "Radio", "remote", "Amplifier", "remote", length_m, zone="cabin", cable=CABLE),
        *(
            _wire(f"{name} run", "Amplifier", f"speaker {at}", name, "coil", length_m, zone="cabin", cable=CABLE)
            for at, name in enumerate(DOORS, 1)
        ),
    ]
    return Vehicle(devices=tuple(devices), wires=tuple(wires))


def _wire(name: str, start: str, out: str, end: str, into: str, length_m: float, **more: str) -> Wire:
    return Wire(
        name=name, start=start, start_terminal=out, end=end, end_terminal=into, length_m=length_m, size="choose", **more  # type: ignore[arg-type]
    )  # fmt: skip
