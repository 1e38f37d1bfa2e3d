"""How warm the conductors of a vehicle get under their own current, and what they resist then.

A warmer conductor resists more, which changes the currents a little, and with them the warmth: `settled` repeats the
two until nothing moves. One run does the same for one wire, in `wirecalc.advice.stretches.settle`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from wirecalc.vehicle.model import Wire
from wirecalc.vehicle.network import LEAST_OHM, Wiring
from wirecalc.vehicle.supply import Supply, supplied
from wirecalc.wire import heat
from wirecalc.wire.conductor import HOTTEST_C, REFERENCE_C, Conductor
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.zones import ZONES

Array = NDArray[np.float64]

_CLOSE_K, _MOST_ROUNDS = 0.01, 25


class Warmth:
    """Conductors in the places that their wires pass; several may stand for one wire, as sizes to choose from.

    Parameters
    ----------
    wiring : Wiring
    wires : sequence of n Wire
        Of that wiring's vehicle; a wire may stand there more than once.
    conductors : sequence of n Conductor
        One for each of them.
    """

    def __init__(self, wiring: Wiring, wires: Sequence[Wire], conductors: Sequence[Conductor]) -> None:
        vehicle = wiring.vehicle
        self._cold_ohm = np.array([one.ohm_per_m_20c for one in conductors])
        self._per_k = np.array([one.metal.per_k_20c for one in conductors])
        self._length_m, self._parallel, self._joints_ohm = (
            np.array([getattr(wire, name) for wire in wires], np.float64)
            for name in ("length_m", "parallel", "joints_ohm")
        )
        self._joints_ohm /= np.array([vehicle.ways(wire) for wire in wires])
        parts = [
            (at, zone, part_m / wire.length_m)
            for at, wire in enumerate(wires)
            for zone, part_m in (wire.places or ((wire.zone, wire.length_m),))
        ]
        self._of = np.array([at for at, _, _ in parts], np.intp)
        self._first = np.flatnonzero(np.diff(self._of, prepend=-1))
        self._share = np.array([share for _, _, share in parts])
        self._ambient_c = np.array([ZONES[zone].ambient_c for _, zone, _ in parts])
        loaded = np.array([vehicle.loaded(wire) for wire in wires], np.float64)
        self._groups = []
        for key in {wire.insulation for wire in wires}:
            own = np.array([row for row, at in enumerate(self._of) if wires[at].insulation == key], np.intp)
            coated = insulated([conductors[self._of[row]] for row in own], INSULATIONS[key])
            self._groups.append((own, coated, loaded[self._of[own]]))

    def mean_c(self, current_a: Array) -> Array:
        """Temperature over the whole way of each wire, each place by its length.

        Parameters
        ----------
        current_a : (..., n) array
            Of each wire, all its conductors in parallel together; nan counts as none. [A]

        Returns
        -------
        (..., n) numpy.ndarray
            What is over 250 counts as 250, where the straight line in temperature ends. [degC]
        """
        each_a = np.nan_to_num(np.abs(current_a)) / self._parallel
        of_part = np.empty((*each_a.shape[:-1], len(self._of)))
        for own, coated, loaded in self._groups:
            here_a = np.minimum(each_a[..., self._of[own]], 9999.0)
            found = heat.temperature_c(coated, here_a, self._ambient_c[own], loaded)
            of_part[..., own] = np.minimum(found, HOTTEST_C)
        if not len(self._first):
            return each_a
        return np.asarray(np.add.reduceat(of_part * self._share, self._first, axis=-1))

    def way_ohm(self, temperature_c: Array) -> Array:
        """Resistance of one way of each wire.

        Parameters
        ----------
        temperature_c : (..., n) array
            See `mean_c`. [degC]

        Returns
        -------
        (..., n) numpy.ndarray
            With the joints of that way, at least `wirecalc.vehicle.network.LEAST_OHM`. [ohm]
        """
        warm = 1 + self._per_k * (temperature_c - REFERENCE_C)
        ohm = self._cold_ohm * warm * self._length_m / self._parallel + self._joints_ohm
        return np.maximum(ohm, LEAST_OHM)


def settled(wiring: Wiring, conductors: Sequence[Conductor], fuses_a: Mapping[str, float]) -> Supply:
    """A vehicle's supply solved with every conductor as warm as its own current makes it, in each state.

    Parameters
    ----------
    wiring : Wiring
    conductors : sequence of w Conductor
        One for each of `Wiring.wires`.
    fuses_a : mapping of str to float
        Rating of the fuse of each conductor, by the wire's name; a wire that is not there has none. [A]

    Returns
    -------
    Supply

    Raises
    ------
    InputError
        If some terminal has no path to a battery.

    Notes
    -----
    Starts as warm as the air and repeats until no conductor moves by more than 0.01 K. A state without operating point
    is left as warm as the air.
    """
    warmth = Warmth(wiring, wiring.wires, conductors)
    mean_c = warmth.mean_c(np.zeros(len(wiring.wires)))
    for _ in range(_MOST_ROUNDS):
        ways_ohm = warmth.way_ohm(mean_c)
        found = supplied(wiring, wiring.ohms(ways_ohm, fuses_a), wiring.fuses_ohm(fuses_a), mean_c)
        new_c = warmth.mean_c(found.current_a)
        moved_k = float(np.max(np.abs(new_c - mean_c), initial=0.0))
        if moved_k < _CLOSE_K:
            break
        mean_c = new_c
    return found
