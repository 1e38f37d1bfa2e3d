"""A kind of job: what it asks, and the plan that the answers make."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from wirecalc.errors import FileFaults, InputError
from wirecalc.jobs.question import Answer, Question
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.vehicle.fields import CHOOSE, DEVICE_FIELDS, WIRE_FIELDS, Field
from wirecalc.vehicle.model import Device, Vehicle, Wire
from wirecalc.vehicle.text import PlanSheet, PlanText, cell_text

MOST_QUESTIONS = 8  # on one screen
Row = Mapping[str, Any]
"""Values of a device or a wire by the keys of `wirecalc.vehicle.fields`; what is not there is what its kind assumes."""
FROM_JOB = "a new job: what you entered; the rest is assumed"
DEFAULT = "assumed"


@dataclass(frozen=True, kw_only=True)
class Rows:
    """A plan before it is written: devices and wires with what is known of them."""

    devices: tuple[Row, ...]
    wires: tuple[Row, ...]

    def vehicle(self) -> Vehicle:
        """As a vehicle, with sizes and fuses still to be chosen.

        Raises
        ------
        wirecalc.errors.FileFaults
            If devices and wires do not fit together.
        """
        return Vehicle(
            devices=tuple(Device(**device) for device in self.devices), wires=tuple(Wire(**wire) for wire in self.wires)
        )


@dataclass(frozen=True, kw_only=True)
class JobKind:
    """One kind of job."""

    key: str
    """In a page's address."""
    title: str
    about: str
    """What it wires, in a sentence."""
    questions: tuple[Question, ...]
    """At most `MOST_QUESTIONS`."""
    rows: Callable[..., Rows]
    """Is called with the answers by their keys."""

    def answers(self, given: Mapping[str, object]) -> dict[str, Answer]:
        """Every answer, the default where none is given.

        Parameters
        ----------
        given : mapping of str to str or float
            By the keys of the questions; text as it is typed.

        Returns
        -------
        dict of str to float or str

        Raises
        ------
        wirecalc.errors.FileFaults
            With every answer that cannot be used.
        """
        answers: dict[str, Answer] = {}
        faults = [InputError(self.title, key, ", ".join(question.key for question in self.questions))
                  for key in given if key not in {question.key for question in self.questions}]  # fmt: skip
        for question in self.questions:
            try:
                answers[question.key] = question.read(given.get(question.key, question.start))
            except InputError as fault:
                faults.append(fault)
        if faults:
            raise FileFaults(faults)
        return answers

    def vehicle(self, given: Mapping[str, object] | None = None) -> Vehicle:
        """The plan of some answers; see `answers`.

        Parameters
        ----------
        given : mapping, optional

        Returns
        -------
        Vehicle
        """
        return self._rows(given or {})[0].vehicle()

    def text(self, given: Mapping[str, object] | None = None) -> PlanText:
        """The plan of some answers as it is written into the lists; lengths stay as they were typed.

        Parameters
        ----------
        given : mapping, optional
            See `answers`.

        Returns
        -------
        PlanText
        """
        rows, answers = self._rows(given or {})
        typed = {
            answers[key]: text
            for key, text in (given or {}).items()
            if isinstance(text, str) and isinstance(answers[key], float) and any(c.isalpha() for c in text)
        }
        return PlanText(
            devices=_sheet(rows.devices, DEVICE_FIELDS, typed), wires=_sheet(rows.wires, WIRE_FIELDS, typed)
        )

    def _rows(self, given: Mapping[str, object]) -> tuple[Rows, dict[str, Answer]]:
        answers = self.answers(given)
        return self.rows(**answers), answers


def _sheet(rows: tuple[Row, ...], fields: tuple[Field, ...], typed: Mapping[Answer, str]) -> PlanSheet:
    """With the columns that any row has; those that all need come first."""
    used = [each for each in fields if any(each.key in row for row in rows)]

    def cell(each: Field, row: Row) -> str:
        value = row.get(each.key)
        if each.key == "length_m" and value is not None and value in typed:
            return typed[value]
        return "" if value is None else cell_text(each, value)

    return PlanSheet(
        columns=tuple(each.column for each in used), rows=tuple(tuple(cell(each, row) for each in used) for row in rows)
    )


def device(name: str, kind: str, note: str = "", **values: Any) -> Row:
    """A device with what is known of it.

    Parameters
    ----------
    name, kind : str
    note : str
        What else should be known.
    **values
        By the keys of `wirecalc.vehicle.fields.DEVICE_FIELDS`.

    Returns
    -------
    mapping
    """
    return {"name": name, "kind": kind, **values, "note": note, "source": FROM_JOB, "confidence": DEFAULT}


@takes_units
def job_wire(
    name: str, start: tuple[str, str], end: tuple[str, str], length_m: float, note: str = "", **values: Any
) -> Row:
    """A wire whose size is left to choose unless one is given.

    Parameters
    ----------
    name : str
    start, end : (str, str)
        Device and terminal.
    length_m : float
        One way. [m]
    note : str
    **values
        By the keys of `wirecalc.vehicle.fields.WIRE_FIELDS`.

    Returns
    -------
    mapping
    """
    ends = {"start": start[0], "start_terminal": start[1], "end": end[0], "end_terminal": end[1]}
    return {"name": name, **ends, "length_m": length_m, "size": CHOOSE, **values, "note": note}


@takes_units
def fused(
    name: str, start: tuple[str, str], end: tuple[str, str], length_m: float, note: str = "", **values: Any
) -> Row:
    """A feed whose fuse is left to choose too; see `job_wire`.

    Parameters
    ----------
    name : str
    start, end : (str, str)
    length_m : float
        One way. [m]
    note : str
    **values

    Returns
    -------
    mapping
    """
    return job_wire(name, start, end, length_m, note, **{"fuse": CHOOSE, **values})
