"""What an unmarked wire is, as it is said."""

from __future__ import annotations

import math
import re

import wirecalc
from tests.support.readings import STRANDS
from wirecalc.bench.identify import identify_sample
from wirecalc.bench.sample import Reading, Sample
from wirecalc.bench.words import listed_as, said
from wirecalc.wire.conductor import awg_area_m2


def test_thin_wire_against_its_label() -> None:
    """Copper 1.6 gauge sizes thinner than 18 AWG."""
    area_m2 = float(awg_area_m2(19.6))
    thin = Sample(
        strands=Reading(value=20), strand_m=Reading(value=math.sqrt(4 * area_m2 / math.pi / 20), uncertainty=2e-6),
        ohm=Reading(value=1.7241e-8 * 1.03 / area_m2, uncertainty=2e-4), length_m=Reading(value=1.0, uncertainty=2e-3),
        temperature_c=Reading(value=20.0, uncertainty=1.0),
    )  # fmt: skip
    told = said(identify_sample(thin), ("AWG", 18.0))
    assert told[0].startswith(("Most likely this is copper", "This is copper"))
    assert told[-1] == "Sold as 18 AWG: 1.6 sizes thinner than its label."
    assert said(identify_sample(thin), ("AWG", 22.0))[-1] == "Sold as 22 AWG: 2.4 sizes thicker than its label."
    assert "agree with its label" in said(identify_sample(thin), ("AWG", 19.6))[-1]
    assert "no more than strandings" in said(identify_sample(thin), ("AWG", 19.3))[-1]


def test_a_label_holds_for_the_metal_and_for_what_it_conducts() -> None:
    """26 of 0.254 mm are 16 AWG (ASTM B174, from memory); of clad aluminium they conduct like copper of 18."""
    strands = {"strands": Reading(value=26), "strand_m": Reading(value=0.254e-3, uncertainty=5e-6)}
    length = {"length_m": Reading(value=2.0, uncertainty=0.006), "temperature_c": Reading(value=20.0, uncertainty=1.0)}
    read = {"ohm": Reading(value=0.042, uncertainty=2e-4), **length}
    for readings, sold_as, told in (
        (
            strands,
            18.0,
            r"its metal is (2\.0|2\.1) sizes thicker than its label; what it conducts is not known before its",
        ),
        (strands, 16.0, "its size agrees with its label; what it conducts is not known before its metal is."),
        (
            strands | read,
            18.0,
            r"its metal is (2\.0|2\.1) sizes thicker than its label; it conducts as its label says.",
        ),
        (strands | read, 16.0, r"(1\.9|2\.0) sizes thinner than its label."),
        (read, 18.0, "these readings agree with its label."),
        ({"outer_m": Reading(value=2.4e-3, uncertainty=5e-5)}, 18.0, "these readings are too coarse to hold against"),
    ):
        sentence = said(identify_sample(Sample(**readings)), ("AWG", sold_as))
        assert any(re.match(f"Sold as {sold_as:g} AWG: {told}", text) for text in sentence), sentence


def test_clad_aluminium_in_words() -> None:
    clad = Sample(**STRANDS, ohm=Reading(value=0.0345, uncertainty=3e-4), length_m=Reading(value=1.0, uncertainty=3e-3))
    told = said(identify_sample(clad), ("AWG", 18.0))
    assert told[0].startswith("Most likely this is copper-clad aluminium")
    assert "18 AWG" in told[0]
    assert told[2] == "Sold as 18 AWG: 2.1 sizes thinner than its label."
    assert told[3] == (
        "If it were copper, its areas by strands and by resistance would differ by 37 %: "
        "copper-clad aluminium is likely."
    )


def test_thick_wire_is_said_by_area_and_nothing_by_nothing() -> None:
    thick = Sample(ohm=Reading(value=1.7e-3, uncertainty=1e-5), length_m=Reading(value=10.0, uncertainty=0.01))
    assert "mm²; 9 times in 10 it lies between" in said(identify_sample(thick))[1]
    assert said(identify_sample(Sample())) == ("Enter a reading to start.",)


def test_strands_are_named_by_their_standard() -> None:
    """19 × 0.19 and 19 × 0.26 mm: ISO 6722-1 type A of 0.5 and 1 mm²; the first is a Japanese wire's too."""
    for strand_mm, labels in (
        (0.19, ("0.5 mm² ISO 6722-1 type A", "0.5f mm² JASO D 611 AVSSH")),
        (0.26, ("1 mm² ISO",)),
    ):
        told = listed_as(
            Sample(strands=Reading(value=19), strand_m=Reading(value=strand_mm * 1e-3, uncertainty=0.003e-3))
        )
        assert told.startswith(f"19 strands of {strand_mm} mm are those of ")
        assert all(label in told for label in labels)
        assert "AWG" not in told
    odd = Sample(strands=Reading(value=23), strand_m=Reading(value=0.2e-3, uncertainty=0.003e-3))
    assert listed_as(odd) == listed_as(Sample()) == ""


def test_a_size_goes_with_its_metal() -> None:
    """It said copper, and 4 AWG among its sizes, of clad aluminium of 4 AWG: no copper of 4 AWG has 1.28 mΩ/m."""
    words = wirecalc.identify(ohm="6.4 mohm", length_m="5 m", bare_m="5.2 mm", sold_as="4 AWG").words
    first, other = words.split(". ")[:2]
    assert "copper, plain or tinned" in first
    assert "6 AWG" in first
    assert "4 AWG" not in first
    assert other.startswith("It may also be copper-clad aluminium (")
    assert other.endswith("then 4 AWG: weigh a piece")


def test_what_no_metal_explains_asks_for_the_meters_leads() -> None:
    words = wirecalc.identify(ohm="0.206 ohm", length_m="3 m", sold_as="8 AWG").words
    assert "more than another metal explains: take the meter's leads off" in words
    assert "leads off" not in wirecalc.identify(ohm="10.3 mohm", length_m="3 m", sold_as="8 AWG").words
