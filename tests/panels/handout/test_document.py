"""The handout says what the plan says: every wire, fuse and pin, with its numbers; typed text is only text."""

from __future__ import annotations

import dataclasses
import io
import math
import re
from functools import cache
from html.parser import HTMLParser

import openpyxl
import pandas as pd
import pytest

import wirecalc
from dashboards.panels.handout import as_built, engineer, installer
from dashboards.panels.handout.customer import MOST_BARS, MOST_NAMES, bars, customer
from dashboards.panels.handout.document import PARTS, handout, installed_version, workbook
from dashboards.panels.handout.job import LONGEST_TITLE
from dashboards.panels.handout.picture import Bar, picture
from dashboards.panels.handout.table import Amount, CellMark, Table, to_html
from tests.support.handout_example import DATE, HOSTILE, demo_page, hostile, job
from wirecalc import units
from wirecalc.errors import InputError
from wirecalc.runs import wire_ohm
from wirecalc.runs.words import heard
from wirecalc.vehicle.network import STATES

VOID = {"meta", "input", "br", "link", "img"}


class Read(HTMLParser):
    """Text by part, every tag balanced; what stands in attributes; rows of tables by part."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.part = ""
        self.text: dict[str, str] = {}
        self.rows: dict[str, list[list[str]]] = {}
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.ids: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        self.ids += [value or "" for name, value in attrs if name == "id"]
        if tag == "section" and dict(attrs).get("id"):
            self.part = str(dict(attrs)["id"])
            self.text[self.part], self.rows[self.part] = "", []
        if tag not in VOID:
            self.open.append(tag)
        if self.part and tag == "tr":
            self.rows[self.part].append([])
        elif self.part and tag in ("td", "th"):
            self.rows[self.part][-1].append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.part:
            self.text[self.part] += data
            if {"td", "th"} & set(self.open):
                self.rows[self.part][-1][-1] += data


@cache
def read(feet: bool = False) -> Read:
    return Read(handout(job(feet=True)) if feet else demo_page())


def row_of(part: str, *starts: str) -> list[str]:
    """The first row that has these cells in this order, from the start or after the box to tick."""
    return next(row for row in read().rows[part] if [cell for cell in row if cell][: len(starts)] == list(starts))


def test_one_file_that_is_whole_and_asks_nobody() -> None:
    page = demo_page()
    parsed = read()  # balanced, or it would not have been read
    assert list(parsed.text) == list(PARTS)
    assert not re.search(r"https?:|(?<![:\w])//\w|@import|srcset|\bsrc=|href=", page)
    assert [target for target in re.findall(r"url\(([^)]*)\)", page) if target != "#across"] == []
    assert not {"script", "link", "img", "iframe", "object", "base", "form"} & set(parsed.tags)
    assert ("content", "default-src 'none'; style-src 'unsafe-inline'") in parsed.attributes
    assert len(parsed.ids) == len(set(parsed.ids))
    assert not [name for name, _ in parsed.attributes if name.startswith("on")]
    assert page == handout(job())


def test_every_wire_is_on_the_pull_list_with_its_numbers() -> None:
    here = job()
    assert here.buy_list is not None
    pieces = here.buy_list.pieces.set_index("run")
    for circuit in here.plan.circuits:
        name, *rest = row_of("installer", circuit.wire.name, f"{circuit.wire.start}, {circuit.wire.start_terminal}")[1:]
        ends, pull, way, cut, conductor, expect = rest[:2], *rest[2:7]
        assert name == circuit.wire.name
        assert ends[1] == f"{circuit.wire.end}, {circuit.wire.end_terminal}"
        assert units.read(way, "way", units.LENGTH) == pytest.approx(circuit.wire.length_m, abs=0.0005)
        if circuit.wire.name in pieces.index:
            assert units.read(cut, "cut", units.LENGTH) == pytest.approx(pieces.loc[name, "length_m"], abs=0.0005)
            assert conductor == pieces.loc[name, "wire"]
            assert circuit.conductor.label in pull
            assert (f"{circuit.laid.ways} × " in pull) == (circuit.laid.ways * circuit.wire.parallel > 1)
        else:
            assert pull == cut == f"in “{circuit.wire.cable}”"
        laid = dataclasses.replace(circuit.laid, temperature_c=20.0)
        if circuit.kind in ("speaker", "subwoofer", "line"):
            assert expect == f"{units.show(float(wire_ohm([circuit.conductor], laid)[0]), units.RESISTANCE)} loop"
        elif circuit.kind in ("shared feed", "ground"):
            assert units.show(circuit.measures["drop_v"], units.VOLTAGE) in expect
        else:
            assert expect == f"{units.show(circuit.measures['load_v'], units.VOLTAGE)} or more"
    for name in here.allocations:
        cut = row_of("installer", name)[6]
        assert units.read(cut, "cut", units.LENGTH) == pytest.approx(pieces.loc[name, "length_m"], abs=0.0005)


def test_wires_stand_by_place_and_bundle() -> None:
    heading, bundles = "", {}
    for row in read().rows["installer"]:
        filled = [cell for cell in row if cell]
        if len(row) == 1:
            heading = row[0]
        elif filled and filled[0] in {circuit.wire.name for circuit in job().plan.circuits} and " · " in heading:
            bundles[filled[0]] = heading
    for circuit in job().plan.circuits:
        assert bundles[circuit.wire.name].endswith(
            f"bundle “{circuit.wire.bundle}”" if circuit.wire.bundle else "by itself"
        )


def test_every_fuse_and_every_wire_without() -> None:
    families = {
        125.0: "125 A terminal fuse on a post (single bolt), breaks 2 kA",
        2.0: "2 A medium blade fuse (type C), breaks 1 kA",
    }
    for circuit in job().plan.circuits:
        if not isinstance(circuit.wire.fuse, str):
            row = row_of("installer", circuit.wire.name, *[cell for cell in [_place(circuit.wire)] if cell])
            assert row[3] == units.show(circuit.wire.fuse, units.CURRENT)
            assert row[5] == families.get(circuit.wire.fuse, row[5])
            assert row[6] == units.show(circuit.measures["largest_fuse_a"], units.CURRENT)
            assert ("battery" in row[2].split(":")[1]) == (circuit.wire.start == "Starter battery")
        elif math.isfinite(circuit.measures.get("before_a", math.nan)):
            row = row_of("installer", circuit.wire.name, units.show(circuit.measures["before_a"], units.CURRENT))
            assert row[3] == job().fuse_reasons.get(circuit.wire.name, "")
    parallel = next(circuit for circuit in job().plan.circuits if circuit.wire.name == "Main feed")
    two = dataclasses.replace(parallel, wire=dataclasses.replace(parallel.wire, parallel=2, fuse=1000.0))
    rows = installer.fuses(job(plan=_with(two))).rows
    assert next(row for row in rows if row[1] == "Main feed")[4:6] == (
        "2, one for each conductor",
        "not a rating of our table",
    )


def _place(wire) -> str:  # type: ignore[no-untyped-def]
    at_battery = wire.start == "Starter battery"
    end = ": as near to the battery as can be, see the cautions" if at_battery else ": where the wire starts"
    return f"{wire.start}, {wire.start_terminal}{end}"


def _with(*circuits):  # type: ignore[no-untyped-def]
    """The demo's plan with some circuits changed."""
    changed = {circuit.wire.name: circuit for circuit in circuits}
    plan = job().plan
    return dataclasses.replace(
        plan, circuits=tuple(changed.get(circuit.wire.name, circuit) for circuit in plan.circuits)
    )


def test_every_pin_with_its_circuit_and_the_cables_picture() -> None:
    page = demo_page()
    assert page.count('class="wc-cable"') == len(job().allocations) == 2
    for name, allocation in job().allocations.items():
        assert f"{name}: {allocation.cable.name}" in read().text["installer"]
        for pin in allocation.pin_out().to_dict("records"):
            wanted = [str(pin["number"]), pin["conductor"], pin["pair"], pin["size"]]
            wanted.append(f"{pin['circuit']} {pin['way']}".strip())
            assert any(row[:5] == wanted for row in read().rows["installer"]), wanted
        assert all(caution in read().text["installer"] for caution in allocation.cautions)
    twin = row_of("installer", "Left dash run", "Front amplifier, speaker 3")
    assert twin[7] == "white +, white/black −, grey +, grey/black −"
    alone = row_of("installer", "Right dash run", "Front amplifier, speaker 4")  # its size was typed
    assert alone[4] == "2 × 20 AWG"


def test_buy_list_and_cut_list_are_the_jobs() -> None:
    here = job()
    assert here.buy_list is not None
    for item in here.buy_list.items.to_dict("records"):
        assert row_of("installer", item["item"], str(item["count"]))[4] == item["for"]
    cuts = here.buy_list.cut_list()
    shown = installer.cutting(here).rows
    assert [row[2] for row in shown] == list(cuts["piece"])
    assert [row[3].value for row in shown if isinstance(row[3], Amount)] == list(cuts["length_m"])
    assert "Price" not in str(installer.buying(here).columns)


def test_prices_are_shown_where_there_are_any() -> None:
    here = job()
    assert here.buy_list is not None
    items = here.buy_list.items.assign(price=2.5, cost=5.0)
    priced = dataclasses.replace(here, buy_list=dataclasses.replace(here.buy_list, items=items))
    table = installer.buying(priced)
    assert table.columns[-2:] == ("Price", "Cost")
    assert "Cost: " in table.note
    parsed = Read(handout(priced))
    assert "Price" not in parsed.text["customer"]
    assert all(
        row[-2:] == ["2.5", "5"] for row in parsed.rows["installer"] if row[1:2] == ["4/0 AWG copper, 10 m spool"]
    )
    assert "2.5" in {cell for row in parsed.rows["installer"] for cell in row}


def test_what_to_mind_is_all_said_and_has_a_box() -> None:
    rows = installer.minding(job()).rows
    cautions = {row[2] for row in rows}
    assert all(row[1] is CellMark.TICK for row in rows)
    for word in ("battery", "airbag", "bundle", "Local codes", "Conductors side by side"):
        assert any(word in str(caution) for caution in cautions), word
    assert set(job().plan.warnings) <= cautions
    broken = [f"{circuit.wire.name}: {each}" for circuit in job().plan.circuits for each in circuit.broken]
    assert broken
    assert set(broken) <= cautions
    dead = job(plan=dataclasses.replace(job().plan, problems=("No state like this.",)))
    assert ("No answer", CellMark.TICK, "No state like this.") in installer.minding(dead).rows
    assert "cannot deliver" in customer(dead)
    assert "cannot deliver" not in customer(job())


def test_without_a_buy_list_and_cables_nothing_is_invented() -> None:
    bare = job(buy_list=None, allocations={}, reasons={}, fuse_reasons={})
    parsed = Read(handout(bare))
    assert parsed.text["installer"].count("no list was made") == 2
    assert "No cable of several conductors" in parsed.text["installer"]
    assert parsed.text["installer"].count("add slack") == len(bare.plan.circuits)
    assert "as typed" in parsed.text["engineer"]
    assert all(isinstance(row[7], str) for row in installer.pulls(bare).rows)


def test_the_customer_reads_plain_words() -> None:
    page = customer(job())
    blocks = re.findall(r"<(?:p|li|dd|figcaption)>(.*?)</", re.sub(r"<svg.*?</svg>", "", page, flags=re.S))
    sentences = [sentence for block in blocks for sentence in re.split(r"(?<=[.!?:;])\s+", block) if sentence]
    words = [len(sentence.split()) for sentence in sentences]
    assert len(sentences) > 15
    assert sum(words) / len(words) < 20
    assert max(words) < 35
    for jargon in ("AWG", "ohm", "Ω", "impedance", "damping", "ampacity", "selective", "terminal", "mm²", "nan"):
        assert jargon not in page, jargon
    used = {"Decibel (dB)": " dB", "Ampere (A)": " A.", "Watt (W)": " W "}
    for term, unit in used.items():
        assert f"<dt>{term}</dt>" in page
        assert unit in page, "a word that is explained is used"


def test_the_customer_sees_what_the_plan_says() -> None:
    page = read().text["customer"]
    levels = job().plan.levels.groupby("loudspeaker", sort=False)
    for name, some in levels:
        worst = some.loc[some["total_db"].idxmax()]
        feed, run, total = (units.show(float(worst[key]), units.LEVEL) for key in ("feed_db", "run_db", "total_db"))
        assert f"{name}: feed {feed}, run {run}, together {total}; " in page
        assert heard(max(float(worst["total_db"]), 0.0)) in page
    feed = max(
        (circuit for circuit in job().plan.circuits if "feed" in circuit.kind and circuit.wire.start != "Alternator"),
        key=lambda circuit: circuit.measures["draw_a"],
    )
    assert f"“{feed.wire.name}” carries up to {units.show(feed.measures['draw_a'], units.CURRENT)}" in page
    fuses = sum(not isinstance(circuit.wire.fuse, str) for circuit in job().plan.circuits)
    assert f"{fuses} of the wires have fuses" in page
    broken = [circuit.wire.name for circuit in job().plan.circuits if not circuit.meets]
    assert f"{', '.join(broken[:-1])} and {broken[-1]} miss a limit" in page


def test_bars_are_to_scale_and_the_worst_comes_first() -> None:
    all_bars = bars(job())
    assert [bar.total_db for bar in all_bars] == sorted((bar.total_db for bar in all_bars), reverse=True)
    drawn = picture(all_bars, "Lost")
    widths = [
        tuple(
            float(width) for width in re.findall(r'class="(?:feed|run)" x="[\d.]+" y="[\d.]+" width="([\d.]+)"', part)
        )
        for part in drawn.split('<g class="bar"')[1:]
    ]
    scale = widths[0][1] / all_bars[0].run_db
    for bar, (feed, run) in zip(all_bars, widths, strict=True):
        assert (feed, run) == pytest.approx((bar.feed_db * scale, bar.run_db * scale), abs=0.01)
    step = float(re.findall(r'class="step" d="M([\d.]+) ', drawn)[0])
    assert step == pytest.approx(0.2 * scale, abs=0.05), "the first step of hearing that is drawn: data/hearing.csv"
    assert drawn.count('tabindex="0"') == len(all_bars)


def test_a_loss_without_answer_and_many_loudspeakers_fit() -> None:
    dead = Bar(name="Dead", feed_db=math.nan, run_db=0.1, load_w=math.nan)
    drawn = picture([dead], "Lost")
    assert "Dead: no answer" in drawn
    assert "nan" not in drawn
    flat = picture([Bar(name="Flat", feed_db=-0.01, run_db=0.0, load_w=1.0)], "Lost")
    assert 'width="-' not in flat
    long = "W" * 64
    levels = job().plan.levels
    rows = [levels.iloc[[0]].assign(wire=f"{at}", loudspeaker=f"{long}{at}", total_db=at / 10) for at in range(40)]
    plan = dataclasses.replace(job().plan)
    plan.__dict__["levels"] = pd.concat(rows)  # in the place of the cached property
    page = customer(job(plan=plan))
    assert page.count('class="bar"') == MOST_BARS
    assert f"{40 - MOST_BARS} more lose less" in page
    assert page.count(f"<li>{long}") <= 7
    assert f"{long}{39 - MOST_NAMES}, " not in page
    plan.__dict__["levels"] = levels.iloc[:0]
    assert "has no speaker" in customer(job(plan=plan))


def test_the_engineer_reads_what_was_typed() -> None:
    for name in ("devices", "wires"):
        sheet = getattr(job().text, name)
        for cells in sheet.rows:
            typed = next(row for row in read().rows["engineer"] if row[0] == cells[0] and len(row) == 2)[1]
            for column, cell in list(zip(sheet.columns, cells, strict=True))[1:]:
                assert not cell or f"{column} {cell}" in typed


def test_the_engineer_reads_every_measure_and_limit() -> None:
    table = engineer.measures(job())
    for circuit, row in zip(job().plan.circuits, table.rows, strict=True):
        shown = [cell.value for cell in row[7:] if isinstance(cell, Amount)]
        scale = {"corner_khz": 1e3, "dimmest_percent": 0.01}
        wanted = [value * scale.get(key, 1) for key, value in circuit.measures.items()]
        assert sorted(map(str, shown)) == sorted(map(str, wanted)), circuit.wire.name
    limits = engineer.limits(job()).rows
    plan = job().plan.limits
    assert [(row[0], row[1]) for row in limits] == list(zip(plan["wire"], plan["name"], strict=True))
    for row, record in zip(limits, plan.to_dict("records"), strict=True):
        assert isinstance(row[2], Amount)
        assert isinstance(row[4], Amount)
        ratio = 0.01 if record["unit"] == "%" else 1.0
        wanted = (record["value"] * ratio, record["bound"] * ratio)
        assert (row[2].value, row[4].value) == pytest.approx(wanted, nan_ok=True)
        assert row[5] == {"fine": "met", "borderline": "borderline", "too thin": "BROKEN"}[record["grade"]]
        assert row[6]
    assert any("AC 43.13-1B" in str(row[6]) for row in limits)


def test_the_engineer_reads_the_network_in_four_states() -> None:
    plan = job().plan
    nodes = engineer.nodes(job())
    assert nodes.columns[2:] == tuple(state.name for state in STATES)
    for (device, terminal), some in plan.nodes.groupby(["device", "terminal"], sort=False):
        row = next(row for row in nodes.rows if row[:2] == (device, terminal))
        assert [cell.value for cell in row[2:] if isinstance(cell, Amount)] == pytest.approx(
            list(some["node_v"]), abs=1e-9
        )
    for table, column in ((engineer.currents, "current_a"), (engineer.drops, "drop_v")):
        for wire, some in plan.currents.groupby("wire", sort=False):
            row = next(row for row in table(job()).rows if row[0] == wire)
            assert [cell.value for cell in row[1:] if isinstance(cell, Amount)] == pytest.approx(
                list(some[column]), abs=1e-9
            )
    assert not re.search(r"\de[-−]\d", " ".join(cell for row in read().rows["engineer"] for cell in row[1:5])), (
        "the solver's noise is not shown"
    )


def test_models_and_sources_are_told() -> None:
    text = read().text["engineer"]
    assert f"Worked out by wirecalc 1.2.3 on {DATE.isoformat()}" in text
    for source in ("IEC 60028", "16 CFR 432.3(c)", "Churchill", "33 CFR 183.425", "copy not checked", "no source"):
        assert source in text, source
    kinds = {circuit.kind for circuit in job().plan.circuits if circuit.run is not None}
    kinds -= {"subwoofer"}  # has a loudspeaker's formulas, and nothing is told twice
    assert {f"Circuit: {kind}" for kind in kinds} <= {str(row[0]) for row in engineer.models(job()).rows}
    for row in engineer.models(job()).rows:
        assert row[2], row
    for row in engineer.sources(job()).rows:
        assert row[2], row


def test_what_a_person_typed_is_only_text() -> None:
    page = handout(hostile())
    parsed = Read(page)
    assert "script" not in parsed.tags
    assert "alert('x')" not in page
    for at in range(4):
        assert f"{HOSTILE}{at}" in parsed.text["installer"]
    assert f"{HOSTILE}3" in parsed.text["customer"]
    assert f"{HOSTILE}4" in parsed.text["engineer"]
    assert "<script" not in page


@cache
def book(feet: bool = False) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(workbook(job(feet=feet))))


def test_the_workbook_holds_the_same_tables() -> None:
    tables = [*installer.tables(job()), *engineer.tables(job()), as_built.table(job())]
    assert book().sheetnames == ["About", *(table.key for table in tables)]
    assert [cell.value for cell in book()["About"]["B"]][1:] == [job().title, "2026-11-25", "wirecalc 1.2.3"]
    for table in tables:
        sheet = book()[table.key]
        assert [cell.value for cell in sheet[1]] == list(table.columns)
        assert sheet.max_row == len(table.rows) + 1
        for row, cells in zip(table.rows, sheet.iter_rows(min_row=2), strict=True):
            for expected, cell in zip(row, cells, strict=True):
                if isinstance(expected, Amount):
                    assert (
                        cell.value is None
                        if math.isnan(expected.value)
                        else cell.value == pytest.approx(expected.value)
                    )
                elif not isinstance(expected, CellMark):
                    assert (cell.value or "") == (expected or "")
    assert book()["Pull list"]["G2"].number_format == 'General" m"'


def test_the_workbook_runs_nothing_and_says_feet() -> None:
    made = openpyxl.load_workbook(io.BytesIO(workbook(hostile())))
    seen = [cell for sheet in made for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert sum(str(cell.value).startswith(HOSTILE) for cell in seen) > 20
    assert all(cell.data_type in "sn" for cell in seen)
    metres = [cell.value for cell in book()["Pull list"]["G"]][1:]
    feet = [cell.value for cell in book(feet=True)["Pull list"]["G"]][1:]
    assert feet == pytest.approx([metre / 0.3048 for metre in metres])  # exact: the international foot
    assert book(feet=True)["Pull list"]["G2"].number_format == '0.00" ft"'


def test_feet_are_shown_as_feet() -> None:
    main = job().plan.circuit("Main feed").wire.length_m
    assert units.show(main, units.LENGTH, feet=True) == "18 ft"
    lengths = [cell for row in read(feet=True).rows["installer"] for cell in row if re.fullmatch(r"[\d.]+ m", cell)]
    assert lengths == []
    assert any("18 ft" in row for row in read(feet=True).rows["installer"])


def test_tables_that_are_empty_or_endless() -> None:
    empty = Table(key="x", title="<b>", columns=("A",), rows=(), empty="<i>none</i>")
    assert to_html(empty) == "<section><h3>&lt;b&gt;</h3><p>&lt;i&gt;none&lt;/i&gt;</p></section>"
    endless = Table(key="x", title="T", columns=("A", "B"), rows=(("a", Amount(value=math.inf, kind=units.CURRENT)),))
    assert "∞ A" in to_html(endless)


@pytest.mark.parametrize("title", ["", "  \n ", "x" * (LONGEST_TITLE + 1)])
def test_a_title_is_asked_for(title: str) -> None:
    with pytest.raises(InputError, match="Title of the handout"):
        job(title=title)
    assert job(title=" A\n b ").title == "A b"


def test_the_version_is_the_programs() -> None:
    assert installed_version() == wirecalc.__version__
    assert re.fullmatch(r"\d+\.\d+\.\d+", installed_version())


def test_what_is_assumed_is_listed_with_whom_it_is_assumed_of() -> None:
    rows = {(row[0], row[1]): row[2:] for row in engineer.assumptions(job()).rows}
    assert rows["Devices", "Damping factor"] == ("50", "Head unit")
    assert rows["Wires", "Metal"] == ("copper", f"all {len(job().plan.circuits)}")
    assert "Impedance" not in {column for _, column in rows}  # typed for each
    assert "Assumed" in book().sheetnames
