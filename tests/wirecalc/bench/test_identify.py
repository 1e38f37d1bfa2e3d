"""Samples made with a seed: what is found of them is what they were made of, as often as it says."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import simpson
from scipy.stats import chi2

from tests import DEEP, some_of, tried
from tests.support.readings import MASS, STRANDS, WARM_OHM
from tests.support.wires import BOTH, GEOMETRY, OHM, WHOLE, off_the_shelf, thought_of
from tests.support.wires import MASS as WEIGHED
from wirecalc.bench import known_wires
from wirecalc.bench.identify import identify_sample, through_wall
from wirecalc.bench.known_wires import GROUPS, METAL_KEYS, SIZES, makes, size_area_m2
from wirecalc.bench.sample import Reading, Sample
from wirecalc.bench.words import said
from wirecalc.errors import InputError
from wirecalc.wire.conductor import METALS, awg
from wirecalc.wire.insulation import INSULATIONS, THIN_WALL_M, THIN_WALL_SHARE, insulated

Array = NDArray[Any]
COPPER, CLAD, ALUMINIUM = range(3)  # of GROUPS


# --- the size ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("names", [BOTH, GEOMETRY, (*BOTH, *WEIGHED, "bare_m"), ("strands", *OHM)], ids="+".join)
def test_the_true_size_is_first_or_second(names: tuple[str, ...]) -> None:
    """Published strandings as makers draw them, read to 1 %: a count decides, with one other reading beside it."""
    made = off_the_shelf(tried(2000), 1)
    first, two = made.ranks(identify_sample(made.only(*names)))
    assert first >= 0.90
    assert two >= (0.99 if "strand_m" in names else 0.97)


@pytest.mark.parametrize(
    ("names", "least_first", "least_two"),
    [(OHM, 0.48, 0.75), (("bare_m",), 0.42, 0.74), ((*WEIGHED, "bare_m"), 0.72, 0.94), ((*OHM, *WEIGHED), 0.75, 0.96)],
)
def test_without_a_count_it_is_less_sure(names: tuple[str, ...], least_first: float, least_two: float) -> None:
    """A resistance alone cannot tell thick clad wire from thin copper, nor 16 AWG from 1.25 mm² or a thin grade."""
    made = off_the_shelf(tried(2000), 1)
    identified = identify_sample(made.only(*names))
    first, two = made.ranks(identified)
    assert first >= least_first
    assert two >= least_two
    assert identified.size.max(axis=1).mean() <= first + 0.03  # and it never says that it is surer


@pytest.mark.parametrize("names", [BOTH, GEOMETRY], ids="+".join)
def test_a_makers_own_stranding_is_less_sure(names: tuple[str, ...]) -> None:
    """Where the count is in no table the area decides, and sizes of several systems lie 4 % apart."""
    made = off_the_shelf(tried(2000), 1, any_stranding=True)
    first, two = made.ranks(identify_sample(made.only(*names)))
    assert first >= 0.60
    assert two >= 0.80


# Readings of which a wire is known: none, some or all that there may be
SETS = (("strands",), GEOMETRY, ("strands", *OHM), BOTH, OHM, (*WEIGHED, "bare_m"), WHOLE)


def holds(count: int, seed: int, names: tuple[str, ...]) -> None:
    """Of wires a fifth of which is on no list: it is sure where it may be, and intervals cover as often as they say."""
    made = off_the_shelf(count, seed, unlisted=0.2)
    identified = identify_sample(made.only(*names))
    sure, wrong = made.sure(identified)
    assert wrong <= 0.02
    assert sure == 0.0 or names != ("strands",)  # a count on its own
    area, copper = made.covered(identified)
    most = 0.93 if "strands" in names else 0.96  # without a count the lists cannot help
    assert 0.87 <= area <= most
    assert 0.87 <= copper <= most


@pytest.mark.parametrize("names", SETS if DEEP else SETS[:4:3], ids="+".join)
def test_what_it_is_sure_of_is_so_also_where_a_stranding_is_on_no_list(names: tuple[str, ...]) -> None:
    for seed in (1, 2, 3) if DEEP else (1,):
        holds(tried(3000), seed, names)


def test_nineteen_strands_are_what_their_diameter_says_and_no_surer() -> None:
    """19 × 0.19 mm is 0.5 mm² and 19 × 0.26 mm 1 mm² of ISO 6722-1; 20 and 18 AWG of own strandings lie near."""
    for strand_mm, size, other in ((0.19, ("mm2", 0.5), ("AWG", 20.0)), (0.26, ("mm2", 1.0), ("AWG", 18.0))):
        strand = Reading(value=strand_mm * 1e-3, uncertainty=0.01e-3 / math.sqrt(3))  # a caliper
        chances = identify_sample(Sample(strands=Reading(value=19), strand_m=strand)).size
        assert SIZES[int(chances.argmax())] == size
        assert 0.6 < chances.max() < 0.95
        assert 0.1 < chances[SIZES.index(other)] < 0.35


def test_the_true_size_where_the_strands_are_counted_with_slips() -> None:
    made = off_the_shelf(tried(2000), 2)
    strands = np.asarray(made.sample.strands.value)  # type: ignore[union-attr]
    slip = np.where(strands > 50, 0.01 * strands, 0.0)
    counted = np.round(strands + slip * np.random.default_rng(3).normal(size=tried(2000)))
    identified = identify_sample(replace(made.only(*BOTH), strands=Reading(value=counted, uncertainty=slip)))
    first, two = made.ranks(identified)
    assert first >= 0.90
    assert two >= 0.99


def test_wire_off_the_tables_is_said_to_be() -> None:
    """Halfway between the two neighbouring sizes that lie farthest apart, in a stranding of no table."""
    areas = np.sort([size_area_m2(size) for size in SIZES])
    at = int(np.argmax(areas[1:] / areas[:-1]))
    area_m2 = float(np.sqrt(areas[at] * areas[at + 1]))
    off = Sample(
        strands=Reading(value=90), strand_m=Reading(value=math.sqrt(4 * area_m2 / math.pi / 90), uncertainty=2e-6)
    )
    assert identify_sample(off).size.argmax() == len(SIZES)


# --- the metal ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.01, 0.05])
@pytest.mark.parametrize("metal", METAL_KEYS)
def test_clad_aluminium_is_told_from_copper(metal: str, share: float) -> None:
    by_group = identify_sample(off_the_shelf(tried(2000), 7, share=share, metal=metal).only(*BOTH)).group
    copper = by_group[:, COPPER] > 0.5
    assert np.mean(copper == ("copper" in metal)) >= (0.99 if share < 0.05 else 0.98)


def test_mass_and_resistance_tell_clad_from_plain_aluminium() -> None:
    for metal, group in (("cca_15", CLAD), ("aluminium", ALUMINIUM)):
        made = off_the_shelf(tried(1000), 5, metal=metal)
        assert np.mean(identify_sample(made.sample).group.argmax(axis=1) == group) >= 0.99


# --- the interval -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("names", [BOTH, GEOMETRY, WHOLE], ids="+".join)
def test_the_interval_covers_as_often_as_it_says(names: tuple[str, ...]) -> None:
    """2000 wires of the shelf, spread otherwise than the model spreads them."""
    made = off_the_shelf(2000, 6)
    area, copper = made.covered(identify_sample(made.only(*names)))
    assert 0.87 <= area <= 0.93
    assert 0.87 <= copper <= 0.93


def test_without_geometry_it_covers_rather_more() -> None:
    """All of the shelf's wires have a table's stranding, which the model cannot know of each."""
    made = off_the_shelf(2000, 6)
    area, copper = made.covered(identify_sample(made.only(*OHM)))
    assert 0.87 <= area <= 0.97
    assert 0.87 <= copper <= 0.97


SOME = some_of([BOTH, GEOMETRY, OHM, ("bare_m",), (*WEIGHED, "bare_m", *OHM)], 3)


@pytest.mark.parametrize("names", SOME, ids="+".join)
def test_it_covers_exactly_where_wires_are_as_thought(names: tuple[str, ...]) -> None:
    made = thought_of(2000, 6)
    area, copper = made.covered(identify_sample(made.only(*names)))
    assert 0.87 <= area <= 0.93
    assert 0.87 <= copper <= 0.93


@pytest.mark.parametrize("names", [BOTH, OHM, GEOMETRY, WHOLE], ids="+".join)
def test_finer_readings_never_widen_the_interval_on_average(names: tuple[str, ...]) -> None:
    widths = []
    for share in (0.05, 0.02, 0.01, 0.003):
        identified = identify_sample(off_the_shelf(tried(1000), 7, share=share).only(*names))
        widths.append([np.log(q[:, 2] / q[:, 0]).mean() for q in (identified.area_m2, identified.copper_m2)])
    assert np.all(np.diff(widths, axis=0) < 0)


def test_another_reading_never_widens_the_interval_on_average() -> None:
    made = thought_of(tried(2000), 8)
    steps = [("bare_m",), ("bare_m", *OHM), ("bare_m", *BOTH), WHOLE]
    widths = [np.log(q[:, 2] / q[:, 0]).mean() for q in (identify_sample(made.only(*names)).area_m2 for names in steps)]
    assert np.all(np.diff(widths) < 0)


# --- the posterior ------------------------------------------------------------------------------------------------


@settings(max_examples=tried(40))
@given(st.sets(st.sampled_from(["strands", "bare_m", "outer_m", "geometry", "ohm", "mass"])), st.integers(0, 99))
def test_probabilities_sum_to_one_whatever_was_read(parts: set[str], seed: int) -> None:
    names = {"geometry": GEOMETRY, "ohm": OHM, "mass": ("mass_kg", "mass_length_m")}
    drawn_wires = thought_of(3, seed, share=0.02)
    outer = Reading(value=np.full(3, 0.003), uncertainty=3e-5) if "outer_m" in parts else None
    identified = identify_sample(
        replace(drawn_wires.only(*(name for part in parts for name in names.get(part, (part,)))), outer_m=outer)
    )
    assert identified.probability.sum(axis=(-2, -1)) == pytest.approx(1.0, abs=1e-12)
    assert identified.grouped.sum(axis=(-2, -1)) == pytest.approx(1.0, abs=1e-12)
    assert np.all(np.diff(identified.area_m2, axis=-1) > 0)
    assert np.all(np.diff(identified.gauge, axis=-1) > 0)


def test_before_anything_is_read_it_is_what_was_thought_likely() -> None:
    identified = identify_sample(Sample())
    assert dict(zip(METAL_KEYS, identified.metal, strict=True)) == pytest.approx(dict(known_wires.METAL_PRIOR))
    assert identified.size[-1] == pytest.approx(known_wires.OFF_TABLE_PRIOR)
    assert identified.size[:-1] == pytest.approx((1 - known_wires.OFF_TABLE_PRIOR) / len(SIZES))


def integrated(sample: Sample, *, logarithms: bool) -> Array:
    """Probability of each metal and size by numerical integration over area and lay, straight from the physics."""
    ways, total = makes(), np.zeros((len(METAL_KEYS), len(SIZES) + 1))
    value = {name: float(np.asarray(reading.value)) for name, reading in sample.taken()}
    spread = {name: float(np.asarray(reading.uncertainty)) for name, reading in sample.taken()}

    def likelihood(read: float, true: Array, relative: float) -> Array:
        off = np.log(read / true) if logarithms else (read - true) / read
        return np.exp(-0.5 * (off / relative) ** 2) / relative

    for make in range(len(ways.size)):
        wide = ways.area_spread[make]
        count = 12_001 if wide > 1 else 401
        a = ways.log_area[make] + np.linspace(-7 * wide, 7 * wide, count)[:, None]
        k = ways.log_lay[make] + ways.lay_spread[make] * np.linspace(-7, 7, 81)
        strands = ways.strands[make]
        chance = ways.log_share[make]
        if "strands" in value:
            if np.isnan(strands):
                share = float(known_wires.any_count(value["strands"]))
            else:
                share = float(strands == value["strands"])
            if share == 0:
                continue
            chance = chance + math.log(share)
        prior = np.exp(-0.5 * ((a - ways.log_area[make]) / wide) ** 2) / wide
        prior = prior * np.exp(-0.5 * ((k - ways.log_lay[make]) / ways.lay_spread[make]) ** 2) / ways.lay_spread[make]
        if "strand_m" in value:
            true = np.sqrt(4 * np.exp(a) / np.pi / value["strands"])
            prior = prior * likelihood(value["strand_m"], true, spread["strand_m"] / value["strand_m"])
        if "bare_m" in value:
            true = np.sqrt(4 * np.exp(a - ways.log_fill[make]) / np.pi)
            relative = math.hypot(spread["bare_m"] / value["bare_m"], ways.fill_spread[make] / 2)
            prior = prior * likelihood(value["bare_m"], true, relative)
        for row, key in enumerate(METAL_KEYS):
            metal, posterior = METALS[key], prior
            resistivity_spread, density_spread = known_wires.METAL_SPREAD[key]
            if "ohm" in value:
                warmth = 1 + metal.per_k_20c * (value["temperature_c"] - 20)
                net, length_m = value["ohm"] - value["lead_ohm"], value["length_m"]
                relative = math.hypot(
                    math.hypot(spread["ohm"], spread["lead_ohm"]) / net, spread["length_m"] / length_m,
                    resistivity_spread, metal.per_k_20c * spread["temperature_c"] / warmth,
                )  # fmt: skip
                true = metal.ohm_m_20c * warmth * length_m * np.exp(k - a)
                posterior = posterior * likelihood(net, true, relative)
            if "mass_kg" in value:
                relative = math.hypot(
                    spread["mass_kg"] / value["mass_kg"],
                    spread["mass_length_m"] / value["mass_length_m"],
                    density_spread,
                )
                true = metal.kg_per_m3 * value["mass_length_m"] * np.exp(a + k)
                posterior = posterior * likelihood(value["mass_kg"], true, relative)
            whole = simpson(simpson(np.broadcast_to(posterior, (count, 81)), x=k, axis=1), x=a[:, 0])
            total[row, ways.size[make]] += math.exp(chance) * known_wires.METAL_PRIOR[key] * whole
    return total / total.sum()


ORACLE = (
    WARM_OHM,
    {**STRANDS, **WARM_OHM},
    {**MASS, "bare_m": Reading(value=1.2e-3, uncertainty=3e-5)},
    {**WARM_OHM, **MASS, "strands": Reading(value=19)},
    {"strands": Reading(value=1), "strand_m": Reading(value=1.03e-3, uncertainty=1e-5), **WARM_OHM},
)


@pytest.mark.parametrize("readings", some_of(ORACLE, 3), ids=lambda names: "+".join(names))
def test_against_numerical_integration(readings: dict[str, Reading]) -> None:
    sample = Sample(**readings)
    assert identify_sample(sample).probability == pytest.approx(integrated(sample, logarithms=True), abs=2e-6)


def test_readings_normal_in_themselves_come_to_the_same() -> None:
    """A normal reading is taken for one whose logarithm is normal; at usual accuracies nobody can tell."""
    sample = Sample(**{**STRANDS, **WARM_OHM})
    assert identify_sample(sample).grouped == pytest.approx(
        known_wires.IN_GROUP.T @ integrated(sample, logarithms=False), abs=0.01
    )


def test_many_in_one_call_are_as_each_alone() -> None:
    made = off_the_shelf(5, 9)
    missing = np.array([True, False, False, True, False])
    ohm = made.sample.ohm
    assert ohm is not None
    mixed = replace(made.sample, ohm=Reading(value=np.where(missing, np.nan, ohm.value), uncertainty=ohm.uncertainty))
    together = identify_sample(mixed)
    for i in range(5):
        parts = {
            name: Reading(
                value=np.broadcast_to(reading.value, 5)[i], uncertainty=np.broadcast_to(reading.uncertainty, 5)[i]
            )
            for name, reading in made.sample.taken()
            if not (missing[i] and name == "ohm")
        }  # fmt: skip
        alone = identify_sample(Sample(**parts))
        assert alone.probability == pytest.approx(together.probability[i], abs=1e-12)
        assert alone.area_m2 == pytest.approx(together.area_m2[i], rel=1e-5)
        assert alone.chi_square == pytest.approx(together.chi_square[i], abs=1e-6)
        assert alone.freedom == together.freedom[i] == 4 - 1 - missing[i]


def test_any_shape() -> None:
    ohm = Reading(value=np.array([[0.02], [0.05]]), uncertainty=1e-4)
    identified = identify_sample(Sample(ohm=ohm, length_m=Reading(value=np.array([1.0, 2.0, 3.0]), uncertainty=0.003)))
    assert identified.probability.shape == (2, 3, len(METAL_KEYS), len(SIZES) + 1)
    assert identified.gauge.shape == identified.thinner(("AWG", 18.0)).shape == (2, 3, 3)
    assert identified.contradictory.shape == identified.as_copper_m2["resistance"].shape == (2, 3)


# --- readings that do not agree -------------------------------------------------------------------------------------


def test_contradiction_is_said_and_nothing_chosen() -> None:
    better_than_copper = Sample(
        **STRANDS, ohm=Reading(value=0.015, uncertainty=1e-4), length_m=Reading(value=1.0, uncertainty=0.003)
    )
    identified = identify_sample(better_than_copper)
    assert identified.contradictory
    assert identified.chance == pytest.approx(chi2.sf(identified.chi_square, 1), rel=1e-9)
    first, apart = said(identified, ("AWG", 18.0))
    assert "contradict" in first
    assert "Nothing is chosen" in first
    assert "would differ" in apart
    assert not any(name in first for name in (*GROUPS, "18 AWG"))
    steel = replace(better_than_copper, ohm=Reading(value=0.2, uncertainty=1e-3))
    assert identify_sample(steel).contradictory


def test_good_readings_are_not_called_contradictory() -> None:
    for wires in (off_the_shelf, thought_of):
        assert identify_sample(wires(tried(2000), 10, share=0.02).sample).contradictory.mean() <= 0.002


def test_one_reading_cannot_contradict() -> None:
    identified = identify_sample(Sample(ohm=WARM_OHM["ohm"], length_m=WARM_OHM["length_m"]))
    assert (identified.freedom, identified.chance, bool(identified.contradictory)) == (0, 1.0, False)


def test_disagreement_of_copper_is_chance() -> None:
    _, beyond = identify_sample(off_the_shelf(tried(2000), 11, metal="copper").only(*BOTH)).disagreement()
    assert beyond.mean() <= 0.03
    share, beyond = identify_sample(off_the_shelf(tried(2000), 12, metal="cca_15").only(*BOTH)).disagreement()
    assert beyond.mean() >= 0.99
    assert np.median(share) == pytest.approx(1 - 1.7241 / 2.676, abs=0.02)  # ratio of resistivities in data/metals.csv


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: identify_sample(Sample(bare_m=Reading(value=1e-3, uncertainty=5e-4))), "finer instrument"),
        (lambda: identify_sample(Sample(**{**WARM_OHM, "lead_ohm": Reading(value=0.0443)})), "longer piece"),
        (lambda: identify_sample(Sample(**{**WARM_OHM, "lead_ohm": Reading(value=0.05)})), "leads are subtracted"),
        (lambda: identify_sample(Sample()).thinner(("stone", 1.0)), "AWG or mm2"),
    ],
)
def test_refused(make: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        make()


def test_the_thin_wall_is_that_of_heat() -> None:
    wire = awg(16)
    (outer_m,) = insulated([wire], INSULATIONS["pvc_80"]).outer_m
    core_m = wire.diameter_m
    assert outer_m == pytest.approx(core_m + 2 * (THIN_WALL_M + THIN_WALL_SHARE * core_m), rel=1e-12)
    log_area, variance = through_wall(np.array([outer_m]), np.zeros(1))
    assert abs(2 * math.log(core_m) + math.log(math.pi / 4) - log_area[0]) < 2 * math.sqrt(variance[0])
