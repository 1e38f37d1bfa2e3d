"""The handout of the plan that a page shows, as files to save: nothing is made before somebody asks for it."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import PurePath

from dashboards.panels.controls.files import Download
from dashboards.panels.handout.document import handout, installed_version, workbook
from dashboards.panels.handout.job import HandoutJob
from dashboards.panels.whole_vehicle.desk import PlanAnswer
from wirecalc.errors import InputError
from wirecalc.jobs.card import LABELS, card_of
from wirecalc.vehicle.buy import BuyList
from wirecalc.vehicle.text import PlanText

_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def job(
    name: str,
    text: PlanText,
    answer: PlanAnswer | None,
    buy_list: Callable[[], BuyList | None],
    feet: bool = False,
) -> HandoutJob:
    """What is handed over; `InputError` while the lists hold faults or sizes are still being chosen.

    Parameters
    ----------
    name : str
        Of the plan or its file.
    text : PlanText
    answer : PlanAnswer or None
        None if it is not that of `text`.
    buy_list : callable
        Asked only if there is something to hand over.
    feet : bool
        Lengths in feet and inches.
    """
    if answer is None or not answer.final:
        raise InputError("Handout", "", "a plan without faults, with all sizes chosen", "Fix the faults first.")
    card = card_of(text)
    return HandoutJob(
        title=card.get("plan") or PurePath(name).stem,
        heads=tuple((LABELS[key], line) for key, line in card.items() if key not in ("plan", "date")),
        date=datetime.date.fromisoformat(card["date"]) if "date" in card else datetime.date.today(),
        version=installed_version(),
        text=text,
        plan=answer.plan,
        reasons=answer.reasons,
        fuse_reasons=answer.fuse_reasons,
        allocations=answer.cables,
        buy_list=buy_list(),
        feet=feet,
    )


def buttons(made: Callable[[], HandoutJob]) -> tuple[Download, Download]:
    """One for the pages, one for their tables."""
    return (
        Download("Handout .html", lambda: ("handout.html", handout(made()).encode(), "text/html")),
        Download("Handout .xlsx", lambda: ("handout.xlsx", workbook(made()), _XLSX)),
    )
