"""The panel without a browser: entries to a situation, one computation, the answer on the shown tab."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from dashboards.panels.controls.chart import Charts
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.sizes import MOST_DRAWN, OFFERED
from dashboards.panels.kinds import FORMS, DeviceForm, FeedForm, LampForm, LineForm, RelayForm, SpeakerForm, TurnOnForm
from dashboards.panels.one_run import length
from dashboards.panels.one_run.page import OneRunPanel
from dashboards.panels.one_run.request import RunRequest
from tests.support.sentences import read
from wirecalc import runs, units
from wirecalc.circuits.circuit import rule_of_thumb_drop_v
from wirecalc.errors import InputError
from wirecalc.wire.conductor import conductor


@pytest.fixture
def panel() -> OneRunPanel:
    return OneRunPanel()


def tab(panel: OneRunPanel) -> length.LengthTab:
    made = panel._made["Length"]
    assert isinstance(made, length.LengthTab)
    return made


def shown(panel: OneRunPanel, chart: int = 0) -> np.ndarray[Any, Any]:
    return np.array(tab(panel).charts.drawn[chart].data[MOST_DRAWN].y)


@pytest.mark.parametrize(
    ("form", "texts", "words"),
    [
        (RelayForm, {"supply": "24 V"}, "The relay pulls in at 8 V: its coil is for less than the 24 V"),
        (DeviceForm, {"draw": "400 A"}, "such as a winch, is wired and protected as its maker says"),
        (LineForm, {"source": "75 ohm", "input": "75 ohm"}, "which is meant to lose half of its voltage"),
    ],
)
def test_what_is_wrong_with_the_load_is_said(panel: OneRunPanel, form: type, texts: dict[str, str], words: str) -> None:
    panel.kind.value = form
    assert words not in tab(panel).told.html
    for name, text in texts.items():
        getattr(panel.form, name).text.value = text
    assert words in tab(panel).told.html


def test_entries_reach_the_situation_in_si(panel: OneRunPanel) -> None:
    form = panel.form
    assert isinstance(form, SpeakerForm)
    panel.length.text.value = "18 ft 6 in"
    form.power.text.value = "0.15 kW"
    form.rated.text.value = "2"
    form.load.text.value = "2 ohm"
    panel.size.text.value = "0.75 mm2"
    panel.more.joints.text.value = "5"
    panel.more.parallel.text.value = "2"
    panel.more.temperature.text.value = "104 °F"
    form.damping.text.value = "50"
    form.least.text.value = "1"
    form.share.text.value = "50 %"
    panel.more.metal.value = "cca_10"
    panel.more.ways.value = 1
    panel.more.loaded.text.value = "6"
    panel.more.zone.value = "boot"
    panel.more.insulation.value = "pvc_105"
    now = panel.situation()
    assert isinstance(now.run, runs.SpeakerRun)
    assert now.run.amplifier.power_w == pytest.approx(150)
    assert now.run.amplifier.least_load_ohm == 1
    assert now.run.amplifier.output_ohm == pytest.approx(0.04)
    assert (now.run.load_ohm, now.run.music_share) == (2, 0.5)
    assert now.laid.length_m == pytest.approx(5.6388)
    assert now.laid.temperature_c == pytest.approx(40)
    assert now.laid.joints_ohm == pytest.approx(0.005)
    assert (now.laid.parallel, now.laid.ways) == (2, 1)
    assert (now.this.label, now.this.metal.key) == ("0.75 mm²", "cca_10")
    assert {other.metal.key for other in now.others if other} == {"cca_10"}
    assert (now.place.loaded, now.place.ambient_c, now.place.insulation.limit_c) == (6, 55, 105)


def test_ratings_and_bridging_reach_the_amplifier(panel: OneRunPanel) -> None:
    form = panel.form
    assert isinstance(form, SpeakerForm)
    form.second_power.text.value = "170"
    form.second_ohm.text.value = "2"
    form.load.text.value = "2"
    assert panel.situation().run.amplifier.power_w == pytest.approx(170)  # type: ignore[attr-defined]
    form.bridge.value = True
    form.load.text.value = "4"
    assert panel.situation().run.amplifier.power_w == pytest.approx(340)  # type: ignore[attr-defined]
    form.load.text.value = "1"
    assert "under the least load of 4 Ω" in read(tab(panel).told.html)


def test_one_change_is_one_computation() -> None:
    calls: list[RunRequest] = []

    def counted(now: RunRequest) -> length.LengthAnswer:
        calls.append(now)
        return length.compute(now)

    panel = OneRunPanel(counted)
    assert len(calls) == 1
    panel.form.load.slider.value += 1  # type: ignore[attr-defined]
    assert len(calls) == 2
    panel.length.text.value = "7 m"
    assert len(calls) == 3
    panel.feet.value = True
    assert len(calls) == 4
    panel.length.text.value = "no length"
    assert calls[-1].laid.length_m == calls[-2].laid.length_m == 7
    panel.bar.value = "Which size?"  # another tab: nothing is computed for the hidden one
    seen = len(calls)
    panel.size.slider.value += 1
    assert len(calls) == seen


def test_the_charts_show_what_was_computed(panel: OneRunPanel) -> None:
    answer = length.compute(panel.situation())
    np.testing.assert_allclose(shown(panel), answer.measures["loss_db"][0, :-1])
    (drawn,) = tab(panel).charts.drawn  # one picture for level and power
    mark = drawn.data[MOST_DRAWN + 1]
    assert mark.y[1] == pytest.approx(answer.at("loss_db"))
    ends = [annotation.text for annotation in drawn.layout.annotations if annotation.yref == "paper"]
    end_w = answer.measures["load_w"][:, -2]
    assert ends[0] == f"<b>16 AWG, {end_w[0]:.0f} W</b>"  # at the line's end
    assert f"22 AWG, {end_w[1]:.0f} W" in ends
    assert len(ends) == len(SpeakerForm.start[2])  # this run's size is not named twice
    assert drawn.data[MOST_DRAWN].line.width > max(
        trace.line.width for trace in drawn.data[:MOST_DRAWN] if trace.visible
    )
    names = [trace.name for trace in tab(panel).charts.drawn[0].data[:MOST_DRAWN] if trace.visible]
    assert names == [conductor(*size).label for size in OFFERED if size in SpeakerForm.start[2]]
    assert ">0.31</button>" in panel.tiles.html
    assert 'data-ask="bare_w:0">100</button> W' in panel.tiles.html


def test_a_fault_keeps_the_picture_and_the_text(panel: OneRunPanel) -> None:
    before = shown(panel)
    panel.length.text.value = "<b>18"
    assert "&lt;b&gt;18" in panel.length.note.value
    assert "role='alert'" in panel.length.note.value
    assert panel.length.text.value == "<b>18"
    np.testing.assert_array_equal(shown(panel), before)
    panel.feet.value = True  # a faulty text is not rewritten when the units change
    assert panel.length.text.value == "<b>18"
    panel.length.slider.value = 3
    assert panel.length.note.value == panel.length.help
    assert panel.length.text.value == "4 ft"


def test_entries_that_do_not_go_together_are_said(panel: OneRunPanel) -> None:
    panel.size.text.value = "0.35 mm2"
    assert "role='alert'" in panel.size.note.value  # not in IEC 60228
    panel.more.metric_table.value = "ISO 6722-1"
    panel.size.text.value = "0.35 mm²"
    assert panel.situation().this.label == "0.35 mm²"
    before = shown(panel)
    panel.more.metric_table.value = "IEC 60228 class 5"
    assert "0.35 mm²" in panel.alert.value
    np.testing.assert_array_equal(shown(panel), before)
    panel.more.metric_table.value = "ISO 6722-1"
    assert panel.alert.value == ""
    panel.kind.value = RelayForm
    form = panel.form
    assert isinstance(form, RelayForm)
    form.drop_out.text.value = "9 V"
    assert "Drop-out voltage" in panel.alert.value


def test_a_fault_of_ours_is_no_traceback() -> None:
    broken = False

    def compute(now: RunRequest) -> length.LengthAnswer:
        if broken:
            raise RuntimeError("secret detail")
        return length.compute(now)

    panel = OneRunPanel(compute)
    broken = True
    panel.size.slider.value += 1
    assert "a fault of the page" in panel.alert.value
    assert "secret" not in panel.alert.value
    broken = False
    panel.size.slider.value -= 1
    assert panel.alert.value == ""


def test_the_size_slider_follows_the_system(panel: OneRunPanel) -> None:
    panel.size.text.value = "1.5 mm2"
    panel.size.slider.value += 1
    assert panel.size.text.value == "2.5 mm²"
    panel.size.text.value = "1/0"
    assert panel.situation().this.label == "1/0 AWG"
    panel.size.slider.value -= 1
    assert panel.size.text.value == "2 AWG"
    panel.size.text.value = "13.5 AWG"
    assert panel.situation().this.label == "13.5 AWG"


def test_a_step_of_the_slider_as_it_was_brings_its_stops_back(panel: OneRunPanel) -> None:
    """Moved on a slow machine while the sizes of another system were on their way: box and slider agree again."""
    gauges = panel.size.view.stops
    panel.size.text.value = "2.5 mm²"
    assert panel.size.view.stops != gauges
    panel.size._act({"at": 6, "of": gauges})
    assert (panel.size.text.value, panel.size.view.stops, panel.size.slider.value) == ("14 AWG", gauges, 6)


def test_the_table_agrees_and_the_bound_holds(panel: OneRunPanel) -> None:
    answer = length.compute(panel.situation())
    table = length.length_table(answer)
    assert table["size"].tolist() == ["16 AWG", "22 AWG", "18 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG"]
    assert np.all(table["quick_bound_v"] >= table["drop_v"])
    at = table["size"].tolist().index("12 AWG")
    row = {key: column[at] for key, column in table.items()}
    assert row["loop_ohm"] == pytest.approx(row["ohm_per_m"] * 2 * 5.5)
    assert row["quick_bound_v"] == pytest.approx(float(rule_of_thumb_drop_v(5.0, row["loop_ohm"])))
    html = length.table_html(answer)
    assert "mΩ/m" in html
    panel.feet.value = True
    in_feet = length.table_html(length.compute(panel.situation()))
    assert "mΩ/ft" in in_feet
    assert "mΩ/m)" not in in_feet


@pytest.mark.parametrize(
    ("typed", "end_m", "end_ft"), [("0.5", 3, 10), ("5.5", 10, 30), ("12 m", 15, 50), ("100", 100, 328.08)]
)
def test_the_length_axis_holds_the_run(panel: OneRunPanel, typed: str, end_m: float, end_ft: float) -> None:
    panel.length.text.value = typed
    assert tab(panel).charts.drawn[0].layout.xaxis.range[1] == pytest.approx(end_m)
    panel.feet.value = True
    assert tab(panel).charts.drawn[0].layout.xaxis.range[1] == pytest.approx(end_ft, rel=1e-4)


def test_a_change_of_kind_is_one_computation() -> None:
    calls: list[RunRequest] = []

    def counted(now: RunRequest) -> length.LengthAnswer:
        calls.append(now)
        return length.compute(now)

    panel = OneRunPanel(counted)
    for form in (FeedForm, SpeakerForm, LineForm, TurnOnForm):
        before = len(calls)
        panel.kind.value = form
        assert len(calls) == before + 1
        assert calls[-1].laid.ways == form.of_kind.usual_ways
    panel.kind.value = SpeakerForm
    panel.bar.value = "Response"
    before = len(calls)
    panel.kind.value = FeedForm  # it has no response: back to the first tab
    assert len(calls) == before + 1


@pytest.mark.parametrize(("typed", "at"), [("-40 °C", 0), ("0 °C", 0), ("60 °C", 2), ("180 °C", 5)])
def test_a_temperature_of_any_sign_has_a_place_on_its_slider(panel: OneRunPanel, typed: str, at: int) -> None:
    panel.kind.value = RelayForm
    form = panel.form
    assert isinstance(form, RelayForm)
    form.hot.text.value = typed
    assert form.hot.fault is None
    assert form.hot.slider.value == at
    assert panel.alert.value == ""


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.title)
def test_every_kind_of_circuit_shows_on_every_tab(panel: OneRunPanel, form: Any) -> None:
    panel.kind.value = form
    assert panel.alert.value == ""
    assert panel.bar.value == "Length"
    assert tab(panel).told.html.startswith("<p class='wc-told'")
    for title in panel.bar.options:
        panel.bar.value = title
        assert panel.alert.value == "", title
        panel.length.text.value = "60 m"
        assert panel.alert.value == "", title
        panel.length.text.value = "0.2 m"
        assert panel.alert.value == "", title


def test_each_kind_keeps_its_own_length_size_and_drawn_sizes(panel: OneRunPanel) -> None:
    panel.length.text.value = "7 m"
    panel.size.text.value = "14"
    panel.picker.boxes.take({"label": "22 AWG", "on": False})
    drawn = panel.picker.picked
    panel.kind.value = FeedForm
    assert panel.situation().this.label == "4 AWG"
    assert panel.situation().laid.ways == 1
    panel.kind.value = SpeakerForm
    assert (panel.length.value, panel.size.value, panel.picker.picked) == (7.0, ("AWG", 14.0), drawn)
    assert panel.situation().laid.ways == 2


def test_tabs_that_have_nothing_to_say_are_not_offered(panel: OneRunPanel) -> None:
    assert "Response" in panel.bar.options
    panel.kind.value = FeedForm
    assert "Response" not in panel.bar.options
    assert "Heat and fuse" in panel.bar.options
    panel.kind.value = LineForm
    assert "Heat and fuse" not in panel.bar.options


def test_the_words_of_each_kind_follow_its_numbers(panel: OneRunPanel) -> None:
    panel.kind.value = TurnOnForm
    turn_on = panel.form
    assert isinstance(turn_on, TurnOnForm)
    assert "enough" in read(tab(panel).told.html)
    turn_on.draw.text.value = "500 mA"
    assert "add a relay" in read(tab(panel).told.html)
    panel.kind.value = RelayForm
    relay = panel.form
    assert isinstance(relay, RelayForm)
    assert "it pulls in" in read(tab(panel).told.html)
    relay.hot.text.value = "125"
    assert "may not pull in" in read(tab(panel).told.html)
    panel.kind.value = LampForm
    lamp = panel.form
    assert isinstance(lamp, LampForm)
    lamp.strip.text.value = "40 m"
    assert "use up the voltage" in read(tab(panel).told.html)
    panel.kind.value = FeedForm
    feed = panel.form
    assert isinstance(feed, FeedForm)
    assert "within about 450 mm" in read(tab(panel).told.html)
    feed.power.text.value = "5000"
    feed.share.text.value = "100 %"
    panel.size.text.value = "16"
    assert "cannot be drawn" in read(tab(panel).told.html)


def test_no_more_lines_than_can_be_told_apart(panel: OneRunPanel) -> None:
    boxes = panel.picker.boxes
    for label, _ in boxes.pairs:
        boxes.take({"label": label, "on": True})
        assert boxes.ticked == [at for at, (_, size) in enumerate(boxes.pairs) if size in panel.picker.picked]
    assert len(panel.picker.picked) == MOST_DRAWN
    assert "take one away" in panel.picker.note.value
    boxes.take({"label": "no size", "on": True})
    for label, _ in boxes.pairs:
        boxes.take({"label": label, "on": False})
    assert panel.picker.picked == ()
    assert panel.alert.value == ""


def test_an_entry_tells_only_what_changed() -> None:
    heard: list[float] = []
    entry: Entry[float] = Entry("Power", lambda text: units.read(text, "Power", units.POWER, bare="W"), str, 1.0)
    entry.changed = lambda: heard.append(entry.value)
    entry.text.value = "5 W"
    entry.text.value = "five"
    assert isinstance(entry.fault, InputError)
    assert heard == [5.0, 5.0]  # after a fault the panel draws the last good value again
    entry.set(7.0)
    assert heard == [5.0, 5.0]
    assert (entry.text.value, entry.fault) == ("7.0", None)


def test_charts_send_each_array_once_and_no_nan_as_text() -> None:
    x, y = np.array([1.0, np.nan, 3.0]), np.array([5])
    charts = Charts("Title", "Beside")
    first = [{"type": "scatter", "x": x, "y": x}, {"type": "scatter", "x": [0, 1, np.nan], "y": y}]
    charts.redraw((first, {"xaxis": {"title": {"text": "x"}}}), ([{"type": "bar", "y": y}], {}))
    chart, other = charts.sent["charts"]
    np.testing.assert_array_equal(np.frombuffer(charts.sent["numbers"]), [1, np.nan, 3, 5])
    assert [trace["y"]["cut"] for trace in (*chart["data"], *other["data"])] == [[0, 3], [3, 4], [3, 4]]
    assert [trace["x"] for trace in chart["data"]] == [{"cut": [0, 3]}, [0, 1, None]]
    assert chart["layout"]["xaxis"]["fixedrange"]  # the style stays where the layout says nothing
    assert charts.drawn[0].layout.xaxis.title.text == "x"
    assert [drawn.layout.title.text for drawn in charts.drawn] == ["Title", "Beside"]
    charts.redraw(([{"type": "scatter", "x": [0], "y": y}], {"title": {"text": "Other"}}))
    assert charts.drawn[0].layout.title.text == "Other"
    assert np.frombuffer(charts.sent["numbers"]).tolist() == [5.0]
    charts.redraw(([{"type": "scatter", "colour": "red"}], {}))
    with pytest.raises(ValueError, match="Invalid"):
        _ = charts.drawn[0].data  # plotly knows no such property


@pytest.mark.parametrize("place", [0, 3])
def test_every_number_of_the_table_opens(panel: OneRunPanel, place: int) -> None:
    panel.refresh()
    for measure in list(length.length_table(length.compute(panel.situation())))[2:]:
        worked = panel.work(f"{measure}:{place}")
        assert "Inputs" in worked
        assert "Traceback" not in worked


@pytest.mark.parametrize("feet", [False, True])
@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.title)
def test_a_box_says_the_stop_that_its_slider_is_at(panel: OneRunPanel, form: Any, feet: bool) -> None:
    """What is typed from it, or read again from a link, is the same run."""
    panel.kind.value, panel.feet.value = form, feet
    sliders = [entry for entry in (panel.length, panel.size, *panel.form.asked, *panel.form.more)
               if isinstance(entry, Entry) and entry._stops]  # fmt: skip
    assert len(sliders) >= 2
    for entry in sliders:
        for stop in entry._stops:
            read_back = entry.read(entry.show(stop))
            same = read_back == stop if isinstance(stop, tuple) else read_back == pytest.approx(stop, rel=1e-12)
            assert same, (entry.text.description, stop)
