"""What the vehicle has already, as a job takes it until somebody writes what is there."""

from __future__ import annotations

from wirecalc.jobs.job import Row, device, job_wire
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import BATTERY, BODY, HEAD

BATTERY_NAME, BODY_NAME, HEAD_NAME = "Battery", "Body", "Head unit"
BATTERY_V, BATTERY_OHM = 12.6, 5e-3  # at rest, full; of a healthy starter battery: common practice, no source
PLUG_OHM = 0.03  # of a battery through the vehicle's own wire to the radio's plug: common practice, no source
HEAD_A, HEAD_W = 2.5, 18.0  # steady draw, and power of one channel into 4 ohm: common practice, no source
HEAD_FUSE_A, HEAD_FEED_M, HEAD_FEED_MM2 = 15.0, 3.0, 2.5  # of a factory radio: common practice, no source
FACTORY_INSULATION = "pvc_105"  # makers' looms are mostly class B of ISO 6722: common practice, no source
LINE_SIZE = ("AWG", 24.0)  # inner conductor of a screened line cable: common practice, no source
GROUND_M = 0.5  # to the body beside the device: common practice, no source


def supply() -> tuple[Row, Row]:
    """The vehicle's battery, and its body, which brings the current back.

    Returns
    -------
    tuple of two rows
    """
    return (
        device(BATTERY_NAME, BATTERY, "the vehicle's own", voltage_v=BATTERY_V, inner_ohm=BATTERY_OHM),
        device(BODY_NAME, BODY, "the vehicle's metal"),
    )


@takes_units
def head_unit(power_w: float = HEAD_W, channels: int = 4) -> Row:
    """A head unit that is there.

    Parameters
    ----------
    power_w : float
        Of one channel into 4 ohm. [W]
    channels : int

    Returns
    -------
    mapping
    """
    return device(HEAD_NAME, HEAD, "already there", draw_a=HEAD_A, power_w=power_w, channels=channels)


def head_feed() -> Row:
    """The feed of a head unit that is there.

    Returns
    -------
    mapping
    """
    return job_wire(
        "Head unit feed",
        (BATTERY_NAME, "plus"),
        (HEAD_NAME, "plus"),
        HEAD_FEED_M,
        "the vehicle's own: size, length and fuse are assumed",
        size=("mm2", HEAD_FEED_MM2),
        fuse=HEAD_FUSE_A,
        insulation=FACTORY_INSULATION,
        there="yes",
    )
