"""Very many loudspeaker runs at once: a table of them in, a table of answers out, as arrays all the way."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from wirecalc.circuits.circuit import solve_loop
from wirecalc.errors import InputError, check
from wirecalc.front.wires import wires
from wirecalc.units_taken import without_unit
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import COPPER, REFERENCE_C, ohms_per_metre

_NEEDED = ("power_w", "load_ohm", "length_m", "size")
_MAY_BE = {"rated_ohm": None, "damping_factor": 200.0, "temperature_c": REFERENCE_C, "parallel": 1.0, "joints_ohm": 0.0}


def speaker_runs(table: Any) -> pd.DataFrame:
    """Loudspeaker runs, one in each row.

    Parameters
    ----------
    table : pandas.DataFrame, or what makes one
        power_w, load_ohm, length_m and size ("18 AWG") of each; and rated_ohm (the load if not given), damping_factor,
        temperature_c, parallel, joints_ohm where they are not as usual. Other columns stay.

    Returns
    -------
    pandas.DataFrame
        The table with loop_ohm, loss_db, load_w, wire_w, drop_v, current_a, damping_at_load.

    Raises
    ------
    InputError
        If a column is missing, or a value is out of range: it says which, and in which row.

    Examples
    --------
    >>> import wirecalc
    >>> runs = {"power_w": 100.0, "load_ohm": [4.0, 2.0], "length_m": 5.0, "size": "16 AWG"}
    >>> wirecalc.speaker_runs(runs)["loss_db"].round(3).tolist()
    [0.286, 0.562]
    """
    table = pd.DataFrame(table)
    missing = [name for name in _NEEDED if name not in table]
    if missing:
        raise InputError("table", f"no column {', '.join(missing)}", f"the columns {', '.join(_NEEDED)}")
    at, labels = pd.factorize(table["size"])
    if (at < 0).any():
        raise InputError("size", f"nothing in row {table.index[int(np.argmax(at < 0))]}", "a size, as in 18 AWG")
    chosen, given = wires(list(labels)), {name: _column(table, name) for name in (*_NEEDED[:3], *_MAY_BE)}
    load_ohm = given["load_ohm"]
    rated_ohm = load_ohm if given["rated_ohm"] is None else given["rated_ohm"]
    warm = np.broadcast_to(np.asarray(given["temperature_c"], np.float64), at.shape)
    per_m = ohms_per_metre(chosen, REFERENCE_C)[at] * (1 + COPPER.per_k_20c * (warm - REFERENCE_C))
    ohm = loop_ohm(per_m, given["length_m"], parallel=given["parallel"], joints_ohm=given["joints_ohm"])
    power_w = check("power_w", given["power_w"], "W", low=0, high=20_000, above=True)
    rated_ohm = check(
        "rated_ohm" if given["rated_ohm"] is not None else "load_ohm", rated_ohm, "ohm", low=0.1, high=1000
    )
    emf_v = np.sqrt(power_w * rated_ohm) * (1.0 + 1.0 / given["damping_factor"])
    out = solve_loop(emf_v, rated_ohm / given["damping_factor"], ohm, load_ohm)
    answered: pd.DataFrame = table.assign(
        loop_ohm=ohm, loss_db=-out.level_db, load_w=out.load_w, wire_w=out.wire_w, drop_v=out.drop_v,
        current_a=out.current_a, damping_at_load=out.damping_factor,
    )  # fmt: skip
    return answered


def _column(table: pd.DataFrame, name: str) -> Any:
    if name not in table:
        return _MAY_BE[name]
    column = table[name]
    if column.dtype.kind in "fiu":
        return column.to_numpy(np.float64)
    return np.asarray(without_unit(name, column.tolist()), np.float64)
