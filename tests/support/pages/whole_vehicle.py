"""The page Whole vehicle as a person uses it."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Locator, Page

from wirecalc.vehicle.file import demo_plan

READY = ".wc-above"


def tab(page: Page, title: str) -> None:
    page.get_by_role("button", name=title, exact=True).click()


def headline(page: Page) -> Locator:
    return page.locator(".wc-top p[role=status]")


def cell(page: Page, column: str, name: str) -> Locator:
    wires = [row[0] for row in demo_plan().wires.rows]
    return page.get_by_role("table", name="Wires").get_by_label(f"{column}, row {wires.index(name) + 1}", exact=True)


SIGNED = "36 circuits: none is too thin, 1 is borderline."


def give(page: Page, *files: Path) -> None:
    page.locator("label.wc-file:visible input").first.set_input_files(list(files))
