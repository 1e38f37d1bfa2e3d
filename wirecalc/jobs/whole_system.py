"""A whole system: head unit, processor, two amplifiers, four speakers and a subwoofer, fed over one main fuse."""

from __future__ import annotations

from wirecalc.jobs.job import JobKind, Row, Rows, device, fused, job_wire
from wirecalc.jobs.question import ACROSS_FT, ACROSS_M, length, ohms, power
from wirecalc.jobs.vehicle_own import (
    BATTERY_NAME,
    BODY_NAME,
    HEAD_NAME,
    LINE_SIZE,
    head_feed,
    head_unit,
    supply,
)
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import AMPLIFIER, BLOCK, LOUDSPEAKER, PROCESSOR, SUBWOOFER

POWER, GROUND = "Power block", "Ground block"
SOUND, AMP, BASS = "Processor", "Speaker amplifier", "Subwoofer amplifier"
SPEAKERS = ("Left front", "Right front", "Left rear", "Right rear")
SHORT_M = 0.8  # between devices in the boot: common practice, no source
PROCESSOR_A, SPEAKER_OHM = 1.5, 4.0  # common practice, no source
SUB_RUN_M = 1.5  # to a subwoofer beside its amplifier: common practice, no source


@takes_units
def plan_rows(
    *, power_w: float, bass_w: float, bass_ohm: float, feed_m: float, front_m: float, rear_m: float, dash_m: float,
    impedance_ohm: float,
) -> Rows:  # fmt: skip
    """The plan.

    Parameters
    ----------
    power_w, bass_w : float
        Of one of four speaker channels; of the subwoofer amplifier at the subwoofer's impedance. [W]
    impedance_ohm, bass_ohm : float
        Of a speaker; of the subwoofer, all coils together. [ohm]
    feed_m, front_m, rear_m, dash_m : float
        From the boot to battery, front doors, rear doors and head unit, one way. [m]

    Returns
    -------
    Rows
    """
    boot = {"zone": "boot"}
    devices = (
        *supply(),
        head_unit(),
        device(POWER, BLOCK, "fused outputs, in the boot"),
        device(GROUND, BLOCK, "joins the grounds in the boot"),
        device(SOUND, PROCESSOR, draw_a=PROCESSOR_A),
        device(AMP, AMPLIFIER, power_w=power_w, channels=4, into_ohm=impedance_ohm, amplifier_class="D",
               regulated="no"),
        device(BASS, AMPLIFIER, power_w=bass_w, channels=1, into_ohm=bass_ohm, amplifier_class="D", regulated="no"),
        *(device(f"{name} speaker", LOUDSPEAKER, impedance_ohm=impedance_ohm) for name in SPEAKERS),
        device("Subwoofer", SUBWOOFER, impedance_ohm=bass_ohm),
    )  # fmt: skip
    fed: list[Row] = []
    for at, name in enumerate((AMP, BASS, SOUND), 1):
        fed += [
            fused(f"{name} feed", (POWER, f"out {at}"), (name, "plus"), SHORT_M, **boot),
            job_wire(f"{name} ground", (name, "minus"), (GROUND, "minus"), SHORT_M, **boot),
        ]
    lines = [
        job_wire(f"Line {at} to the processor", (HEAD_NAME, f"line out {at}"), (SOUND, f"line in {at}"), dash_m,
             "screened line cable", size=LINE_SIZE, zone="cabin") for at in (1, 2)
    ]  # fmt: skip
    lines += [
        job_wire(f"Line {at} to the amplifier", (SOUND, f"line out {at}"), (AMP, f"line in {at}"), SHORT_M,
             "screened line cable", size=LINE_SIZE, **boot) for at in (1, 2, 3, 4)
    ]  # fmt: skip
    return Rows(
        devices=devices,
        wires=(
            fused("Main feed", (BATTERY_NAME, "plus"), (POWER, "plus"), feed_m),
            job_wire("Main ground", (GROUND, "minus"), (BODY_NAME, "boot"), 0.5, **boot),
            *fed,
            job_wire("Turn-on lead", (HEAD_NAME, "remote"), (SOUND, "remote in"), dash_m, zone="cabin"),
            job_wire("Turn-on, speaker amplifier", (SOUND, "remote out"), (AMP, "remote"), SHORT_M, **boot),
            job_wire("Turn-on, subwoofer amplifier", (SOUND, "remote out"), (BASS, "remote"), SHORT_M, **boot),
            *lines,
            job_wire("Line 5, subwoofer", (SOUND, "line out 5"), (BASS, "line in 1"), SHORT_M, "screened line cable",
                 size=LINE_SIZE, **boot),
            *(job_wire(f"{name} speaker run", (AMP, f"speaker {at}"), (f"{name} speaker", "coil"),
                   front_m if at < 3 else rear_m, zone="sill") for at, name in enumerate(SPEAKERS, 1)),
            job_wire("Subwoofer run", (BASS, "speaker 1"), ("Subwoofer", "coil"), SUB_RUN_M, **boot),
            head_feed(),
        ),
    )  # fmt: skip


JOB = JobKind(
    key="whole-system",
    title="Whole system",
    about="Head unit, processor, a four-channel and a subwoofer amplifier, four speakers and a subwoofer: feeds,"
    " grounds, turn-on, line and speaker wires.",
    questions=(
        power("power_w", "Power of a speaker channel, RMS", 75.0, "75 W on each of four channels", high=300),
        ohms("impedance_ohm", "Speaker impedance", SPEAKER_OHM, "4 Ω: most car speakers"),
        power("bass_w", "Power of the subwoofer amplifier, RMS", 500.0, "500 W at the impedance below", high=2000),
        ohms("bass_ohm", "Subwoofer impedance, all coils together", 2.0, "2 Ω: a usual wiring of two coils"),
        length("feed_m", "From the battery to the boot", ACROSS_M, ACROSS_FT, "one way"),
        length("dash_m", "From the head unit to the boot", ACROSS_M, ACROSS_FT, "one way; line cables and turn-on"),
        length("front_m", "From the boot to a front door", 5.0, "16 ft", "one way; doors match, so the longer one"),
        length("rear_m", "From the boot to a rear door", 3.5, "12 ft", "one way; the longer one"),
    ),
    rows=plan_rows,
)
