"""Many plans: found on disk, solved on all cores or by any engine that has the executor interface of Python."""

from __future__ import annotations

import glob
import os
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from wirecalc.errors import FileFaults, InputError
from wirecalc.front.from_disk import plan_from_disk
from wirecalc.front.report import as_data, fault_data
from wirecalc.vehicle.choose import ChosenPlan, choose_plan
from wirecalc.vehicle.model import Vehicle
from wirecalc.vehicle.text import vehicle_of


def plans_in(given: Iterable[str]) -> list[Path]:
    """Every plan that is meant: a file, a folder with one or many, or a pattern with * and ?.

    Parameters
    ----------
    given : iterable of str
        As typed.

    Returns
    -------
    list of Path
        In order, each once; as `wirecalc.front.from_disk.plan_from_disk` takes them.

    Raises
    ------
    InputError
        If a pattern or a folder has no plan.
    """
    plans: list[Path] = []
    for pattern in given:
        path = Path(pattern)
        if path.is_dir():
            here = _in_folder(path)
        elif any(sign in pattern for sign in "*?["):
            matches = sorted(Path(match) for match in glob.glob(pattern, recursive=True))  # noqa: PTH207
            here = [part for match in matches for part in (_in_folder(match) if match.is_dir() else _of_file(match))]
        else:
            here = [path]
        if not here:
            raise InputError("Plan", pattern, "a workbook .xlsx, or …devices.csv beside …wires.csv")
        plans += here
    return list(dict.fromkeys(plans))


def _of_file(path: Path) -> list[Path]:
    if path.suffix.lower() == ".xlsx":
        return [path]
    return [path.with_name(path.name.replace("wires.csv", "devices.csv"))] if path.name.endswith("s.csv") else []


def _in_folder(folder: Path) -> list[Path]:
    books, lists = sorted(folder.glob("*.xlsx")), sorted(folder.glob("*devices.csv"))
    if not books and (len(lists) != 1 or len(list(folder.glob("*wires.csv"))) != 1):
        return lists or [folder]  # which says what it lacks
    return [*books, *lists] if books else [folder]


@contextmanager
def kept_clean() -> Iterator[None]:
    """What a solver prints by itself, below Python, goes to standard error: standard output holds answers only."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # closed, as of a program without a console
        yield
        return
    try:
        os.dup2(2, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)


def solved_file(path: Path, sold_as: str | None = None) -> ChosenPlan:
    """One plan from disk, with everything chosen.

    Parameters
    ----------
    path : Path
        See `wirecalc.front.from_disk.plan_from_disk`.
    sold_as : str, optional
        Sizes to choose from, instead of what the plan's house rules say.

    Returns
    -------
    ChosenPlan

    Raises
    ------
    InputError
        If it cannot be used.
    """
    return choose_plan(_of_shelf(vehicle_of(plan_from_disk(path)), sold_as))


def _of_shelf(vehicle: Vehicle, system: str | None) -> Vehicle:
    """With house rules that take wire sold in this way for every circuit."""
    rules = vehicle.rules
    for rule in vehicle.rules.rules if system else ():
        if rule.rule == "sold_as":
            rules = rules.replace(rule.key, str(system))
    return replace(vehicle, rules=rules)


def answered(path: Path, sold_as: str | None = None) -> dict[str, Any]:
    """One plan from disk as data; a plan that cannot be used gives its faults.

    Parameters
    ----------
    path : Path
    sold_as : str, optional
        See `solved_file`.

    Returns
    -------
    dict
        By the schema of `wirecalc.front.schema`.
    """
    try:
        return {"file": str(path), **as_data(solved_file(path, sold_as))}
    except FileFaults as why:
        return {"file": str(path), **fault_data(why.faults)}
    except InputError as why:
        return {"file": str(path), **fault_data([why])}


def _apart() -> None:
    """In a process of our own: as `kept_clean`, for good."""
    os.dup2(2, 1)


def solve_all(
    plans: Iterable[str | Path], executor: Executor | None = None, sold_as: str | None = None
) -> Iterator[dict[str, Any]]:
    """Solve many plans from disk.

    Parameters
    ----------
    plans : iterable of str or Path
        Files; see `wirecalc.read_plan`.
    executor : concurrent.futures.Executor, optional
        Where they are solved, such as that of a cluster (``dask.distributed.Client().get_executor()``), and left open;
        processes on all cores of this machine if not given.
    sold_as : str, optional
        Sizes to choose from, instead of what each plan's house rules say.

    Yields
    ------
    dict
        The answer to each in order, as `wirecalc --json` prints it; a plan that cannot be used gives its faults.

    Examples
    --------
    >>> import wirecalc
    >>> from concurrent.futures import ThreadPoolExecutor
    >>> with ThreadPoolExecutor(1) as engine:
    ...     [(answer["file"], len(answer["faults"])) for answer in wirecalc.solve_all(["none.xlsx"], engine)]
    [('none.xlsx', 1)]
    """
    paths = [Path(plan) for plan in plans]
    as_sold = [sold_as] * len(paths)  # a list: Dask asks for its length
    if executor is not None:
        yield from executor.map(answered, paths, as_sold)
        return
    with ProcessPoolExecutor(min(len(paths), os.cpu_count() or 1) or 1, initializer=_apart) as own:
        yield from own.map(answered, paths, as_sold)
