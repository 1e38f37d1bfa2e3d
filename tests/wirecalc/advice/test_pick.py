"""What is said of several conductors side by side is said of one of them."""

from __future__ import annotations

import re

import pytest

from tests.wirecalc.advice.circuits import details_of, job
from wirecalc.advice.size import advise


# both take two of 1/0: each carries half, which is what its fuse is for
@pytest.mark.parametrize("details", ["kind feed; rated_w 3000; length_m 5", "kind load; draw_a 185; length_m 1.5"])
def test_a_fuse_of_several_conductors_is_said_of_each(details: str) -> None:
    advice = advise(job(details_of({"details": details})))
    assert advice.pull is not None
    assert advice.fuse is not None
    assert advice.fuse.rating_a is not None
    parallel = advice.pull.candidate.parallel
    assert parallel > 1
    assert advice.fuse_words.startswith(f"Fuse: one in each of the {parallel} plus conductors, which carry up to ")
    each_a = float(re.findall(r"up to ([\d.]+) A each", advice.fuse_words)[0])
    assert each_a == pytest.approx(advice.pull.each_a, rel=5e-3)
    assert f" each: {advice.fuse.rating_a:g} A, " in advice.fuse_words
    assert advice.fuse.rating_a >= each_a


def test_one_conductor_has_one_fuse_and_an_output_none() -> None:
    feed = advise(job(details_of({"details": "kind feed; rated_w 500; length_m 5"})))
    assert feed.fuse is not None
    assert feed.fuse_words == f"Fuse: {feed.fuse.reason}"
    assert advise(job(details_of({"details": "kind speaker; power_w 100; ohm 4; length_m 5"}))).fuse_words == ""
