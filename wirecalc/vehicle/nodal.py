"""A direct-current network of resistances, sources and loads: the voltage of every node, by Newton's method.

It knows nodes, branches and loads by number only; who calls gives them names.
"""

from __future__ import annotations

from dataclasses import field

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import coo_array, csc_array
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import SuperLU, splu

from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

CLOSE_ENOUGH = 1e-9  # last step over the highest voltage; what is left after it is far less
NEARLY = 1e-4  # after such a step the next will be the last, most often
MOST_STEPS = 60  # at the very limit a step only halves the error: 30 to `CLOSE_ENOUGH`
SHARE_CLOSE = 1e-6  # relative, of the share that can be delivered


class FloatingNode(InputError):
    """Nodes that no branch and no source connects to the reference.

    Attributes
    ----------
    nodes : tuple of int
        All of them.
    """

    def __init__(self, nodes: tuple[int, ...]) -> None:
        super().__init__(
            "Node",
            ", ".join(map(str, nodes)),
            "connected to node 0 by branches and sources",
            "Add the missing wire or return.",
        )
        self.nodes = nodes
        self.args = (nodes,)  # so that it pickles


class NoOperatingPoint(InputError):
    """The network cannot deliver what its loads draw.

    Attributes
    ----------
    share : float
        Of all constant powers and currents, scaled alike: what can be delivered at most. [0 to 1]
    load : int
        The load whose voltage collapses first.
    load_v : float
        Its voltage at that share. [V]
    branch : int or None
        The branch that takes the most from that load's voltage at that share; None without branches.
    drop_v : float
        What it takes. In series this is its drop; in a mesh, the part of its drop that reaches the load. [V]
    source : int or None
        The source whose inner resistance takes still more than the branch; None if none does.
    """

    def __init__(
        self, share: float, load: int, load_v: float, branch: int | None, drop_v: float, source: int | None
    ) -> None:
        wire = "" if branch is None else f"Branch {branch} takes the most from its voltage, {drop_v:.3g} V. "
        inner = "" if source is None else f"The inner resistance of source {source} takes still more. "
        super().__init__(
            f"Load {load}",
            "its full draw",
            f"at most {share * 100:.4g} % of all constant powers and currents; there its voltage is down to"
            f" {load_v:.3g} V and collapses",
            wire + inner + "Take a thicker or shorter one, or less power.",
        )
        self.share, self.load, self.load_v = share, load, load_v
        self.branch, self.drop_v, self.source = branch, drop_v, source
        self.args = (share, load, load_v, branch, drop_v, source)  # so that it pickles


@dataclass(frozen=True, kw_only=True, eq=False)
class Network:
    """What is connected to what. Fields may be any array_like; values broadcast to the number of ends.

    Raises
    ------
    InputError
        If a value is out of range, or a node number is none of `nodes`.
    """

    nodes: int
    """How many; node 0 is the reference, at 0 V."""
    start: Indices
    """Of each branch, (e,)."""
    end: Indices
    """Of each branch, (e,)."""
    ohm: Array
    """Of each branch, (e,). [ohm]"""
    source_plus: Indices
    """(s,)"""
    source_minus: Indices
    """(s,)"""
    source_v: Array
    """With nothing drawn, (s,). [V]"""
    source_ohm: Array
    """Inner resistance, (s,). [ohm]"""
    load_plus: Indices
    """(l,)"""
    load_minus: Indices
    """(l,)"""
    power_w: Array
    """Drawn at any voltage, (l,). [W]"""
    current_a: Array
    """Drawn at any voltage, on top, (l,). [A]"""
    siemens: Array
    """Drawn in proportion to the voltage, on top, (l,). [S]"""
    floor_v: Array = field(default_factory=lambda: np.zeros(()))
    """Where the power gives way: below, it is the resistance that it is there; 0: never. (l,) [V]"""

    def __post_init__(self) -> None:
        check("Number of nodes", self.nodes, "", low=2)
        kinds = {
            "Branch": (("start", "end"), (("ohm", 1e-6, 1e9, "ohm"),)),
            "Source": (
                ("source_plus", "source_minus"),
                (("source_v", 0, 1e6, "V"), ("source_ohm", 1e-6, 1e9, "ohm")),
            ),
            "Load": (
                ("load_plus", "load_minus"),
                (
                    ("power_w", 0, 1e9, "W"),
                    ("current_a", 0, 1e6, "A"),
                    ("siemens", 0, 1e6, "S"),
                    ("floor_v", 0, 1e6, "V"),
                ),
            ),
        }
        for kind, (ends, values) in kinds.items():
            for name in ends:
                object.__setattr__(self, name, _node_numbers(f"{kind} {name}", getattr(self, name), self.nodes))
            count = getattr(self, ends[0]).shape
            if getattr(self, ends[1]).shape != count:
                raise InputError(f"{kind} {ends[1]}", getattr(self, ends[1]).size, f"as many as {ends[0]}: {count[0]}")
            for name, low, high, unit in values:
                array = check(f"{kind} {name}", getattr(self, name), unit, low=low, high=high)
                try:
                    object.__setattr__(self, name, np.broadcast_to(array, count))
                except ValueError:
                    raise InputError(f"{kind} {name}", array.size, f"as many as {ends[0]}: {count[0]}") from None


@dataclass(frozen=True, kw_only=True, eq=False)
class Solution:
    """Voltages and currents; the four powers are a balance: sources = branches + loads + inner."""

    node_v: Array
    """Against node 0, (n,). [V]"""
    branch_a: Array
    """From start to end, (e,). [A]"""
    load_v: Array
    """From plus to minus, (l,). [V]"""
    load_a: Array
    """Into plus, (l,). [A]"""
    source_a: Array
    """Out of plus, (s,); below 0 where a source is charged. [A]"""
    source_w: Array
    """Voltage with nothing drawn times current, (s,). [W]"""
    branch_w: Array
    """Lost, (e,). [W]"""
    load_w: Array
    """Drawn, (l,). [W]"""
    inner_w: Array
    """Lost in the sources, (s,). [W]"""


def solve_network(network: Network) -> Solution:
    """Voltages and currents of a network, coming from no load: the stable answer with the high voltages.

    Parameters
    ----------
    network : Network

    Returns
    -------
    Solution

    Raises
    ------
    FloatingNode
        If a node is not connected to node 0.
    InputError
        If a load has no voltage, or one of the wrong sign, with nothing drawn.
    NoOperatingPoint
        If the loads cannot draw what they want, or a constant current would need a voltage of 0 or below.

    Notes
    -----
    With capacitors at the loads, a disturbance dies away where the matrix of Newton's method is positive
    definite; that is asked of every answer. Where current drawn by any load lowers the voltage of every load,
    as in any feed from one battery, at most one such answer exists, it has the highest voltages of all, and
    Newton's method comes down to it from no load without ever passing it (a convex function of an M-matrix) [1]_.
    A power that gives way below its floor always has an answer; steps that lead uphill on the way are damped.

    References
    ----------
    .. [1] J. M. Ortega and W. C. Rheinboldt, Iterative Solution of Nonlinear Equations in Several Variables:
       the monotone Newton theorem; from memory.

    Examples
    --------
    1000 W through 5 milliohm from 14.4 V, as in `wirecalc.circuits.supply.constant_power`:

    >>> found = solve_network(Network(nodes=3, start=[1], end=[2], ohm=[0.004], source_plus=[1], source_minus=[0],
    ...     source_v=[14.4], source_ohm=[0.001], load_plus=[2], load_minus=[0], power_w=[1000], current_a=0, siemens=0))
    >>> float(found.branch_a[0].round(5)), float(found.load_v[0].round(5))
    (71.20491, 14.04398)
    """
    system = _System(network)
    open_v = system.nothing_drawn()
    return system.solution(system.approach(open_v))


def _node_numbers(field: str, given: ArrayLike, nodes: int) -> Indices:
    array = np.atleast_1d(np.asarray(given))
    whole = array.size == 0 or array.dtype.kind in "iu"
    if not whole or array.ndim > 1 or np.any((array < 0) | (array >= nodes)):
        raise InputError(field, given, f"whole numbers from 0 to {nodes - 1}")
    return array.astype(np.intp)


def _with_reference(inner: Array) -> Array:
    return np.concatenate(([0.0], inner))


class _System:
    """The equations of a network; the pattern of the matrix is made once."""

    def __init__(self, network: Network) -> None:
        self.network = net = network
        edges, sources = len(net.start), len(net.source_plus)
        # every element is a conductance from plus to minus; loads come last
        self.plus = np.concatenate((net.start, net.source_plus, net.load_plus))
        self.minus = np.concatenate((net.end, net.source_minus, net.load_minus))
        self.siemens = np.concatenate((1 / net.ohm, 1 / net.source_ohm, net.siemens))
        self.branches, self.sources = slice(0, edges), slice(edges, edges + sources)
        self.loads = slice(edges + sources, None)
        self._check_connected()

        ends = np.stack((self.plus, self.minus))
        rows, columns = ends[[0, 1, 0, 1]] - 1, ends[[0, 1, 1, 0]] - 1  # node 0 is not in the matrix
        sign = np.array([[1.0], [1.0], [-1.0], [-1.0]])
        inside = (rows >= 0) & (columns >= 0)
        size = net.nodes - 1
        values = (sign * self.siemens)[inside]
        self.matrix: csc_array = coo_array((values, (rows[inside], columns[inside])), shape=(size, size)).tocsc()
        self.matrix.sort_indices()
        self.linear = self.matrix.data.copy()
        # where the loads' slopes go
        loads_inside = inside[:, self.loads]
        column_of = np.repeat(np.arange(size), np.diff(self.matrix.indptr))
        keys = column_of * size + self.matrix.indices
        self.place = np.searchsorted(keys, (columns[:, self.loads] * size + rows[:, self.loads])[loads_inside])
        self.place_sign = np.broadcast_to(sign, loads_inside.shape)[loads_inside]
        self.place_load = np.nonzero(loads_inside)[1]
        self.gives_way = bool(np.any(net.floor_v[net.power_w > 0] > 0))

    def _check_connected(self) -> None:
        wired = slice(0, self.loads.start)
        links = coo_array(
            (np.ones(self.loads.start), (self.plus[wired], self.minus[wired])), shape=(self.network.nodes,) * 2
        )
        _, part = connected_components(links, directed=False)
        floating = np.nonzero(part != part[0])[0]
        if floating.size:
            raise FloatingNode(tuple(floating.tolist()))

    def nothing_drawn(self) -> Array:
        """Voltages without constant powers and currents; each of them must find one to draw from."""
        net = self.network
        none_a = self.leaving(self.currents(0.0, np.zeros(net.nodes)))
        node_v = _with_reference(self.factor(0 * net.siemens).solve(-none_a))
        load_v = self.across(node_v)[self.loads]
        lowest = CLOSE_ENOUGH * np.max(np.abs(node_v))
        wrong = np.nonzero((load_v <= lowest) & ((net.power_w > 0) | (net.current_a > 0)))[0]
        if wrong.size:
            raise InputError(
                f"Load {wrong[0]}",
                f"{load_v[wrong[0]]:.3g} V with nothing drawn",
                "above 0 V",
                "Swap its ends, or connect it to a source.",
            )
        return node_v

    def across(self, node_v: Array) -> Array:
        """Voltage of each element from plus to minus."""
        return node_v[self.plus] - node_v[self.minus]

    def power_draw(self, share: float, load_v: Array) -> tuple[Array, Array]:
        """Current of the constant powers, and power over voltage squared, both (l,)."""
        power_w = share * self.network.power_w
        held_v = np.where(power_w > 0, np.maximum(load_v, self.network.floor_v), 1.0)
        siemens = power_w / held_v**2
        return siemens * load_v, siemens

    def currents(self, share: float, node_v: Array) -> Array:
        """The current of each element, from plus to minus."""
        across_v = self.across(node_v)
        current_a = self.siemens * across_v
        current_a[self.sources] -= self.siemens[self.sources] * self.network.source_v
        drawn_a, _ = self.power_draw(share, across_v[self.loads])
        current_a[self.loads] += drawn_a + share * self.network.current_a
        return current_a

    def leaving(self, element_a: Array) -> Array:
        """Sum of the currents that leave each node but node 0."""
        nodes = self.network.nodes
        out_a = np.bincount(self.plus, element_a, nodes) - np.bincount(self.minus, element_a, nodes)
        return np.asarray(out_a[1:], np.float64)

    def factor(self, load_siemens: Array) -> SuperLU:
        """The matrix with slopes of the loads on top, factorised; pivots stay on the diagonal."""
        weights = self.place_sign * load_siemens[self.place_load]
        self.matrix.data = self.linear + np.bincount(self.place, weights, len(self.linear))
        return splu(
            self.matrix,
            permc_spec="MMD_AT_PLUS_A",  # no fill for a tree
            diag_pivot_thresh=0.0,
            relax=1,  # wide supernodes only cost where the factors are this sparse
            panel_size=1,
            options={"SymmetricMode": True},
        )

    def newton(self, share: float, node_v: Array, damping: float) -> SuperLU:
        """Newton's matrix; `damping` gives every constant power that much more of its own resistance."""
        load_v = self.across(node_v)[self.loads]
        _, siemens = self.power_draw(share, load_v)
        return self.factor(siemens * (np.where(load_v < self.network.floor_v, 1.0, -1.0) + damping))

    def settle(self, share: float, node_v: Array) -> Array | None:
        """The stable answer next below `node_v`; None if there is none."""
        net = self.network
        unheld = (net.power_w * share > 0) & (net.floor_v == 0)
        out_a = self.leaving(self.currents(share, node_v))
        damping, factors = 0.0, None
        for _ in range(MOST_STEPS):
            if factors is None:
                try:
                    factors = self.newton(share, node_v, damping)
                except RuntimeError:  # singular: exactly at the limit
                    return None
            step = _with_reference(factors.solve(-out_a))
            new_v = node_v + step
            size = np.max(np.abs(step)) / np.max(np.abs(node_v))
            if size <= CLOSE_ENOUGH and damping == 0:
                stable = np.array_equal(factors.perm_r, factors.perm_c) and np.all(factors.U.diagonal() > 0)
                reached = np.all(self.across(new_v)[self.loads][net.current_a * share > 0] > 0)
                return new_v if stable and reached else None
            # a step goes downhill in what the network minimises, or no answer lies below
            if step[1:] @ out_a < 0 and np.all(self.across(new_v)[self.loads][unheld] > 0):
                node_v, out_a = new_v, self.leaving(self.currents(share, new_v))
                if size > NEARLY or damping > 0:  # else the matrix serves once more, to show that this was the last
                    factors = None
                damping = 0.0 if damping < 1 else damping / 4
            elif self.gives_way:
                damping, factors = max(1.0, damping * 4), None
            else:
                return None
        return None

    def approach(self, open_v: Array) -> Array:
        """The solution found by raising all draws together from none to full; an error says at which share it ends."""
        if not (np.any(self.network.power_w) or np.any(self.network.current_a)):
            return open_v
        share, node_v, step = 0.0, open_v, 1.0  # most networks take all at once
        while share < 1:
            settled = self.settle(share + step, node_v)
            if settled is not None:
                share, node_v = share + step, settled  # steps are powers of 1/2: exact
            elif step > SHARE_CLOSE * share:
                step /= 2
            else:
                raise self.limit(share, node_v)
        return node_v

    def limit(self, share: float, node_v: Array) -> NoOperatingPoint:
        """Which source or branch limits what can be delivered."""
        net = self.network
        load_v = self.across(node_v)[self.loads]
        # the load that falls fastest as the share grows, relative to what it has
        rate_a = np.zeros(len(self.plus))
        rate_a[self.loads] = self.power_draw(1.0, load_v)[0] + net.current_a
        rate_v = _with_reference(self.newton(share, node_v, SHARE_CLOSE).solve(-self.leaving(rate_a)))
        collapsing = ((net.power_w > 0) & (net.floor_v == 0)) | (net.current_a > 0)
        fall = np.where(collapsing, self.across(rate_v)[self.loads] / load_v, np.inf)
        load = int(np.argmin(fall))
        # drop at the load from each element: its drop times its part of 1 A drawn by the load (reciprocity)
        one_a = np.zeros(len(self.plus))
        one_a[self.loads.start + load] = -1.0
        by_one_v = self.across(_with_reference(self.factor(0 * net.siemens).solve(-self.leaving(one_a))))
        drop_v = by_one_v * -self.currents(share, node_v)
        branch_v, source_v = drop_v[self.branches], drop_v[self.sources]
        branch = int(np.argmax(branch_v)) if branch_v.size else None
        most_v = float(branch_v[branch]) if branch is not None else 0.0
        source = int(np.argmax(source_v)) if np.max(source_v) > most_v else None
        return NoOperatingPoint(share, load, float(load_v[load]), branch, most_v, source)

    def solution(self, node_v: Array) -> Solution:
        net = self.network
        across_v, current_a = self.across(node_v), self.currents(1.0, node_v)
        branch_a, source_a, load_a = current_a[self.branches], -current_a[self.sources], current_a[self.loads]
        return Solution(
            node_v=node_v,
            branch_a=branch_a,
            load_v=across_v[self.loads],
            load_a=load_a,
            source_a=source_a,
            source_w=net.source_v * source_a,
            branch_w=net.ohm * branch_a**2,
            load_w=across_v[self.loads] * load_a,
            inner_w=net.source_ohm * source_a**2,
        )
