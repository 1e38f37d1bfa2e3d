"""An amplifier added behind the factory radio: its speaker outputs go back to the radio's plug, whose wires stay."""

from __future__ import annotations

from wirecalc.jobs.job import JobKind, Row, Rows, device, fused, job_wire
from wirecalc.jobs.question import ACROSS_FT, ACROSS_M, Pick, length, ohms, power
from wirecalc.jobs.vehicle_own import (
    BATTERY_NAME,
    BODY_NAME,
    GROUND_M,
    HEAD_NAME,
    LINE_SIZE,
    head_feed,
    head_unit,
    supply,
)
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import AMPLIFIER, LOUDSPEAKER

AMP = "Amplifier"
CHANNELS = {"2": ("Left front", "Right front"), "4": ("Left front", "Right front", "Left rear", "Right rear")}


@takes_units
def plan_rows(
    *, power_w: float, channels: str, impedance_ohm: float, feed_m: float, back_m: float, ground_m: float,
    signal: str, run_in: str,
) -> Rows:  # fmt: skip
    """The plan.

    Parameters
    ----------
    power_w, impedance_ohm : float
        Of one channel, and of its speaker. [W], [ohm]
    channels : str
        How many: a key of `CHANNELS`.
    feed_m, back_m, ground_m : float
        From the battery, to the radio's plug and to the body, one way. [m]
    signal : str
        "line" for line outputs, "speaker" for the radio's speaker outputs.
    run_in : str
        "loose" for wires by themselves, "cable" for one cable of several conductors.

    Returns
    -------
    Rows
    """
    names = CHANNELS[channels]
    kept = {"zone": "cabin", "insulation": "pvc_80"}
    kept = {**kept, "cable": "Amplifier cable"} if run_in == "cable" else kept
    amplifier = device(
        AMP, AMPLIFIER, power_w=power_w, channels=len(names), into_ohm=impedance_ohm, amplifier_class="D",
        regulated="no",
    )  # fmt: skip
    speakers: tuple[Row, ...] = tuple(
        device(f"{name} speaker", LOUDSPEAKER, impedance_ohm=impedance_ohm) for name in names
    )
    signals: tuple[Row, ...] = tuple(
        job_wire(f"Line {at}, {name.lower()}", (HEAD_NAME, f"line out {at}"), (AMP, f"line in {at}"), back_m,
             "screened line cable", size=LINE_SIZE, zone="cabin")
        if signal == "line" else
        job_wire(f"Signal {at}, {name.lower()}", (HEAD_NAME, f"speaker {at}"), (AMP, f"line in {at}"), back_m,
             "from the radio's speaker output", zone="cabin")
        for at, name in enumerate(names, 1)
    )  # fmt: skip
    runs: tuple[Row, ...] = tuple(
        job_wire(f"{name} speaker run", (AMP, f"speaker {at}"), (f"{name} speaker", "coil"), back_m,
             "to the radio's plug; the vehicle's own wire goes on from there and is not counted", **kept)
        for at, name in enumerate(names, 1)
    )  # fmt: skip
    return Rows(
        devices=(*supply(), head_unit(), amplifier, *speakers),
        wires=(
            fused("Amplifier feed", (BATTERY_NAME, "plus"), (AMP, "plus"), feed_m),
            job_wire("Amplifier ground", (AMP, "minus"), (BODY_NAME, "beside the amplifier"), ground_m, zone="boot"),
            job_wire("Turn-on lead", (HEAD_NAME, "remote"), (AMP, "remote"), back_m, **kept),
            *runs,
            *signals,
            head_feed(),
        ),
    )


JOB = JobKind(
    key="amplifier-added",
    title="Amplifier added",
    about="An amplifier behind the factory radio: feed, ground and turn-on, and its speaker outputs back to the radio's"
    " plug, so that the factory speaker wires stay.",
    questions=(
        power("power_w", "Power of a channel, RMS", 75.0, "75 W: a common four-channel amplifier into 4 Ω", high=500),
        Pick(key="channels", label="Channels", options={"2": "2", "4": "4"}, start="4", help="one speaker on each"),
        ohms("impedance_ohm", "Speaker impedance", 4.0, "4 Ω: most car speakers; the power is rated into it"),
        length("feed_m", "From the battery to the amplifier", ACROSS_M, ACROSS_FT, "one way, to the boot of a car"),
        length("back_m", "From the amplifier to the radio's plug", 6.0, "20 ft", "one way, along the route"),
        length("ground_m", "From the amplifier to its ground", GROUND_M, "20 in", "to bare metal of the body", high=5),
        Pick(key="signal", label="Signal from", options={"line": "line outputs of the radio",
                                                         "speaker": "speaker outputs of the radio"},
             start="line", help="a factory radio often has speaker outputs only"),
        Pick(key="run_in", label="Speakers and turn-on",
             options={"loose": "separate wires", "cable": "one cable with several conductors"}, start="loose",
             help="in one cable: the tab Cables says which one does"),
    ),
    rows=plan_rows,
)  # fmt: skip
