"""A shop's rules: what is read of them, how a file goes out and comes back, and what is wrong with a bad one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wirecalc.advice.house_rules import HouseRules, by_rule
from wirecalc.advice.house_rules_file import house_rules_csv, read_house_rules
from wirecalc.errors import FileFaults, InputError

USUAL = HouseRules.from_table()
TEXT = house_rules_csv(USUAL).decode("utf-8-sig")


def edited(key: str, value: str) -> str:
    """The file with one value typed over."""
    rules = {rule.key: rule for rule in USUAL.rules}
    place = list(rules).index(key) + 1
    lines = TEXT.split("\r\n")
    old = rules[key].value
    assert f",{old}," in lines[place], lines[place]
    lines[place] = lines[place].replace(f",{old},", f",{value},", 1)
    return "\r\n".join(lines)


# power, least size: the table of the least sizes of a subwoofer, common practice, no source
@pytest.mark.parametrize(
    ("power_w", "awg"),
    [(100, 16), (150, 16), (151, 14), (300, 14), (600, 12), (1000, 12), (2000, 10), (2001, 8), (9000, 8)],
)
def test_a_subwoofers_wire_goes_by_power(power_w: float, awg: float) -> None:
    rule = USUAL.least_size("subwoofer", "AWG", power_w)
    assert rule is not None
    assert rule.sizes == (("AWG", awg),)


def test_what_the_shop_stocks() -> None:
    assert USUAL.shelf("battery to amplifier", "AWG")[-2:] == (("AWG", 4.0), ("AWG", 0.0))
    assert USUAL.on_order("battery to amplifier", "AWG")[-1] == ("AWG", -1.0)
    assert USUAL.when_asked("battery to amplifier", "AWG") == (("AWG", -3.0),)
    assert USUAL.shelf("line signal", "AWG") == ()
    assert USUAL.least_size("line signal", "AWG") is None


def test_a_battery_feed_passes_the_bay() -> None:
    places = USUAL.places("battery to amplifier")
    assert places[0].zone == "battery_side"
    assert sum(place.share for place in places) == pytest.approx(1)
    assert USUAL.insulation("battery to amplifier").limit_c == 105
    assert [place.zone for place in USUAL.places("line signal")] == ["cabin"]


def test_loading_and_families() -> None:
    assert USUAL.loading("load") == 0.8
    assert USUAL.loading("battery to amplifier", "average of music") == 0.8
    assert USUAL.loading("battery to amplifier", "full power") == 1.0
    assert USUAL.family("behind a fuse or block", 30) == "blade"
    assert USUAL.family("behind a fuse or block", 400) == "bolt-in strip 51 mm"
    assert USUAL.family("behind a fuse or block", 600) is None
    assert USUAL.band == (1.0, 1.25)


def test_every_rule_has_its_own_key_and_name() -> None:
    assert len({rule.key for rule in USUAL.rules}) == len(USUAL.rules)
    assert all(rule.name and rule.reason and rule.source for rule in USUAL.rules)
    assert sum(len(rules) for _, rules in by_rule(USUAL)) == len(USUAL.rules)


def test_a_file_comes_back_as_it_went_out() -> None:
    changed = USUAL.replace("least_size/load///AWG", "16").replace("taste_band/limit of taste/borderline//", "1.5")
    assert read_house_rules(house_rules_csv(changed).decode("utf-8-sig")) == changed
    assert changed.band == (1.0, 1.5)
    assert HouseRules.from_changes(changed.changes) == changed
    assert len(changed.changes) == 2
    assert USUAL.changes == {}


def test_what_a_spreadsheet_makes_of_it_is_read() -> None:
    semicolons = TEXT.replace(",", ";")  # commas in cells go too: only the columns that are read must be whole
    assert read_house_rules("\n".join(semicolons.split("\r\n")[:20])) == USUAL
    assert read_house_rules(edited("shelf_sizes/load///AWG", "1/0 8 18")).shelf("load", "AWG") == (
        ("AWG", 18.0), ("AWG", 8.0), ("AWG", 0.0),
    )  # fmt: skip


def test_a_rule_without_a_row_keeps_its_default() -> None:
    head = TEXT.split("\r\n")[0]
    assert read_house_rules(head) == USUAL


BAD = [
    ("least_size/load///AWG", "99", "0 to 40"),
    ("least_size/load///AWG", "18 16", "one size"),
    ("fuse_loading/load///%", "180", "10 to 100 %"),
    ("taste_band/limit of taste/borderline//", "wide", "1 to 3"),
    ("fuse_family/behind a fuse or block//-30/", "wire", "blade"),
    ("matched_size/amplifier to speaker///", "perhaps", "yes, no"),
    ("insulation/load///", "paper", "pvc_105"),
    ("places/battery to amplifier///", "moon 100", "engine_bay"),
    ("places/battery to amplifier///", "boot 50", "sum to 100"),
]


@pytest.mark.parametrize(("key", "value", "says"), BAD)
def test_a_value_that_cannot_be_used_is_said(key: str, value: str, says: str) -> None:
    with pytest.raises(InputError) as why:
        USUAL.replace(key, value)
    assert value in str(why.value)
    assert says in why.value.allowed + why.value.hint


def test_all_faults_are_said_in_one_go_with_their_rows() -> None:
    rows = edited("least_size/load///AWG", "thick").split("\r\n")
    rows[3] = rows[3].replace("least_size", "least_colour")
    rows[4] = rows[2]
    with pytest.raises(FileFaults) as why:
        read_house_rules("\r\n".join(rows))
    messages = str(why.value).split("\n")
    assert [line.split(",")[0].split(":")[0] for line in messages] == ["Row 2", "Row 4", "Row 5"]
    with pytest.raises(FileFaults, match="columns"):
        read_house_rules("a,b\n1,2")
    with pytest.raises(FileFaults, match="characters"):
        read_house_rules("x" * 300_000)
    with pytest.raises(InputError, match="House rule"):
        USUAL.replace("no such rule", "1")
    with pytest.raises(FileFaults, match="no such"):
        HouseRules.from_changes({"no such": "1"})


@given(st.text(max_size=200))
def test_noise_is_refused_in_words(text: str) -> None:
    message = ""
    try:
        read_house_rules(text)
    except FileFaults as why:
        message = f"{why}"
    assert message or not text.strip() or text.startswith("rule")


@given(rule=st.sampled_from(USUAL.rules), value=st.text(max_size=20))
def test_any_value_is_kept_or_refused_and_stays_in_a_file(rule: object, value: str) -> None:
    key = rule.key  # type: ignore[attr-defined]
    try:
        changed = USUAL.replace(key, value)
    except InputError:
        return
    assert read_house_rules(house_rules_csv(changed).decode("utf-8-sig")) == changed
