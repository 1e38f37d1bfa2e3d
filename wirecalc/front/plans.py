"""A vehicle's plan: from a file or from two DataFrames, solved, with what is chosen and what it costs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from wirecalc.errors import InputError
from wirecalc.front.from_disk import plan_from_disk
from wirecalc.front.report import plan_in_words
from wirecalc.units_taken import dataclass
from wirecalc.vehicle.choose import ChosenPlan, choose_plan
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.signed import signed
from wirecalc.vehicle.stock import USUAL_SIZES, Stock
from wirecalc.vehicle.text import PlanText, vehicle_of
from wirecalc.wire.bought import read_size


@dataclass(frozen=True, kw_only=True, eq=False)
class SolvedPlan:
    """A plan with nothing left to choose."""

    chosen: ChosenPlan
    """All of it; see `wirecalc.vehicle.choose.ChosenPlan`."""
    price_per_m: Mapping[Any, float]
    currency: str

    @property
    def meets(self) -> bool:
        """Whether every limit is met."""
        return self.chosen.plan.meets

    @property
    def words(self) -> str:
        """The verdict on each circuit, levels, charge, and what to mind."""
        return plan_in_words(self.chosen)

    @property
    def table(self) -> pd.DataFrame:
        """A row for each wire: what to pull, the least, the verdict with its reason, and every measure.

        With prices, cost_<currency> is the cost of its conductors: length, ways and conductors side by side.
        """
        plan = self.chosen.plan
        table = plan.table.copy()
        told = signed(plan, self.chosen.reasons, self.chosen.least)
        table.insert(5, "pull", [each.pull for each in told])
        table.insert(6, "least", [each.least for each in told])
        table.insert(7, "reason", [self.chosen.reasons.get(name, "") for name in table["wire"]])
        if self.price_per_m:
            metres = table["length_m"] * table["ways"] * table["parallel"]
            table[f"cost_{self.currency}"] = metres * table["size"].map(dict(self.price_per_m))
        return table

    @property
    def limits(self) -> pd.DataFrame:
        """A row for each wire and limit."""
        return self.chosen.plan.limits

    @property
    def levels(self) -> pd.DataFrame:
        """What each loudspeaker loses in its amplifier's feed and in its own run."""
        return self.chosen.plan.levels


def read_plan(path: str | Path | None = None) -> PlanText:
    """A plan from disk, as it was typed.

    Parameters
    ----------
    path : str or Path, optional
        An .xlsx workbook, one of the two CSV files (…devices.csv beside …wires.csv), or a folder with both; our
        invented vehicle if not given.

    Returns
    -------
    PlanText

    Raises
    ------
    InputError
        If there is no such file, or it cannot be used.

    Examples
    --------
    >>> import wirecalc
    >>> len(wirecalc.read_plan().wires.rows) > 20
    True
    """
    return demo_plan() if path is None else plan_from_disk(Path(path))


def solve(
    plan: PlanText | str | Path, price_per_m: Mapping[str, float] | None = None, currency: str = "money"
) -> SolvedPlan:
    """Choose what is left to choose, and judge every circuit.

    Parameters
    ----------
    plan : PlanText, str or Path
        A `wirecalc.Plan`, of a file or of two DataFrames (`wirecalc.Plan.from_tables`), or where it is on disk.
    price_per_m : mapping of str to float, optional
        Of one conductor by its size, "18 AWG"; these sizes are then what is on the shelf. [money per m]
    currency : str
        What they are in, for the name of the column.

    Returns
    -------
    SolvedPlan

    Raises
    ------
    InputError
        If the plan cannot be used: every fault by list, row and column.

    Examples
    --------
    >>> import wirecalc
    >>> devices = [{"Name": "Battery", "Kind": "battery"}, {"Name": "Body", "Kind": "body"},
    ...            {"Name": "Fan", "Kind": "other load", "Draw": "5 A"}]
    >>> plus = {"From terminal": "plus", "To terminal": "plus"}
    >>> minus = plus | {"From terminal": "minus"}
    >>> wires = [{"Name": "Fan feed", "From": "Battery", "To": "Fan", "Length": 3.0, "Size": "choose",
    ...           "Fuse": "choose"} | plus,
    ...          {"Name": "Fan ground", "From": "Fan", "To": "Body", "Length": "3 ft", "Size": "choose"} | minus,
    ...          {"Name": "Battery ground", "From": "Battery", "To": "Body", "Length": 0.4, "Size": "4 AWG"} | minus]
    >>> wirecalc.solve(wirecalc.Plan.from_tables(devices, wires)).table["grade"].tolist()
    ['fine', 'fine', 'fine']
    """
    text = plan if isinstance(plan, PlanText) else read_plan(plan)
    prices = {read_size(size, "price_per_m"): price for size, price in (price_per_m or {}).items()}
    stock = Stock(sizes=tuple(prices) or USUAL_SIZES, price_per_m=prices)
    if not currency.isidentifier():
        raise InputError("currency", currency, "letters, as in EUR")
    chosen = choose_plan(vehicle_of(text), stock)
    by_label = {
        wire.conductor.label: prices[wire.wire.size] for wire in chosen.plan.circuits if wire.wire.size in prices
    }
    return SolvedPlan(chosen=chosen, price_per_m=by_label, currency=currency)
