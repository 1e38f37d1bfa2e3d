"""The bundle without a browser: rows of wires in, verdict and drawing out."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from dashboards.panels.bench.bundle import MOST_ROWS, BundlePanel, Row, bundle_chart, compute, read_what, show_what
from wirecalc.errors import InputError
from wirecalc.wire.cautions import CAUTIONS
from wirecalc.wire.conductor import awg
from wirecalc.wire.insulation import INSULATIONS, insulated


@pytest.fixture
def panel() -> BundlePanel:
    return BundlePanel()


def seven(panel: BundlePanel) -> None:
    panel.counts[1].text.value = "0"
    panel.counts[0].text.value = "7"
    panel.whats[0].text.value = "4 mm"


@pytest.mark.parametrize(
    ("opening", "told"),
    [("17 mm", "easily"), ("12.5", "tightly"), ("11.9 mm", "cannot pass"), ("0.5 in", "tightly")],
)
def test_seven_wires_by_hand(panel: BundlePanel, opening: str, told: str) -> None:
    seven(panel)  # six around one: 12 mm
    panel.opening.text.value = opening
    assert told in panel.told.value
    assert ">12.0<" in panel.tiles.html


def test_what_cannot_pass_says_both_of_its_figures(panel: BundlePanel) -> None:
    """Of eight 18 AWG and one 8 AWG: the tile has the bundle found, the reason is the bound that none beats."""
    panel.opening.text.value = "8 mm"
    passage = compute(panel.rows(), 8e-3)
    told = f"bundle found measures {passage.packing.diameter_m * 1e3:.3g} mm, and however they are laid, they never"
    assert told in panel.told.value
    assert f"less than {passage.least_m * 1e3:.3g} mm" in panel.told.value
    assert f">{passage.packing.diameter_m * 1e3:.1f}<" in panel.tiles.html
    assert panel.chart.drawn[0].data[0].zorder > 0  # the opening, over the wires


def test_bends_and_cautions(panel: BundlePanel) -> None:
    seven(panel)
    for text in (
        "40 mm",
        "12 mm",
        "120 mm",
        "grommet",
        "plug or lug",
        CAUTIONS["hot bundle"][:40],
    ):
        assert text in panel.told.value


def test_a_size_is_drawn_with_its_wall_and_that_is_said(panel: BundlePanel) -> None:
    """Ordinary wire is what a shop has: thicker than the vehicle maker's."""
    thin = float(insulated([awg(8)], INSULATIONS["pvc_80"]).outer_m[0])
    usual = Row(1, ("AWG", 8.0)).outer_m
    # SAE J1128: 8 of type GPT has 7.50 mm² in 5.49 mm; full 8 AWG has 8.37 mm², so a little more, and less than 6 of
    # J1127 type SGT, 8.0 mm
    assert 5.49e-3 < usual < 6.1e-3
    assert Row(1, ("AWG", 8.0), thin=True).outer_m == thin < usual
    assert Row(1, ("GPT", 8.0)).outer_m == pytest.approx(5.49e-3)  # sold by its type, it has its own
    assert f"8 AWG {usual * 1e3:.1f} mm" in panel.told.value
    assert "Yours may differ" in panel.told.value
    panel.walls.value = True
    assert f"8 AWG {thin * 1e3:.1f} mm" in panel.told.value
    seven(panel)
    assert "Yours may differ" not in panel.told.value


def test_inches_and_millimetres_have_round_openings_of_their_own(panel: BundlePanel) -> None:
    panel.use_units(True)
    assert panel.opening.text.value == "0.75 in"
    assert " in opening" in panel.told.value
    assert " mm" not in panel.told.value.replace("mm²", "")
    panel.opening.text.value = "0.5"
    panel.use_units(False, "mm2")
    assert panel.opening.text.value == "12.7 mm"  # typed: it stays what it is
    assert panel.whats[0].text.value == "0.75 mm²"
    assert "<b>" not in panel.told.value


@pytest.mark.parametrize(
    ("text", "what"),
    [("16 AWG", ("AWG", 16.0)), ("1/0", ("AWG", 0.0)), ("2.5 mm2", ("mm2", 2.5)), ("5.2 mm", ("outer", 0.0052)),
     ("1/4 in", ("outer", 0.00635))],
)  # fmt: skip
def test_sizes_and_diameters(text: str, what: tuple[str, float]) -> None:
    as_read = read_what(text, "Wire")
    assert (as_read[0], pytest.approx(as_read[1])) == what
    assert read_what(show_what(as_read), "Wire") == (what[0], pytest.approx(what[1], rel=1e-2))


@pytest.mark.parametrize("text", ["", "5 kg", "0 mm", "3 m", "3.3 mm2", "99 AWG", "nan mm", "<b>"])
def test_what_is_no_wire(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_what(text, "Wire")
    assert caught.value.field in ("Wire", "Size")


def test_the_drawing_has_as_many_traces_whatever_is_in_it() -> None:
    for rows in ((Row(1, ("outer", 4e-3)),), (Row(0, ("AWG", 16.0)), Row(5, ("AWG", 18.0)), Row(1, ("outer", 9e-3)))):
        passage = compute(rows, 0.02)
        traces, layout = bundle_chart(passage, rows)
        assert len(traces) == 2 + MOST_ROWS
        for place, row in enumerate(rows):
            x, y = traces[2 + place]["x"], traces[2 + place]["y"]
            assert np.isnan(x).sum() == max(row.count - 1, 0)
            assert len(x) == len(y)
            assert len(x) == (50 * row.count - 1 if row.count else 0)
        assert layout["yaxis"]["scaleanchor"] == "x"
        assert np.nanmax(traces[0]["x"]) == pytest.approx(10.0)
        drawn = np.concatenate([np.hypot(trace["x"], trace["y"]) for trace in traces[2:]])
        assert np.nanmax(drawn) <= passage.packing.around_m * 1e3 * (1 + 1e-6)


def test_the_opening_turns_red_when_they_do_not_pass(panel: BundlePanel) -> None:
    colours = []
    for opening in ("40 mm", "5 mm"):
        panel.opening.text.value = opening
        colours.append(panel.chart.drawn[0].data[0].line.color)
    assert colours[0] != colours[1]
    assert "cannot pass" in panel.chart.drawn[0].layout.meta


@pytest.mark.parametrize(
    ("get", "typed"),
    [
        (lambda panel: panel.opening, "-1 mm"),
        (lambda panel: panel.opening, "wide"),
        (lambda panel: panel.opening, "3 m"),
        (lambda panel: panel.counts[0], "2.5"),
        (lambda panel: panel.counts[0], "101"),
        (lambda panel: panel.whats[0], "<b>"),
        (lambda panel: panel.whats[1], "3.3 mm2"),
    ],
)
def test_a_fault_stands_beside_its_field_and_the_drawing_stays(panel: BundlePanel, get: Any, typed: str) -> None:
    before = (panel.told.value, panel.tiles.html, panel.chart.sent)
    entry = get(panel)
    entry.text.value = typed
    assert "role='alert'" in entry.note.value
    assert "<b>" not in entry.note.value
    assert (panel.told.value, panel.tiles.html, panel.chart.sent) == before


def test_no_wire_and_too_many_are_said_and_the_drawing_stays(panel: BundlePanel) -> None:
    before = panel.chart.sent
    panel.counts[0].text.value = "100"
    assert "Wires in all" in panel.alert.value
    assert panel.chart.sent == before
    panel.counts[1].text.value = "0"
    assert panel.alert.value == ""
    before = panel.chart.sent
    panel.counts[0].text.value = "0"
    assert "Wires in all" in panel.alert.value
    assert panel.chart.sent == before


def test_rows_open_one_by_one(panel: BundlePanel) -> None:
    def shown() -> int:
        return sum("wc-shut" not in box._dom_classes for box in panel.rows_box.children)

    assert shown() == 2
    for _ in range(MOST_ROWS):
        panel.more.click()
    assert shown() == MOST_ROWS
    assert panel.more.disabled


def test_one_change_is_one_packing() -> None:
    calls: list[float] = []
    panel = BundlePanel(lambda rows, opening_m: calls.append(opening_m) or compute(rows, opening_m))  # type: ignore[func-returns-value]
    panel.opening.text.value = "30 mm"
    assert calls == pytest.approx([0.02, 0.03])


def test_the_fill_opens_to_its_working(panel: BundlePanel) -> None:
    seven(panel)
    panel.tiles.ask("fill")
    assert "7 × 4²" in panel.tiles.working
    assert "NEC chapter 9" in panel.tiles.working
