"""A plan handed over as one HTML file: the customer's page, the installer's, the engineer's, what was read; on screen
and on paper.

It asks nothing of any other machine. Pictures answer to pointer and keyboard by CSS alone.
"""

from __future__ import annotations

import html
from dataclasses import replace

import wirecalc
from dashboards.panels.controls.cable_picture import cable_picture
from dashboards.panels.handout import as_built, engineer, installer
from dashboards.panels.handout.customer import customer
from dashboards.panels.handout.job import HandoutJob
from dashboards.panels.handout.style import style
from dashboards.panels.handout.table import Table, to_html
from dashboards.panels.handout.workbook import workbook_of
from wirecalc.wire.cross_section import cross_section
from wirecalc.wire.multicore import Allocation

PARTS = {
    "customer": "For the customer",
    "installer": "For the installer",
    "engineer": "For the engineer",
    "built": "As built",
}


def handout(job: HandoutJob) -> str:
    """The whole file.

    Parameters
    ----------
    job : HandoutJob

    Returns
    -------
    str
        An HTML document; every text that somebody typed is escaped.
    """
    made = {"customer": customer(job), "installer": _installer(job), "engineer": _engineer(job),
            "built": as_built.page(job)}  # fmt: skip
    title, date = html.escape(job.title), job.date.isoformat()
    heads = "".join(f"<span><b>{html.escape(label)}:</b> {html.escape(text)}</span> " for label, text in job.heads)
    heads = f'<p class="heads">{heads.rstrip()}</p>' if heads else ""
    sections = "".join(
        f'<section id="{part}" aria-labelledby="{part}-name"><h1>{title}</h1><p class="date"><time datetime="{date}">'
        f'{date}</time></p>{heads}<h2 id="{part}-name">{name}</h2>{made[part]}</section>'
        for part, name in PARTS.items()
    )
    choices = "".join(
        f'<label><input type="radio" name="part" id="only-{part}"{checked}> {name}</label>'
        for part, name, checked in (
            ("all", "Everything", " checked"),
            *((*part_title, "") for part_title in PARTS.items()),
        )
    )
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{title}, {date}</title><style>{style(tuple(PARTS))}</style></head>"
        f"<body><nav><fieldset><legend>Show and print</legend>{choices}</fieldset></nav>"
        f"<main>{sections}</main></body></html>\n"
    )


def workbook(job: HandoutJob) -> bytes:
    """The same tables, and the lists as typed, as an .xlsx file.

    Parameters
    ----------
    job : HandoutJob

    Returns
    -------
    bytes
    """
    about = Table(
        key="About", title="About", columns=("What", "Value"),
        rows=(("Title", job.title), *job.heads, ("Date", job.date.isoformat()), ("Program", _program(job))),
    )  # fmt: skip
    return workbook_of([about, *installer.tables(job), *engineer.tables(job), as_built.table(job)], job.feet)


def installed_version() -> str:
    """The version of this program."""
    return wirecalc.__version__


def _program(job: HandoutJob) -> str:
    return f"wirecalc {job.version}"


def _installer(job: HandoutJob) -> str:
    """Cautions first: they are for before the work."""
    of = installer
    note = "<p>Ticks and numbers written on this page stay on paper only: a browser forgets them.</p>"
    before = [to_html(table, job.feet) for table in (of.minding(job), of.pulls(job))]
    pins = of.pin_outs(job)
    cables = "".join(_cable(name, allocation, pins.group(name)) for name, allocation in job.allocations.items())
    named = f"<section><h3>{html.escape(pins.title)}</h3>{cables}</section>" if cables else to_html(pins)
    after = [to_html(table, job.feet) for table in (of.fuses(job), of.unfused(job), of.buying(job), of.cutting(job))]
    return "".join((note, *before, named, *after))


def _cable(name: str, allocation: Allocation, pins: Table) -> str:
    """Pin-out and picture, side by side where there is room."""
    uses = {core.name: f"{use.circuit.name} {way}".strip() for use in allocation.uses for way, core in use.cores}
    drawn = cable_picture(cross_section(allocation.cable), uses)
    told = replace(pins, title=f"{name}: {allocation.cable.name}")
    return f'<div class="pins cable">{to_html(told, level=4)}<figure>{drawn}</figure></div>'


def _engineer(job: HandoutJob) -> str:
    made = "".join(to_html(table, job.feet) for table in engineer.tables(job))
    return f"<p>Worked out by {html.escape(_program(job))} on {job.date.isoformat()}.</p>{made}"
