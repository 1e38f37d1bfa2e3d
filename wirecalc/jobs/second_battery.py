"""A second battery with a charger between it and the starter battery, and the loads that it feeds."""

from __future__ import annotations

from wirecalc.jobs.job import JobKind, Rows, device, fused, job_wire
from wirecalc.jobs.question import ACROSS_FT, ACROSS_M, Number, Pick, amps, length
from wirecalc.jobs.vehicle_own import BATTERY_NAME, BATTERY_OHM, BATTERY_V, BODY_NAME, supply
from wirecalc.units import NUMBER
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import BATTERY, OTHER
from wirecalc.wire.zones import ZONES

CHARGER, SECOND, OUTPUT, LOADS = "Charger", "Second battery", "Charger output", "Loads"
CHARGE_V, EFFICIENCY = 14.4, 0.9  # of a charger from battery to battery: common practice, no source; its sheet says it
SOFT = 1.0  # a charger starts gently: common practice, no source
HALF_STARTS = 2.0  # the largest of the loads, half of them all, at three times its draw: common practice, no source
GROUND_M = 0.5  # to the body beside the device: common practice, no source
INSULATION = "pvc_105"
PLACES = ("boot", "cabin", "outside", "underbody")


@takes_units
def plan_rows(
    *, charge_a: float, feed_m: float, output_m: float, capacity_ah: float, loads_a: float, loads_m: float, passes: str
) -> Rows:
    """The plan.

    Parameters
    ----------
    charge_a : float
        That the charger gives. [A]
    feed_m, output_m : float
        Starter battery to charger, charger to second battery, one way. [m]
    capacity_ah : float
        Of the second battery. [A h]
    loads_a, loads_m : float
        All that the second battery feeds, and how far it is to there. [A], [m]
    passes : str
        Key of the place of the second battery.

    Returns
    -------
    Rows
        The charger draws only while the engine runs. A battery takes no current in a plan, so its charge stands the
        other way round: as a load of as much at the charger, which loads wire and fuse alike, and the fuse is at the
        battery, where a short would be fed from.
    """
    there = {"zone": passes, "insulation": INSULATION}
    return Rows(
        devices=(
            *supply(),
            device(CHARGER, OTHER, "from battery to battery, on while the engine runs; its draw is worked out at"
                   f" {CHARGE_V:g} V and {EFFICIENCY:.0%}", power_w=charge_a * CHARGE_V / EFFICIENCY,
                   start_ratio=SOFT, engine_only="yes", critical="no"),
            device(SECOND, BATTERY, voltage_v=BATTERY_V, inner_ohm=BATTERY_OHM, capacity_ah=capacity_ah),
            device(OUTPUT, OTHER, "the charge of the second battery, as a load: as much current, the other way round",
                   draw_a=charge_a, start_ratio=SOFT, engine_only="yes", critical="no"),
            device(LOADS, OTHER, "all that the second battery feeds; half of it starts at a time", draw_a=loads_a,
                   start_ratio=HALF_STARTS),
        ),
        wires=(
            fused("Charger feed", (BATTERY_NAME, "plus"), (CHARGER, "plus"), feed_m, insulation=INSULATION),
            job_wire("Charger ground", (CHARGER, "minus"), (BODY_NAME, "beside the charger"), GROUND_M, **there),
            fused("Charger output", (SECOND, "plus"), (OUTPUT, "plus"), output_m,
                  "from the charger; its fuse sits at the second battery", **there),
            fused("Loads feed", (SECOND, "plus"), (LOADS, "plus"), loads_m, back="wire", **there),
        ),
    )  # fmt: skip


JOB = JobKind(
    key="second-battery",
    title="Second battery",
    about="A second battery behind a charger that works while the engine runs, fused at both batteries, with what it"
    " feeds.",
    questions=(
        amps("charge_a", "Charging current", 30.0, "30 A: a common charger from battery to battery", low=2, high=60),
        length("feed_m", "From the starter battery to the charger", ACROSS_M, ACROSS_FT, "one way"),
        length("output_m", "From the charger to the second battery", 0.8, "30 in", "one way: the nearer the better",
               high=10),
        Number(key="capacity_ah", label="Capacity of the second battery", kind=NUMBER, start=100.0, low=5, high=1000,
               help="ampere-hours, as printed on it"),
        amps("loads_a", "Current of all it feeds", 20.0, "20 A: a cool box, lamps and a charger for phones", low=0.5),
        length("loads_m", "From the second battery to the loads", 2.0, "7 ft", "one way", high=15),
        Pick(key="passes", label="The second battery is in", options={key: ZONES[key].name for key in PLACES},
             start="boot", help="the hottest place of its wires"),
    ),
    rows=plan_rows,
)  # fmt: skip
