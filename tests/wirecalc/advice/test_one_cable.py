"""What a cable on the shelf is worth for a run: against judging every count of circuits, and by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from wirecalc import runs
from wirecalc.advice.held import TOO_THIN
from wirecalc.advice.job import Job
from wirecalc.advice.one_cable import TURN, TWISTED, Laying, one_cable
from wirecalc.advice.size import advise
from wirecalc.advice.stretches import Route, in_zone
from wirecalc.circuits.circuit import Amplifier
from wirecalc.errors import InputError
from wirecalc.wire.cable_types import CABLES
from wirecalc.wire.insulation import INSULATIONS

FEET_20 = 6.096
NINE = CABLES["speaker_9"]


def door(power_w: float = 75.0, length_m: float = FEET_20, zone: str = "cabin") -> Job:
    """A loudspeaker of 4 ohm, out and back."""
    run = runs.SpeakerRun(amplifier=Amplifier(power_w=power_w, rated_ohm=4.0, damping_factor=150.0), load_ohm=4.0)
    return Job(run=run, route=Route(stretches=(in_zone(zone, length_m),), insulation=INSULATIONS["pvc_80"], ways=2))


@pytest.mark.parametrize(
    ("power_w", "length_m", "circuits", "single", "double", "pull"),
    [
        # what each way takes of one cable; by hand: 18 AWG 20.9 mΩ/m, 12 m loop 0.26 Ω of 4 Ω: 0.55 dB cold, limit 0.4
        (75.0, FEET_20, 4, 0, 2, "16 AWG"),
        (75.0, FEET_20, 1, 0, 2, "16 AWG"),
        (25.0, 3.0, 4, 4, 2, "18 AWG"),
        (400.0, 12.0, 1, 0, 0, "12 AWG"),
    ],
)
def test_four_doors_over_nine_conductors(
    power_w: float, length_m: float, circuits: int, single: int, double: int, pull: str
) -> None:
    advice = one_cable(door(power_w, length_m), NINE, circuits)
    assert advice.single is not None
    assert advice.double is not None
    assert advice.separate.pull is not None
    assert (advice.single.takes, advice.double.takes, advice.separate.pull.label) == (single, double, pull)
    for laying in (advice.single, advice.double):
        assert laying.cables == (math.ceil(circuits / laying.takes) if laying.takes else 0)
        used = [name for some in laying.used for name in some]
        assert len(set(used)) == len(used) == 2 * laying.parallel * min(circuits, laying.takes)
        assert set(used) | set(laying.spare) == {core.name for core in NINE.cores}
        assert all(len({NINE.cores[at].pair for at in _places(some[:2])}) == 1 for some in laying.used)
    if not single and double:
        assert "One pair does not" in advice.sentence
        assert "Two pairs side by side do." in advice.sentence
    assert pull in advice.sentence or single == 4


def _places(names: tuple[str, ...]) -> list[int]:
    return [at for at, core in enumerate(NINE.cores) if core.name in names]


@pytest.mark.parametrize("key", ["speaker_9", "speaker_9_20", "trailer_7", "speaker_4_14"])
@pytest.mark.parametrize("parallel", [1, 2])
def test_as_many_as_judging_every_count(key: str, parallel: int) -> None:
    cable = CABLES[key]
    lamp = Job(
        run=runs.DeviceRun(rated_a=2.5, supply_v=12.6, behaviour="constant current", critical=True),
        route=Route(stretches=(in_zone("boot", 3.0),), insulation=INSULATIONS["pvc_80"], ways=1),
    )
    for job in (door(30.0, 4.0), lamp):
        laying = getattr(one_cable(job, cable, 24), "single" if parallel == 1 else "double")
        if laying is None:
            assert not cable.pairs
            assert job.route.ways == 2
            continue
        best = 0
        for core in dict.fromkeys(core.conductor for core in cable.cores):
            room = (
                sum(two[0].conductor == core for two in cable.pairs.values())
                if job.route.ways == 2
                else sum(cable_core.conductor == core for cable_core in cable.cores)
            ) // parallel
            for count in range(1, room + 1):
                loaded = count * job.route.ways * parallel
                route = replace(
                    job.route, insulation=cable.insulation, parallel=parallel,
                    stretches=tuple(replace(each, loaded=loaded) for each in job.route.stretches),
                )  # fmt: skip
                asked = advise(replace(job, asked=core, stock=(core,), route=route, sheathed=True)).asked
                if asked is None or asked.state == TOO_THIN:
                    break
                best = max(best, count)
        assert laying.takes == best


def test_out_and_back_of_a_supply_needs_no_twist() -> None:
    lamp = Job(
        run=runs.LampRun(supply_v=12.6, strip_m=0.5, amps_per_m=0.4, strip_ohm_per_m=0.1),
        route=Route(stretches=(in_zone("boot", 2.0),), insulation=INSULATIONS["pvc_80"], ways=2),
    )
    advice = one_cable(lamp, CABLES["trailer_7"])
    assert advice.single is not None
    assert advice.single.takes == 3  # of six conductors of 1.5 mm²
    sound = one_cable(door(), CABLES["trailer_7"])
    assert sound.single is None
    assert "no twisted pair" in sound.sentence
    assert sound.best is None


def test_a_line_signal_has_no_gauge() -> None:
    line = Job(run=runs.LineRun(source_ohm=100.0, input_ohm=10e3, farad_per_m=1e-10), route=door().route)
    advice = one_cable(line, CABLES["line_2"], 2)
    assert advice.single is not None
    assert advice.single.pick is None
    assert advice.single.takes == 2
    assert "screen and capacitance decide" in advice.sentence


def test_cost_is_length_times_price() -> None:
    advice = one_cable(door(), NINE, 4, cable_price=2.0, wire_price=0.5)
    assert advice.double is not None
    assert advice.double.price == pytest.approx(2 * FEET_20 * 2.0)  # two cables
    assert advice.separate_price == pytest.approx(4 * 2 * FEET_20 * 0.5)
    bare = one_cable(door(), NINE, 4)
    assert isinstance(bare.double, Laying)
    assert bare.double.price is None
    assert bare.separate_price is None
    with pytest.raises(InputError, match="1 to 24"):
        one_cable(door(), NINE, 25)


def test_a_twisted_wire_is_as_long_as_its_helix() -> None:
    """The arc of a helix, summed by points: radius half a diameter, one turn each `TURN` diameters."""
    turn = np.linspace(0.0, 1.0, 20_001)
    points = np.stack([0.5 * np.cos(2 * np.pi * turn), 0.5 * np.sin(2 * np.pi * turn), TURN * turn])
    length = np.linalg.norm(np.diff(points), axis=0).sum()
    assert pytest.approx(length / TURN, rel=1e-6) == TWISTED
