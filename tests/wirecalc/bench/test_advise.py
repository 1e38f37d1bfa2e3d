"""The reading that is advised tells as much as it is said to."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.support.readings import MASS, STRANDS, WARM_OHM
from wirecalc.bench import known_wires
from wirecalc.bench.advise import _NEXT_STRIPPED_M, next_readings
from wirecalc.bench.identify import Identified, identify_sample, see, weigh
from wirecalc.bench.known_wires import METAL_KEYS, makes
from wirecalc.bench.meter import LIMIT_TO_DEVIATION
from wirecalc.bench.sample import FIELDS, Reading, Sample
from wirecalc.bench.words import said
from wirecalc.errors import InputError
from wirecalc.wire.conductor import METALS

Array = NDArray[Any]


@pytest.mark.parametrize("name", ["mass", "bare"])
def test_expected_information_as_a_simulation_has_it(name: str) -> None:
    """Wires drawn from what is known after one resistance, read again, identified again: entropy falls as foretold."""
    known = {"ohm": Reading(value=0.0215, uncertainty=1e-4), "length_m": Reading(value=1.0, uncertainty=2e-3)}
    sample = Sample(**known, temperature_c=Reading(value=20.0, uncertainty=1.0))
    seen, ways, draw, count = see(sample), makes(), np.random.default_rng(13), 1500
    mixture = weigh(seen, ways)
    weight = np.exp(mixture.log_weight[0] - mixture.log_weight.max()).ravel()
    pick = draw.choice(weight.size, size=count, p=weight / weight.sum())
    make, metal = np.divmod(pick, len(METAL_KEYS))
    shape = mixture.log_weight.shape
    area, lay, area_v, lay_v, both_v = (np.broadcast_to(part, shape)[0].ravel()[pick] for part in mixture[1:6])
    a = draw.normal(size=count) * np.sqrt(area_v)
    lay = lay + both_v / area_v * a + draw.normal(size=count) * np.sqrt(lay_v - both_v**2 / area_v)
    area = area + a

    def fuzzy(true: Array, key: str) -> Reading:
        spread = (FIELDS[key].off_share * true + FIELDS[key].off_fixed) * LIMIT_TO_DEVIATION
        return Reading(value=true + spread * draw.normal(size=count), uncertainty=spread)

    if name == "mass":
        density = np.array([METALS[key].kg_per_m3 for key in METAL_KEYS])[metal]
        density = density * np.exp(known_wires.DENSITY_SPREAD[metal] * draw.normal(size=count))
        kg = density * np.exp(area + lay) * _NEXT_STRIPPED_M
        length = Reading(value=_NEXT_STRIPPED_M, uncertainty=(0.005 * 0.5 + 0.002) / math.sqrt(3))
        more = {"mass_kg": fuzzy(kg, "mass_kg"), "mass_length_m": length}
    else:
        log_fill = ways.log_fill[make] + ways.fill_spread[make] * draw.normal(size=count)
        more = {"bare_m": fuzzy(2 * np.exp(0.5 * (area - log_fill)) / math.sqrt(math.pi), "bare_m")}

    def entropy(of: Identified) -> float:
        chance = of.grouped.reshape(-1, of.grouped.shape[-2] * of.grouped.shape[-1])
        return float(-(chance * np.log2(np.maximum(chance, 1e-300))).sum(axis=1).mean())

    fall = entropy(identify_sample(sample)) - entropy(identify_sample(replace(sample, **more)))
    (foretold,) = (each.bits for each in next_readings(sample) if each.name == name)
    assert foretold == pytest.approx(fall, abs=0.1)
    assert foretold > 0.3


def test_advice_is_what_is_missing_the_best_first() -> None:
    geometry = next_readings(Sample(**STRANDS))
    assert {each.name for each in geometry} == {"ohm", "mass", "bare", "outer"}
    assert [each.bits for each in geometry] == sorted((each.bits for each in geometry), reverse=True)
    assert geometry[0].name in ("ohm", "mass")  # the size is clear, the metal is not
    assert geometry[-1].bits < 0.1
    everything = Sample(**STRANDS, **WARM_OHM, **MASS)
    assert {each.name for each in next_readings(everything)} == {"bare", "outer"}
    coarse = replace(everything, ohm=Reading(value=0.0445, uncertainty=0.005))
    assert "ohm" in {each.name for each in next_readings(coarse)}
    counted = next_readings(Sample(strands=Reading(value=16)))
    assert counted[0].name == "strand"  # the piece is stripped and fanned out already
    for each in next_readings(Sample()):
        assert each.bits > 1
        assert each.title
        assert len(each.how) > 40
    by_tape = {each.name: each.how_in(feet=True) for each in next_readings(Sample())}
    for name, lengths in {"mass": "Strip 20 in or more", "ohm": "length, 16 ft or more", "bare": "Strip ¾ in,"}.items():
        assert lengths in by_tape[name]  # 0.5 m are 19.7 in, 5 m are 16.4 ft, 2 cm are 0.79 in
    assert not any(re.search(r"\d ?c?m\b", how) for how in by_tape.values())


def test_advice_and_words_are_of_one_wire() -> None:
    many = Sample(strands=Reading(value=[7, 19]), strand_m=Reading(value=0.2e-3, uncertainty=2e-6))
    for ask in (lambda: next_readings(many), lambda: said(identify_sample(many))):
        with pytest.raises(InputError, match="one wire"):
            ask()
