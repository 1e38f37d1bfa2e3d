"""The head unit moved to another place: every wire of its plug made longer."""

from __future__ import annotations

from wirecalc.jobs.job import JobKind, Row, Rows, device, fused, job_wire
from wirecalc.jobs.question import Pick, amps, length, ohms, power
from wirecalc.jobs.vehicle_own import BATTERY_V, BODY_NAME, HEAD_NAME, PLUG_OHM
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import BATTERY, BLOCK, BODY, HEAD, LOUDSPEAKER, OTHER, PROCESSOR
from wirecalc.wire.zones import ZONES

SUPPLY, GROUND = "Supply at the radio plug", "Ground at the radio plug"
TURNED_ON = "Aerial amplifier"
TURN_ON_A = 0.1  # of an aerial or a factory amplifier: common practice, no source
SIGNAL_A = 0.2  # what an accessory or illumination input takes, and a little more: common practice, no source
SPEAKERS = {"2": ("Left", "Right"), "4": ("Left front", "Right front", "Left rear", "Right rear")}
PASSES = ("cabin", "sill", "boot", "outside")


@takes_units
def plan_rows(
    *, length_m: float, speakers: str, power_w: float, impedance_ohm: float, draw_a: float, passes: str, run_in: str
) -> Rows:
    """The plan.

    Parameters
    ----------
    length_m : float
        From the plug to the new place. [m]
    speakers : str
        How many: a key of `SPEAKERS`.
    power_w, impedance_ohm : float
        Of one channel, and of its speaker. [W], [ohm]
    draw_a : float
        The most that the head unit takes. [A]
    passes : str
        Key of the hottest place on the way.
    run_in : str
        "loose" for wires by themselves, "cable" for one cable of several conductors.

    Returns
    -------
    Rows
    """
    laid = {"zone": passes, "insulation": "pvc_80"}
    kept = {**laid, "cable": "Head unit cable"} if run_in == "cable" else laid
    names = SPEAKERS[speakers]
    head = device(HEAD_NAME, HEAD, draw_a=draw_a, power_w=power_w, into_ohm=impedance_ohm, channels=len(names))
    devices: list[Row] = [
        device(SUPPLY, BATTERY, "the battery as it is at the plug, through the vehicle's own wire",
               voltage_v=BATTERY_V, inner_ohm=PLUG_OHM),
        device(BODY_NAME, BODY, "the vehicle's metal"),
        device(GROUND, BLOCK, "black wire of the plug: measure that it is sound"),
        head,
        device("Accessory input", OTHER, "tells the head unit that the key is on", draw_a=SIGNAL_A),
        device("Illumination input", OTHER, "dims the head unit with the lamps", draw_a=SIGNAL_A),
        device(TURNED_ON, PROCESSOR, "stays where it is. The aerial's own cable is no wire to size: buy an extension"
               " of the same cable.", draw_a=1.0, remote_draw_a=TURN_ON_A),
        *(device(f"{name} speaker", LOUDSPEAKER, impedance_ohm=impedance_ohm) for name in names),
    ]  # fmt: skip
    wires: list[Row] = [
        fused("Head unit feed", (SUPPLY, "plus"), (HEAD_NAME, "plus"), length_m, **laid),
        job_wire("Head unit ground", (HEAD_NAME, "minus"), (GROUND, "minus"), length_m, **laid),
        fused("Accessory lead", (SUPPLY, "plus"), ("Accessory input", "plus"), length_m, **kept),
        fused("Illumination lead", (SUPPLY, "plus"), ("Illumination input", "plus"), length_m, **kept),
        job_wire("Turn-on lead", (HEAD_NAME, "remote"), (TURNED_ON, "remote in"), length_m, **kept),
        *(job_wire(f"{name} speaker run", (HEAD_NAME, f"speaker {at}"), (f"{name} speaker", "coil"), length_m,
               "to the plug; the vehicle's own wire goes on from there and is not counted", **kept)
          for at, name in enumerate(names, 1)),
        job_wire("Feed of the aerial", (SUPPLY, "plus"), (TURNED_ON, "plus"), 0.3, "the vehicle's own, assumed",
             size=("AWG", 18.0), fuse=5.0, there="yes", **laid),
    ]  # fmt: skip
    return Rows(devices=tuple(devices), wires=tuple(wires))


JOB = JobKind(
    key="head-unit-moved",
    title="Head unit moved",
    about="A radio goes to another place: feed, ground, accessory, illumination, turn-on and speaker wires made"
    " longer from its old plug.",
    questions=(
        length("length_m", "From the old plug to the new place", 5.0, "16 ft", "one way, along the route of the wires"),
        Pick(key="speakers", label="Speakers", options={"2": "2", "4": "4"}, start="4", help="one on each channel"),
        power("power_w", "Power of a channel", 18.0, "18 W: what most radios give, whatever is printed on them",
              high=100),
        ohms("impedance_ohm", "Speaker impedance", 4.0, "4 Ω: most car speakers"),
        amps("draw_a", "Most current", 10.0, "10 A: a common fuse on a radio's back", low=0.5, high=25),
        Pick(key="passes", label="The wires pass", options={key: ZONES[key].name for key in PASSES}, start="cabin",
             help="the hottest place on their way"),
        Pick(key="run_in", label="Speakers, turn-on and switched leads",
             options={"loose": "separate wires", "cable": "one cable with several conductors"}, start="loose",
             help="feed and ground are separate wires"),
    ),
    rows=plan_rows,
)  # fmt: skip
