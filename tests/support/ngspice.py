"""ngspice as an oracle: a netlist in, the named vectors out at full double precision.

>>> out = run("V1 in 0 DC 0 AC 1\\nR1 in out 1k\\nC1 out 0 1u", "ac lin 1 1k 1k", ["v(out)", "i(v1)"])
>>> out["frequency"], out["v(out)"].round(6)
(array([1000.]), array([0.024705-0.155223j]))
>>> float(run("V1 a 0 14.4\\nR1 a b 1\\nR2 b 0 3", "op", ["v(b)"])["v(b)"][0].round(9))
10.8
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from wirecalc.vehicle.nodal import Network

Vectors = dict[str, np.ndarray[Any, np.dtype[Any]]]


def run(netlist: str, analysis: str, vectors: Sequence[str], *, timeout_s: float = 60.0) -> Vectors:
    """Run one analysis of a netlist in batch mode in a folder of its own.

    Parameters
    ----------
    netlist : str
        Elements, models and ``.options``, one a line; no title, no ``.control`` block and no ``.end``.
    analysis : str
        A command: "op", "ac dec 20 10 40k", "tran 1u 1m", "dc V1 0 10 0.1".
    vectors : sequence of str
        Vectors or expressions without blanks: "v(out)", "v(a)-v(b)", "i(v1)", "vdb(out)".

    Returns
    -------
    dict of str to (n,) numpy.ndarray
        One entry a vector, complex where ngspice has it complex; besides them "frequency", "time" or the
        like for the sweep (not for "op").

    Raises
    ------
    RuntimeError
        If ngspice is not installed, or it could not do what was asked; its own words follow.
    """
    program = shutil.which("ngspice")
    if program is None:
        raise RuntimeError("ngspice is not on the PATH; this check needs it: install the package “ngspice”")
    with tempfile.TemporaryDirectory() as folder:
        writes = [f"wrdata {number}.txt {vector}" for number, vector in enumerate(vectors)]
        # numdgt counts the digits behind the point, 16 in all with 15: one more gives a double back whole
        control = ["set numdgt=16", "set wr_singlescale", "set wr_vecnames", analysis, *writes, "quit"]
        deck = "\n".join(["* oracle", netlist.strip("\n"), ".control", *control, ".endc", ".end", ""])
        (Path(folder) / "deck.cir").write_text(deck)
        done = subprocess.run(
            [program, "-b", "deck.cir"],
            cwd=folder,
            capture_output=True,
            text=True,
            timeout=timeout_s,
            check=False,
        )
        curves: Vectors = {}
        for number, vector in enumerate(vectors):
            file = Path(folder) / f"{number}.txt"
            if not file.exists():
                raise RuntimeError(f"ngspice gave no {vector}:\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
            head, _, body = file.read_text().partition("\n")
            columns = np.array(body.split(), np.float64).reshape(-1, len(head.split())).T
            if analysis.split()[0] != "op":
                curves[head.split()[0].lower()] = columns[0]
            curves[vector] = columns[1] + 1j * columns[2] if len(columns) == 3 else columns[1]
    return curves


def netlist_of(network: Network, start_v: Sequence[float] = ()) -> str:
    """A `Network` as a netlist: node k is "k", constant powers are behavioural sources.

    With `start_v`, of every node, the search begins there; with thousands of nodes that alone takes ngspice seconds.
    """
    lines = [f".nodeset v({node})={float(volt)!r}" for node, volt in enumerate(start_v) if node]
    for k, (start, end, ohm) in enumerate(zip(network.start, network.end, network.ohm.tolist(), strict=True)):
        lines.append(f"R{k} {start} {end} {ohm!r}")
    sources = zip(
        network.source_plus, network.source_minus, network.source_v.tolist(), network.source_ohm.tolist(), strict=True
    )
    for k, (plus, minus, volt, ohm) in enumerate(sources):
        lines += [f"VS{k} s{k} {minus} {volt!r}", f"RS{k} s{k} {plus} {ohm!r}"]
    values = (network.power_w, network.current_a, network.siemens, network.floor_v)
    loads = zip(network.load_plus, network.load_minus, *(value.tolist() for value in values), strict=True)
    for k, (plus, minus, power_w, current_a, siemens, floor_v) in enumerate(loads):
        volt = f"V({plus},{minus})" if minus else f"V({plus})"
        if power_w and floor_v:
            lines.append(
                f"BP{k} {plus} {minus} I={volt} > {floor_v!r} ? {power_w!r}/{volt} : {power_w / floor_v**2!r}*{volt}"
            )
        elif power_w:
            lines.append(f"BP{k} {plus} {minus} I={power_w!r}/{volt}")
        if current_a:
            lines.append(f"IL{k} {plus} {minus} {current_a!r}")
        if siemens:
            lines.append(f"RL{k} {plus} {minus} {1 / siemens!r}")
    return "\n".join(lines)
