"""Two choices of wire for one loudspeaker run: where the watts go, how far apart they are, and what they cost.

Taken at 20 degC and without joints; the heat is that of a cabin behind trim, PVC for 80 degC.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wirecalc import runs
from wirecalc.circuits import response
from wirecalc.circuits.load import Load
from wirecalc.circuits.loudspeaker import HasImpedance
from wirecalc.errors import check
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire import pair
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.zones import ZONES

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

NAMES = ("A", "B")
BAND_HZ = (20.0, 20e3)
DEAREST_PER_M = 10_000.0
_POINTS = 200
_COAT = INSULATIONS["pvc_80"]
_AIR_C = ZONES["cabin"].ambient_c


@dataclass(frozen=True, kw_only=True)
class ComparedWire:
    """One way to wire the run."""

    conductor: Conductor
    length_m: float
    """One way. [m]"""
    parallel: int = 1
    """Like conductors side by side, each way."""
    pair_per_m: float | None = None
    """Price of a metre of pair, in any currency; None where it is not known."""

    def __post_init__(self) -> None:
        check("Run length", self.length_m, "m", low=0, high=100, above=True)
        check("Conductors in parallel", self.parallel, "", low=1, high=16)
        if self.pair_per_m is not None:
            check("Price per metre", self.pair_per_m, "", low=0, high=DEAREST_PER_M)

    @property
    def label(self) -> str:
        """The wire, and its metal where it is not copper: "2 × 16 AWG, aluminium"."""
        count = f"{self.parallel} × " if self.parallel > 1 else ""
        metal = "" if self.conductor.metal.key == "copper" else f", {self.conductor.metal.name}"
        return f"{count}{self.conductor.label}{metal}"

    @property
    def cost(self) -> float | None:
        """The price of all pairs, without labour."""
        return None if self.pair_per_m is None else self.pair_per_m * self.length_m * self.parallel


@dataclass(frozen=True, kw_only=True, eq=False)
class Contrast:
    """Two choices, solved; arrays are (2,), the first choice first."""

    run: runs.SpeakerRun
    load: HasImpedance
    choices: tuple[ComparedWire, ComparedWire]
    bare_w: float
    """What the load would get through a wire of no resistance. [W]"""
    load_w: Array
    wire_w: Array
    amplifier_w: Array
    """Heat in the amplifier's output impedance. [W]"""
    loss_db: Array
    """Level lost to the wire at the nominal impedance. [dB]"""
    temperature_c: Array
    """Of the conductors, with music. [degC]"""
    limit_c: float
    """What the insulation stands. [degC]"""
    furthest_db: float
    """Level of the second over the first where they are furthest apart from 20 Hz to 20 kHz. [dB]"""
    furthest_hz: float

    @property
    def asked(self) -> tuple[runs.SpeakerRun, tuple[ComparedWire, ComparedWire], HasImpedance]:
        """All that the answer is made of: equal for equal entries."""
        return self.run, self.choices, self.load

    @property
    def undrawn_w(self) -> Array:
        """What of the watts without a wire each circuit never draws, as its resistance is higher. (2,) [W]"""
        return np.maximum(self.bare_w - self.load_w - self.wire_w - self.amplifier_w, 0.0)

    @property
    def apart_db(self) -> float:
        """Level of the second choice over the first at the nominal impedance. [dB]"""
        return float(self.loss_db[0] - self.loss_db[1])

    @property
    def too_hot(self) -> tuple[bool, bool]:
        """Whether the insulation gets hotter than it stands."""
        first, second = (self.temperature_c > self.limit_c).tolist()
        return first, second

    @property
    def extra_cost(self) -> float | None:
        """Cost of the second choice less that of the first; None where a price is missing."""
        first, second = (choice.cost for choice in self.choices)
        return None if first is None or second is None else second - first


@takes_units
def transfer(
    run: runs.SpeakerRun, load: HasImpedance, choices: Sequence[ComparedWire], frequency_hz: ArrayLike
) -> Complex:
    """Voltage at the load with each choice over that with no wire.

    Parameters
    ----------
    run : runs.SpeakerRun
        Gives the amplifier.
    load : HasImpedance
    choices : sequence of n ComparedWire
    frequency_hz : (f,) array_like
        [10 Hz to 40 kHz]

    Returns
    -------
    (n, f) numpy.ndarray of complex128
        ``(Zs + ZL) / (Zs + Zw + ZL)``; 20 log10 of its modulus is `wirecalc.circuits.response.level_db`. [-]

    Raises
    ------
    InputError
        If a value is out of range.
    """
    bare_ohm = run.amplifier.output_ohm + load.impedance(frequency_hz)
    wires = insulated([choice.conductor for choice in choices], _COAT)
    walls_m = wires.wall_m
    wire_ohm = [
        response.wire_impedance(
            [pair.Pair(conductor=choice.conductor, insulation=pair.DIELECTRICS["pvc"], insulation_m=float(wall_m))],
            choice.length_m,
            frequency_hz,
            parallel=choice.parallel,
        )[0]
        for choice, wall_m in zip(choices, walls_m, strict=True)
    ]
    return np.asarray(bare_ohm / (bare_ohm + np.array(wire_ohm)))


def contrast(
    run: runs.SpeakerRun, choices: tuple[ComparedWire, ComparedWire], load: HasImpedance | None = None
) -> Contrast:
    """Solve two choices.

    Parameters
    ----------
    run : runs.SpeakerRun
        Amplifier and nominal impedance; watts are taken at the latter.
    choices : tuple of two ComparedWire
        What is held against what.
    load : HasImpedance, optional
        Over frequency; the nominal impedance as a plain resistance if not given.

    Returns
    -------
    Contrast
        Numbers of both, by their place in `choices`.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    load = load or Load(ohm=run.load_ohm.real)
    outcomes: list[runs.Measures] = []
    for choice in choices:
        laid = runs.Installation(length_m=choice.length_m, parallel=choice.parallel)
        place = runs.Place(insulation=_COAT, ambient_c=_AIR_C, loaded=2 * choice.parallel)
        plain = run.measures(runs.wire_ohm([choice.conductor], laid), choice.length_m)
        warm = runs.with_heat(plain, [choice.conductor], laid, place)
        outcomes.append({**warm, "peak_a": plain["current_a"]})
    names = ("load_w", "wire_w", "loss_db", "temperature_c", "peak_a")
    of = {name: np.array([float(outcome[name][0]) for outcome in outcomes]) for name in names}
    hz = np.clip(np.geomspace(*BAND_HZ, _POINTS), *BAND_HZ)
    level_db = 20 * np.log10(np.abs(transfer(run, load, choices, hz)))
    over_db = level_db[1] - level_db[0]
    at = int(np.argmax(np.abs(over_db)))
    return Contrast(
        run=run,
        load=load,
        choices=choices,
        bare_w=float(run.measures(0.0, 0.0)["load_w"]),
        load_w=of["load_w"],
        wire_w=of["wire_w"],
        amplifier_w=of["peak_a"] ** 2 * run.amplifier.output_ohm,
        loss_db=of["loss_db"],
        temperature_c=of["temperature_c"],
        limit_c=_COAT.limit_c,
        furthest_db=float(over_db[at]),
        furthest_hz=float(hz[at]),
    )
