"""The factory signal taken for a processor or an amplifier, with its turn-on, feed and ground."""

from __future__ import annotations

from wirecalc.jobs.job import JobKind, Row, Rows, device, fused, job_wire
from wirecalc.jobs.question import ACROSS_FT, ACROSS_M, Pick, amps, length, power
from wirecalc.jobs.vehicle_own import (
    BATTERY_NAME,
    BODY_NAME,
    GROUND_M,
    HEAD_NAME,
    HEAD_W,
    LINE_SIZE,
    head_feed,
    head_unit,
    supply,
)
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import AMPLIFIER, PROCESSOR

INTO_OHM = 4.0  # what an amplifier's power is rated into: common practice, no source


@takes_units
def plan_rows(
    *, into: str, level: str, channels: str, signal_m: float, feed_m: float, draw_a: float, power_w: float,
    radio_w: float,
) -> Rows:  # fmt: skip
    """The plan.

    Parameters
    ----------
    into : str
        "processor" or "amplifier".
    level : str
        "speaker" or "line".
    channels : str
        How many: "2" or "4".
    signal_m, feed_m : float
        From the radio, and from the battery, one way. [m]
    draw_a : float
        Of a processor. [A]
    power_w : float
        Of an amplifier, all channels together. [W]
    radio_w : float
        Of one channel of the radio. [W]

    Returns
    -------
    Rows
    """
    count = int(channels)
    if into == "processor":
        name, ends, turn_on = "Processor", "line in", "remote in"
        taker = device(name, PROCESSOR, draw_a=draw_a)
    else:
        name, ends, turn_on = "Amplifier", "line in", "remote"
        taker = device(
            name, AMPLIFIER, power_w=power_w / count, channels=count, into_ohm=INTO_OHM, amplifier_class="D",
            regulated="no",
        )  # fmt: skip
    given, what = ("line out", "Line") if level == "line" else ("speaker", "Signal")
    size = {"size": LINE_SIZE} if level == "line" else {}
    note = "screened line cable" if level == "line" else "twisted pair from the radio's speaker output"
    signals: tuple[Row, ...] = tuple(
        job_wire(
            f"{what} {at}", (HEAD_NAME, f"{given} {at}"), (name, f"{ends} {at}"), signal_m, note, zone="cabin", **size
        )
        for at in range(1, count + 1)
    )
    return Rows(
        devices=(*supply(), head_unit(radio_w), taker),
        wires=(
            fused(f"{name} feed", (BATTERY_NAME, "plus"), (name, "plus"), feed_m),
            job_wire(
                f"{name} ground", (name, "minus"), (BODY_NAME, f"beside the {name.lower()}"), GROUND_M, zone="boot"
            ),
            job_wire("Turn-on lead", (HEAD_NAME, "remote"), (name, turn_on), signal_m, zone="cabin"),
            *signals,
            head_feed(),
        ),
    )


JOB = JobKind(
    key="signal-taken",
    title="Factory signal taken",
    about="The factory radio's signal for a processor or an amplifier, at speaker or line level, with turn-on, feed and"
    " ground.",
    questions=(
        Pick(key="into", label="For", options={"processor": "a processor", "amplifier": "an amplifier"},
             start="processor"),
        Pick(key="level", label="Taken at", options={"speaker": "speaker level", "line": "line level"}, start="speaker",
             help="speaker level: before the factory speakers, whose current does not pass here"),
        Pick(key="channels", label="Channels", options={"2": "2", "4": "4"}, start="4"),
        length("signal_m", "From the radio to it", ACROSS_M, ACROSS_FT, "one way; turn-on goes along"),
        length("feed_m", "From the battery to it", ACROSS_M, ACROSS_FT, "one way, to the boot of a car"),
        amps("draw_a", "Current of a processor", 1.5, "1.5 A: small processors; its sheet says it", high=20),
        power("power_w", "Power of an amplifier, all channels", 300.0, "300 W RMS: asked for an amplifier only",
              high=2000),
        power("radio_w", "Power of a channel of the radio", HEAD_W, "18 W: what most radios give", high=200),
    ),
    rows=plan_rows,
)  # fmt: skip
