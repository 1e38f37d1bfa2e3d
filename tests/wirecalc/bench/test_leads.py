"""What to touch, in order, to find each conductor of a cable."""

from __future__ import annotations

import pytest

from wirecalc.bench.finished import FinishedRun, expected, in_ohm
from wirecalc.bench.leads import CHANNELS, LEADS, check_list
from wirecalc.bench.meter import Meter
from wirecalc.errors import InputError
from wirecalc.wire.conductor import awg

ONE = expected(
    FinishedRun(conductor=awg(16), length_m=5.5, leads_ohm=0.1), Meter(share=0.005, counts=2, count_ohm=0.1e-3)
)


def test_colours_as_the_trade_has_them() -> None:
    # common practice, no source
    plain = {"front left": "white", "front right": "grey", "rear left": "green", "rear right": "violet"}
    for channel, colour in plain.items():
        plus, minus = (lead for lead in LEADS if lead.channel == channel)
        assert (plus.looks, plus.polarity) == (colour, "+")
        assert (minus.looks, minus.polarity) == (f"{colour} with a black stripe", "−")
    assert [lead.colour for lead in LEADS if not lead.polarity] == ["blue"]


def test_the_check_list_makes_safe_first_and_reads_every_pair_in_the_band() -> None:
    steps = check_list(ONE)
    assert "negative lead off" in steps[0].do
    assert "speakers on" in steps[-1].do
    assert list(dict.fromkeys(step.channel for step in steps if step.channel)) == list(CHANNELS)
    for channel in CHANNELS[:4]:
        pair, polarity = (step for step in steps if step.channel == channel)
        assert pair.read == f"{in_ohm(ONE.low_ohm)} to {in_ohm(ONE.high_ohm)}"
        assert all(lead.looks in pair.do for lead in pair.leads)
        assert polarity.read.endswith("OL")
    assert len(check_list(ONE, ["rear left"])) == 4
    assert len(check_list(ONE, ["remote turn-on"])) == 3


@pytest.mark.parametrize("channels", [["rear middle"], []])
def test_no_such_channel(channels: list[str]) -> None:
    with pytest.raises(InputError, match="Channel"):
        check_list(ONE, channels)
