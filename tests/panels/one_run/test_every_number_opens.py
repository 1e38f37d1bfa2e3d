"""Every number in every sentence and table of the page opens to itself; those that need not are listed here."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Callable
from typing import Any

import pytest

from dashboards.panels.controls.numbers import Numbers
from dashboards.panels.kinds import FORMS, FeedForm, LampForm, LineForm, RelayForm, SpeakerForm, TurnOnForm
from dashboards.panels.one_run.page import OneRunPanel
from tests import some_of
from tests.support.sentences import closed, numbers, read, within
from wirecalc.circuits.loudspeaker import DEMO_DRIVERS

# --- numbers that need not open, each with the words beside it --------------------------------------------------

ENTERED = (
    r"(\d+ × )?[\d/.]+ (AWG|mm²)",
    r"([\d.]+ m|\d+ ft( [\d½]+ in)?)( one way|, into|\.|$)",
    r"of [\d.]+ (V|W)( reaches| through|:)|which needs [\d.]+ V|gives \d+ of at most \d+ mA|At \d+ °C it needs",
    r"draw [\d.]+ A, the head unit may give [\d.]+ A|and it needs [\d.]+ V|from [\d.]+ V: at most|^1 Ω is under",
    r"with \d+ loaded conductors together|but \d is entered|of the \d conductors|for music: 12\.5 %|music: 100 %",
    r"[148] Ω: biggest|80 % of the rated [148] Ω \(the page's|165 mm door woofer|2 own drivers",
    r"5 A of ripple at 1 kHz, 20 mm away",
    r"insulation \(PVC, \d+ °C\)",  # its name
    r"with \d+ circuits? in it|so \d+ take",
    r"the air of \d+ °C|the insulation's \d+ °C|more than \d+ °C, or lead it|in air of \d+ °C the published",
)
CONSTANTS = (  # of a text, with source or definition beside it
    r"[Aa]t 20 kHz|−3 dB point|20 Hz to 20 kHz|at 1 kHz|1 V signal|Under 1 V \(dB\)|1 % uneven: assumed",
    r"450 mm \(18 in\) of wire from the battery \(common practice|1000 A \(ISO 8820-3\)",
    r"carries 50 V or more, where .*?IEC 60364-4-41|Over 100 W in a closed cabin|100 dB\(A\) for 15 minutes a day",
    r"33 CFR 183\.425 table 5|Melts in 1 s, Onderdonk|63 % \(1 − 1/e\)|IEC 60268-5",
    r"90 of 100 cars|20 000 cars drawn|5 of 100 (below|above)",
    r"Under 0\.4 dB few people .*?fig\. 3-17|FAA AC 43\.13-1B table 11-6, 14 V system",
    r"a turn every 12 diameters \(common practice, no source\): as quiet as a bought pair, 3 %",
    r"ABYC standard E-11|ABYC E-11: (3|10) %",
)
NEED_NOT = "(?m)" + "|".join((*ENTERED, *CONSTANTS))

# --- what the page is set to ------------------------------------------------------------------------------------


def feet(panel: OneRunPanel) -> None:
    panel.feet.value = True


def entered(**texts: str) -> Callable[[OneRunPanel], None]:
    def enter(panel: OneRunPanel) -> None:
        for name, text in texts.items():
            part = next(part for part in (panel.form, panel, panel.more) if hasattr(part, name))
            getattr(part, name).text.value = text

    return enter


def bridged(panel: OneRunPanel) -> None:
    form = panel.form
    assert isinstance(form, SpeakerForm)
    form.bridge.value = True
    entered(load="1", second_power="10", second_ohm="2")(panel)


def hot_bundle(panel: OneRunPanel) -> None:
    panel.more.zone.value = "engine_bay"
    entered(parallel="2", loaded="2", share="100 %", power="5000", size="18")(panel)


def loaded_by(name: str) -> Callable[[OneRunPanel], None]:
    def load(panel: OneRunPanel) -> None:
        response: Any = panel._tab("Response")
        tab = response.speaker
        tab.load.value = name
        if name == "own":
            tab.vas.text.value = tab.box.text.value = "20"
            tab.coils.value, tab.series.text.value = "series", "2"

    return load


CASES: dict[str, tuple[type, Callable[[OneRunPanel], None]]] = {
    **{form.title: (form, lambda panel: None) for form in FORMS},
    "in feet": (SpeakerForm, feet),
    "a line in feet": (LineForm, feet),
    "a feed in feet": (FeedForm, feet),
    "bridged": (SpeakerForm, bridged),
    "a hot bundle": (SpeakerForm, hot_bundle),
    "too hot, no fuse": (FeedForm, entered(power="5000", size="12", loaded="7")),
    "past its limit": (SpeakerForm, entered(power="1500", share="100 %", size="16")),
    "a feed that collapses": (FeedForm, entered(power="5000", share="100 %", size="16")),
    "no fuse so large": (FeedForm, entered(power="12000", size="4/0", length="1 m")),
    "side by side": (FeedForm, entered(parallel="2", size="8")),
    "over the head unit's limit": (TurnOnForm, entered(draw="500 mA", least="13 V")),
    "a relay too hot": (RelayForm, entered(hot="125")),
    "lamps that use up the voltage": (LampForm, entered(strip="40 m")),
    "a thin lamp feed": (LampForm, entered(size="22", joints="300", per_m="0.7")),
    "a demo driver": (SpeakerForm, loaded_by(next(iter(DEMO_DRIVERS)))),
    "an own driver": (SpeakerForm, loaded_by("own")),
}
TRIED = some_of(CASES, 9)

# --- what a person reads against what opens ---------------------------------------------------------------------

PREFIXES = {"p": 1e-12, "n": 1e-9, "µ": 1e-6}
SCALES = {  # shown unit, unit of the working
    ("mΩ", "Ω"): 1e-3, ("nH", "µH/m"): 1e-3, ("µH", "µH/m"): 1, ("mA", "A"): 1e-3, ("µA", "A"): 1e-6, ("min", "s"): 60,
    ("h", "s"): 3600, ("kHz", "Hz"): 1e3, ("Hz", "kHz"): 1e-3, ("pF", "pF/m"): 1, ("µm", "mm"): 1e-3, ("cm", "mm"): 10,
}  # fmt: skip


def agrees(text: str, working: str, unit_of_column: float = 1.0, digits: int = 3) -> bool:
    """The number that was clicked on and the one that its working says are the same."""
    answer = html.unescape(re.findall("class='wc-is'>([^<]*)<", working)[0]).replace("−", "-")
    if text in ("none", "—", "∞") or text.startswith("over "):
        return bool(re.match(r"no answer|-?∞|10000 A", answer)) or float(answer.split()[0]) < 0  # of a fuse: no room
    value, _, unit = answer.partition(" ")
    worked_out = float(value.replace("∞", "inf"))
    if prefixed := re.fullmatch(r"([pnµ])(H|F|V|A|W|Ω|s)", unit):  # as the trade writes a large or a small one
        worked_out, unit = worked_out * PREFIXES[prefixed[1]], prefixed[2]
    if math.isinf(worked_out):  # hotter than that
        return text == "250 °C"
    if text.endswith("20 000"):
        return worked_out == (100 if text.startswith("all") else 0)
    if (inside := within(text, worked_out * unit_of_column)) is not None:
        return inside
    if text == "under 0.1 s":
        return worked_out < 0.1
    if text == "fewer than 1 of 100":
        return 0 < worked_out < 0.5
    if text == "more than 99 of 100":
        return 99.5 < worked_out < 100
    found_in = re.fullmatch(r"([−\d.e+]+) ?(.*)", text)
    assert found_in, text
    shown, own = found_in.groups()
    scale = 1.0 if own in ("", unit, "of 100") else SCALES[own, unit]
    places = len(shown.partition(".")[2])
    number, worked_out = float(shown.replace("−", "-")), worked_out / scale * unit_of_column
    return abs(number - worked_out) <= max(0.51 * 10**-places, 6 * 10**-digits * abs(worked_out))


@pytest.fixture(scope="module")
def panels() -> dict[str, OneRunPanel]:
    """One page a case that is tried."""
    by_case = {}
    for name in TRIED:
        form, set_to = CASES[name]
        panel = OneRunPanel()
        panel.kind.value = form
        set_to(panel)
        by_case[name] = panel
    return by_case


def parts(panel: OneRunPanel, title: str) -> dict[str, str]:
    """Everything that is read on a tab besides its entries, as HTML."""
    panel.bar.value = title
    assert panel.alert.value == ""
    tab = panel._made[title]
    names = ("told", "fuse", "words", "notes", "table", "ways")
    opening = {name: getattr(tab, name) for name in names if isinstance(getattr(tab, name, None), Numbers)}
    return {name: box.html for name, box in opening.items()}


@pytest.mark.parametrize("case", TRIED)
def test_every_number_opens_to_itself(panels: dict[str, OneRunPanel], case: str) -> None:
    panel = panels[case]
    for title in panel.bar.options:
        for name, markup in parts(panel, title).items():
            assert closed(markup, NEED_NOT) == [], (title, name)
            tab: Any = panel._made[title]
            work = tab.work if hasattr(tab, "work") else panel.work
            asked = numbers(markup)
            if name == "table":  # one size, and the last, stand for all
                last = f":{len(panel.situation().conductors) - 1}"
                asked = {key: text for key, text in asked.items() if key.endswith(last) or ":0" in key}
            for key, text in asked.items():
                working = work(key)
                assert "Inputs" in working, (title, key, working)
                scale = 1e3 if key.startswith(("ohm_per_", "loop_ohm")) and name == "table" else 1.0  # in milliohms
                digits = 2 if key.startswith("fault_a") else 3
                assert agrees(text, working, scale, digits), (title, key, text, read(working)[:200])
    for key, text in numbers(panel.tiles.html).items():
        assert agrees(text, panel.work(key)), (key, text)


def test_a_plain_number_is_found() -> None:
    markup = '<p>It loses 0.31 dB of <button data-ask="x">4</button> V at 20 kHz.</p><p>And 2 &lt; 3.</p>'
    assert closed(markup, NEED_NOT) == ["It loses 0.31 dB of @ V #.", "And 2 < 3."]
    assert not agrees("0.32 dB", "<strong class='wc-is'>0.3137 dB</strong>")
    assert agrees("0.31", "<strong class='wc-is'>0.3137 dB</strong>")
