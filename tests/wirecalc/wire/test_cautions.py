"""Each caution is said where it belongs, by one rule, and local codes always."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wirecalc.errors import InputError
from wirecalc.wire.bought import like_copper
from wirecalc.wire.cautions import CAUTIONS, LOCAL_CODES, TOGETHER, Work, cautions, keys
from wirecalc.wire.conductor import METALS, awg

SPEAKER = Work(starts_at="output", loudspeaker=True, fused=False, loaded=2, zones=("cabin",))
FEED = Work(starts_at="battery", loaded=1, zones=("battery_side", "outside", "boot"))
BRANCH = Work(starts_at="branch", loaded=1, zones=("cabin",))
GROUND = Work(ground=True, fused=False, zones=("boot",))


# key, said of, not said of: common practice, no source, but for what the texts name
@pytest.mark.parametrize(
    ("key", "with_it", "without"),
    [
        ("battery feed", FEED, BRANCH),
        ("battery sensor", GROUND, BRANCH),
        ("battery sensor", FEED, SPEAKER),
        ("branch", BRANCH, SPEAKER),
        ("fuse type", BRANCH, GROUND),
        ("warm holder", FEED, SPEAKER),
        ("parallel", Work(parallel=2), BRANCH),
        ("test tones", SPEAKER, FEED),
        ("shock", replace(SPEAKER, music_v=50.0), replace(SPEAKER, music_v=49.9)),
        ("shock", Work(starts_at="output", music_v=70.7), FEED),
        ("hearing", replace(SPEAKER, music_w=101.0), replace(SPEAKER, music_w=100.0)),
        ("hearing", replace(SPEAKER, music_w=1000.0), replace(FEED, music_w=1000.0)),
        ("clad aluminium", Work(metal=METALS["cca_10"]), Work(metal=METALS["tinned_copper"])),
        ("clad aluminium", Work(metal=METALS["aluminium"]), BRANCH),
        ("grommets", Work(zones=("outside",)), BRANCH),
        ("grommets", Work(zones=("cabin", "boot")), GROUND),
        ("hot bundle", Work(loaded=TOGETHER + 1), Work(loaded=TOGETHER)),
        ("engine bay", Work(zones=("engine_bay",)), Work(zones=("engine_space",))),
        ("engine bay", FEED, Work(zones=("cabin_sun",))),
        ("boat engine", Work(zones=("engine_space",)), Work(zones=("engine_bay",))),
    ],
)
def test_each_is_said_where_it_belongs(key: str, with_it: Work, without: Work) -> None:
    assert CAUTIONS[key] in cautions(with_it)
    assert CAUTIONS[key] not in cautions(without)


@pytest.mark.parametrize("work", [SPEAKER, FEED, BRANCH, GROUND, ()])
def test_airbags_and_local_codes_are_always_said(work: Work | tuple[Work, ...]) -> None:
    assert CAUTIONS["airbag"] in cautions(work)
    assert cautions(work)[-1] == LOCAL_CODES
    assert "licensed" in LOCAL_CODES


def test_of_several_each_is_said_once_in_order() -> None:
    caution_keys = keys((SPEAKER, FEED, FEED, GROUND))
    assert len(set(caution_keys)) == len(caution_keys)
    assert list(caution_keys) == [key for key in CAUTIONS if key in caution_keys]
    assert set(caution_keys) == set(keys(SPEAKER)) | set(keys(FEED)) | set(keys(GROUND))


def test_texts_are_whole_and_every_rule_has_one() -> None:
    assert all(len(text) > 40 and text.endswith(".") for text in CAUTIONS.values())
    assert set(SPEAKER.applies) == set(CAUTIONS)
    assert "450 mm" in CAUTIONS["battery feed"]
    assert "1000 A" in CAUTIONS["battery feed"]


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="Place"):
        Work(zones=("moon",))
    with pytest.raises(InputError, match="parallel"):
        Work(parallel=0)


def test_clad_aluminium_carries_as_copper_two_sizes_thinner() -> None:
    """ASTM B566, 10 and 15 % copper: resistivity in data/metals.csv over that of copper is two gauge sizes."""
    for key in ("cca_10", "cca_15"):
        assert float(like_copper(awg(4, METALS[key])).removesuffix(" AWG")) == pytest.approx(6.0, abs=0.15)
    assert "two gauge sizes thinner" in CAUTIONS["clad aluminium"]
    assert all(word in CAUTIONS["clad aluminium"] for word in ("crimp", "creep"))
