"""What goes behind an address's #: exactly there and back, and nothing that was damaged or swells is taken."""

from __future__ import annotations

import base64
import json
import random
import zlib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboards.panels.controls.packed import MOST_PACKED, MOST_UNPACKED, pack, unpack
from dashboards.panels.whole_vehicle.kept import from_bytes, to_bytes
from tests import tried
from tests.support.jobs import faulty, large
from wirecalc.errors import InputError
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.text import PlanSheet, PlanText, clean_cell

# a cell as the page keeps it, whatever was typed
CELL = st.one_of(
    st.text(max_size=30), st.sampled_from(["", "=1+1", "'", '"', "a\nb", "12 AWG", "[]", "\ud800", "㎜²"])
).map(clean_cell)


@st.composite
def sheets(draw: st.DrawFn) -> PlanSheet:
    width = draw(st.integers(1, 4))
    row = st.tuples(*[CELL] * width)
    return PlanSheet(columns=draw(row), rows=tuple(draw(st.lists(row, max_size=5))))


PLANS = st.builds(PlanText, devices=sheets(), wires=sheets())


@settings(max_examples=tried(150))
@given(PLANS, CELL)
def test_any_plan_comes_back_exactly(text: PlanText, name: str) -> None:
    assert from_bytes(unpack(pack(to_bytes(text, name)), "this plan")) == (text, name)


@pytest.mark.parametrize("text", [demo_plan(), faulty()[0], large(300)], ids=["demo", "faults", "300 wires"])
def test_plans_of_this_size_fit(text: PlanText) -> None:
    packed = pack(to_bytes(text, "my.xlsx"))
    assert len(packed) < MOST_PACKED / 3
    assert from_bytes(unpack(packed, "this plan")) == (text, "my.xlsx")


@settings(max_examples=tried(60))
@given(st.binary(max_size=300), st.data())
def test_what_was_cut_off_or_changed_is_refused(content: bytes, data: st.DataObject) -> None:
    packed = pack(content)
    at = data.draw(st.integers(0, len(packed) - 1))
    other = data.draw(
        st.sampled_from([packed[:at], packed[:at] + "~" + packed[at + 1 :], packed + "AAAA", "." + packed])
    )
    with pytest.raises(InputError, match="damaged"):
        unpack(other, "this plan")


@settings(max_examples=tried(100))
@given(st.text(max_size=60))
def test_any_text_is_refused_in_words(text: str) -> None:
    with pytest.raises(InputError, match="damaged"):
        unpack(text, "this plan")


def test_nothing_swells() -> None:
    bomb = zlib.compress(b"0" * (MOST_UNPACKED + 1), 9)
    with pytest.raises(InputError, match="too much packed"):
        unpack(base64.urlsafe_b64encode(bomb).decode(), "this plan")
    assert len(unpack(pack(b"0" * MOST_UNPACKED), "this plan")) == MOST_UNPACKED
    with pytest.raises(InputError, match=f"{MOST_PACKED + 1} characters"):
        unpack("A" * (MOST_PACKED + 1), "this plan")


@pytest.mark.parametrize(
    "content",
    [
        [],
        {},
        None,
        7,
        "abc",
        ["n", [], []],
        ["n", [["a"]], [["b"], ["c", "d"]]],
        ["n", [["a"], [1]], [["b"]]],
        ["n", [["a"], "b"], [["b"]]],
        ["n", "abc", "abc"],
        [7, [["a"]], [["b"]]],
        ["n", [["a"]], [["b"]], []],
        ["n", [["a"] * 81], [["b"]]],
        ["n", [["a"]], [["b"]] * 10_002],
    ],
    ids=str,
)
def test_what_is_no_plan_is_refused(content: Any) -> None:
    with pytest.raises(InputError, match="another kind of content"):
        from_bytes(json.dumps(content).encode())


@pytest.mark.parametrize(
    "content", [b"", b"\xff\xfe", b"[" * 100_000, b'["n",[["a"]],[["b"'], ids=["none", "no text", "deep", "cut"]
)
def test_what_is_no_json_is_refused(content: bytes) -> None:
    with pytest.raises(InputError, match="another kind of content"):
        from_bytes(content)


def test_noise_is_refused() -> None:
    rng = random.Random(3)
    for _ in range(50):
        with pytest.raises(InputError):
            from_bytes(unpack(pack(rng.randbytes(100)), "this plan"))
