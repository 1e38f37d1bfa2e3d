"""Typical circuits as the shops have them, from a table to jobs; what is not said in a row is as the pages have it."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from wirecalc.advice.shared import combined
from wirecalc.advice.size import Job
from wirecalc.advice.stretches import Route, by_house_rules, in_zone
from wirecalc.circuits import line_level, relay, supply
from wirecalc.circuits.device import START_RATIO, START_S
from wirecalc.circuits.source import Amplifier
from wirecalc.runs.device import DeviceRun
from wirecalc.runs.feed import FeedRun
from wirecalc.runs.lamp import LampRun
from wirecalc.runs.line import LineRun
from wirecalc.runs.relay import RelayRun
from wirecalc.runs.run import Run
from wirecalc.runs.speaker import SpeakerRun
from wirecalc.runs.subwoofer import SubwooferRun
from wirecalc.runs.turn_on import TurnOnRun
from wirecalc.wire.insulation import INSULATIONS

TABLE = Path(__file__).with_name("signed_circuits.csv")


def rows() -> list[dict[str, str]]:
    """The table, a dictionary a row."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def details_of(row: Mapping[str, str]) -> dict[str, str]:
    """ "kind speaker; power_w 100" -> {"kind": "speaker", "power_w": "100"}."""
    return dict(part.strip().split(" ", 1) for part in row["details"].split(";"))


def job(details: Mapping[str, str]) -> Job:
    """The job that a row's details describe.

    Parameters
    ----------
    details : mapping of str to str
        See `details_of`.
    """

    def number(key: str, usual: float = 0.0) -> float:
        return float(details.get(key, usual))

    kind, length_m = details["kind"], number("length_m")
    ways: Any = int(number("ways", 1))
    run: Run
    if kind in ("speaker", "subwoofer"):
        of = SpeakerRun if kind == "speaker" else SubwooferRun
        amplifier = Amplifier(power_w=number("power_w"), rated_ohm=number("rated_ohm", number("ohm")))
        run, ways = of(amplifier=amplifier, load_ohm=number("ohm")), 2
    elif kind == "line":
        shielded = line_level.CABLE_FARAD_PER_M["shielded"]
        run = LineRun(source_ohm=number("source_ohm"), input_ohm=number("input_ohm"), farad_per_m=shielded)
    elif kind == "remote":
        run = TurnOnRun(draw_a=number("draw_a"), supply_v=12.0, limit_a=number("limit_a", 0.3), least_v=9.0)
    elif kind == "relay":
        coil = relay.Relay(coil_ohm=number("coil_ohm"), pull_in_v=number("pull_in_v", 8.0), drop_out_v=1.2)
        run = RelayRun(relay=coil, supply_v=10.5, coil_c=85.0)
    elif kind == "lamps":
        run = LampRun(
            supply_v=1.05 * number("nominal_v", 12), strip_m=number("strip_m"), amps_per_m=number("amps_per_m"),
            strip_ohm_per_m=number("strip_ohm_per_m", 0.05), nominal_v=number("nominal_v", 12),
        )  # fmt: skip
        ways = 2
    elif kind == "load":
        watts = number("power_w")
        run = DeviceRun(
            rated_a=watts / 12.0 if watts else number("draw_a"), supply_v=12.6, critical=bool(number("critical", 1)),
            behaviour="constant power" if watts else "constant current", inrush_ratio=START_RATIO, inrush_s=START_S,
        )  # fmt: skip
    elif kind in ("feed", "main"):
        run = feed(details)
    else:
        raise ValueError(kind)
    insulation = INSULATIONS[details["insulation"]] if "insulation" in details else None
    route = by_house_rules(run.kind, length_m, insulation=insulation, ways=ways)
    if "zone" in details:
        route = replace(route, stretches=(in_zone(details["zone"], length_m),))
    return Job(
        run=run,
        route=route,
        system=details.get("system", "AWG"),
        sheathed=bool(number("sheathed")),
    )


def feed(details: Mapping[str, str]) -> FeedRun:
    """One amplifier's feed, or that of several together."""
    volt = float(details.get("supply_v", 14.4))
    kind = supply.CLASSES[details.get("class", "D")]
    watts = [float(each) for each in details.get("watts", details.get("rated_w", "")).split()]
    return combined([FeedRun(rated_w=each, amplifier_class=kind, supply_v=volt, full_power_v=volt) for each in watts])


def ground_route(length_m: float) -> Route:
    """A ground wire in the boot, beside the amplifiers, back by the body."""
    return Route(stretches=(in_zone("boot", length_m),), insulation=INSULATIONS["pvc_105"], ways=1)
