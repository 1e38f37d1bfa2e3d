"""The buy list adds up: every run cut once with its slack, ends for every conductor, a cost only of given prices."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import tried
from wirecalc.cutting.pieces import Spool
from wirecalc.cutting.shop import POWER, SHELF, SPEAKER, read_shelf, sold, written_shelf
from wirecalc.errors import InputError
from wirecalc.vehicle.buy import SERVICE_LOOP_M, SLACK, BuyList, Pull, buy, price_list, read_prices, spool_item

# an invented job
FEED = Pull(
    name="sub feed", wire="4 AWG copper", colour="red", length_m=5.0, ends=("ring M8", "fork M5"),
    fuse="large blade fuse", fuse_a=60.0,
)  # fmt: skip
GROUND = Pull(name="sub ground", wire="4 AWG copper", colour="black", length_m=0.6, ends=("ring M8", "fork M5"))
LEFT = Pull(name="left door", wire="16 AWG copper", length_m=4.0, conductors=2, ends=("", "blade 6.3 mm"))
RIGHT = Pull(name="right door", wire="16 AWG copper", length_m=5.0, conductors=2, ends=("", "blade 6.3 mm"))
CABLE = Pull(
    name="dash to boot",
    wire="nine-conductor speaker cable",
    length_m=5.5,
    cores=9,
    size="18 AWG",
    ends=("splice", "pin"),
)
JOB = [FEED, GROUND, LEFT, RIGHT, CABLE]
SPOOLS = {"": [Spool(length_m=10.0), Spool(length_m=30.0)], FEED.item: [Spool(length_m=10.0)]}


def count(buy_list: BuyList, item: str) -> int:
    return int(buy_list.items.loc[buy_list.items["item"] == item, "count"].sum())


def test_a_job_worked_by_hand() -> None:
    buy_list = buy(JOB, SPOOLS, slack=0.1, service_loop_m=0.2)
    pieces = buy_list.pieces.set_index("run")
    assert pieces.loc["left door", "length_m"] == pytest.approx(4.0 * 1.1 + 2 * 0.2)
    assert pieces.loc["sub feed", "length_m"] == pytest.approx(5.9)
    assert list(buy_list.pieces["count"]) == [1, 1, 2, 2, 1]
    # doors: 2 × 4.8 + 2 × 5.9 = 21.4 m: one 30 m spool or three of 10 m
    expected = {
        "4 AWG copper, red, 10 m spool": 1,
        "4 AWG copper, black, 10 m spool": 1,
        "16 AWG copper, 30 m spool": 1,
        "nine-conductor speaker cable, 10 m spool": 1,
        "ring M8, for 4 AWG copper": 2,
        "fork M5, for 4 AWG copper": 2,
        "blade 6.3 mm, for 16 AWG copper": 4,
        "splice, for 18 AWG": 9,
        "pin, for 18 AWG": 9,
        "60 A large blade fuse": 1,
        "holder of a large blade fuse, for 4 AWG copper": 1,
    }
    assert dict(zip(buy_list.items["item"], buy_list.items["count"], strict=True)) == expected
    assert list(dict.fromkeys(buy_list.items["kind"])) == ["wire", "end", "fuse", "fuse holder"]
    doors = buy_list.items.set_index("item").loc["blade 6.3 mm, for 16 AWG copper", "for"]
    assert doors == "left door, right door"


def test_cut_list_holds_every_piece() -> None:
    buy_list = buy(JOB, SPOOLS)
    cuts = buy_list.cut_list()
    assert list(cuts.columns)[:2] == ["wire", "spool"]
    for row in buy_list.pieces.to_dict("records"):
        own = cuts[(cuts["wire"] == row["wire"]) & (cuts["piece"] == row["run"])]
        assert len(own) == row["count"]
        assert np.allclose(own["length_m"], row["length_m"])
        assert row["length_m"] >= row["way_m"] * (1 + SLACK) + 2 * SERVICE_LOOP_M - 1e-9
    assert (
        buy_list.in_words()[0]
        == "4 AWG copper, red: 1 spool, 10 m, of which 4.2 m are left. No plan needs less length."
    )
    assert len(buy_list.in_words()) == len(buy_list.cuts) == 4


def test_no_prices_no_cost() -> None:
    for prices in (None, {}):
        buy_list = buy(JOB, SPOOLS, prices=prices)
        assert list(buy_list.items.columns) == ["aisle", "kind", "item", "length_m", "count", "for"]
        assert buy_list.total is None
        assert buy_list.unpriced == ()
        assert not any("ost" in sentence for sentence in buy_list.in_words())


def test_cost_of_what_has_a_price_and_the_rest_named() -> None:
    prices = {"16 AWG copper, 10 m spool": 4.0, "16 AWG copper, 30 m spool": 15.0, "ring M8, for 4 AWG copper": 1.25}
    buy_list = buy(JOB, SPOOLS, prices=prices)
    # 4.7 + 4.7, 5.8, 5.8: three spools of 10 m, cheaper than one of 30 m
    assert count(buy_list, "16 AWG copper, 10 m spool") == 3
    assert count(buy_list, "16 AWG copper, 30 m spool") == 0
    assert buy_list.total == pytest.approx(3 * 4.0 + 2 * 1.25)
    assert set(buy_list.unpriced) == set(buy_list.items["item"]) - set(prices)
    assert "Cost: 14.50, without 4 AWG copper, red, 10 m spool" in buy_list.in_words()[-1]
    all_priced = buy([LEFT], SPOOLS, prices={**prices, "blade 6.3 mm, for 16 AWG copper": 0.1})
    assert all_priced.in_words()[-1] == "Cost: 4.20."


def test_what_lies_on_the_shelf_is_used_first() -> None:
    shelf = Spool(length_m=10.0, count=1, price=0.0, name="on the shelf")
    buy_list = buy([LEFT], [Spool(length_m=30.0, price=15.0), shelf])
    assert count(buy_list, "16 AWG copper, 10 m spool (on the shelf)") == 1
    assert spool_item(LEFT.item, shelf) == "16 AWG copper, 10 m spool (on the shelf)"
    assert buy_list.total == 0.0
    assert buy_list.unpriced == ("blade 6.3 mm, for 16 AWG copper",)


def test_a_price_list_goes_round() -> None:
    blank = price_list(buy(JOB, SPOOLS)).decode("utf-8-sig")
    assert read_prices(blank) == {}
    items = [line.rpartition(",")[0].strip('"') for line in blank.splitlines()[1:]]
    assert "16 AWG copper, 10 m spool" in items  # not taken, but could be
    filled = "item,price\n" + "".join(f'"{item}",{place + 0.5}\n' for place, item in enumerate(items))
    prices = read_prices(filled)
    assert list(prices) == items
    buy_list = buy(JOB, SPOOLS, prices=prices)
    assert buy_list.unpriced == ()
    assert buy_list.total == pytest.approx(sum(prices[item] * count(buy_list, item) for item in buy_list.items["item"]))
    again = read_prices(price_list(buy_list).decode("utf-8-sig"))
    assert again == {item: prices[item] for item in buy_list.items["item"]}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "nothing"),
        ("name,price\nx,1\n", "the columns item and price"),
        ("item,price\na,1\nb,cheap\nc,-1\nd,nan\n", r"row 3: cheap; row 4: -1; row 5: nan"),
        ("item,price\na,1\na,2\n", "row 3: 2 for a, before it was 1"),
        ("item,price\na,1,2,3\nb,1,2,3,4,5\n", "row 2: 4 columns; row 3: 6 columns"),
    ],
)
def test_a_price_list_that_cannot_be_read(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_prices(text)


def test_spaces_empty_prices_and_short_rows_are_no_fault() -> None:
    assert read_prices("Item , PRICE\n a , 1.5 \nb,\nc\na,1.5\n") == {"a": 1.5}


PULLS = st.lists(
    st.builds(
        Pull,
        name=st.sampled_from(["door", "boot", "dash", "roof"]),
        wire=st.sampled_from(["12 AWG copper", "2.5 mm² copper"]),
        length_m=st.floats(0.2, 8.0),
        conductors=st.integers(1, 3),
        ends=st.sampled_from([("", ""), ("ring M6", ""), ("ring M6", "ring M6")]),
    ),
    min_size=1,
    max_size=6,
)


@given(PULLS, st.floats(0, 0.5), st.floats(0, 0.5))
@settings(max_examples=tried(40), deadline=None, derandomize=True)
def test_nothing_is_short_and_nothing_forgotten(pulls: list[Pull], slack: float, loop_m: float) -> None:
    buy_list = buy(pulls, [Spool(length_m=15.0), Spool(length_m=25.0)], slack=slack, service_loop_m=loop_m)
    needed = sum(pull.conductors * (pull.length_m * (1 + slack) + 2 * loop_m) for pull in pulls)
    lengths = buy_list.cut_list()["length_m"]
    assert len(lengths) == sum(pull.conductors for pull in pulls)
    assert needed - 1e-6 <= lengths.sum() <= needed + 0.001 * len(lengths) + 1e-6
    bought = sum(plan.bought_m for plan in buy_list.cuts.values())
    assert bought >= lengths.sum() - 1e-6
    ends = buy_list.items.loc[buy_list.items["kind"] == "end", "count"].sum()
    assert ends == sum(pull.conductors * sum(map(bool, pull.ends)) for pull in pulls)
    more = buy(pulls, [Spool(length_m=15.0), Spool(length_m=25.0)], slack=slack + 0.1, service_loop_m=loop_m)
    assert sum(plan.bought_m for plan in more.cuts.values()) >= bought


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: buy([], SPOOLS), "Runs to pull"),
        (lambda: buy(JOB, SPOOLS, slack=10), "0.1 is ten per cent"),
        (lambda: buy(JOB, SPOOLS, service_loop_m=-1), "Service loop"),
        (lambda: buy(JOB, SPOOLS, prices={"x": math.nan}), "Price of “x”"),
        (lambda: buy(JOB, {FEED.item: [Spool(length_m=9.0)]}), "none of “4 AWG copper, black”"),
        (lambda: buy(JOB, [Spool(length_m=5.0)]), "“sub feed”.*up to 5 m"),
        (lambda: Pull(name=" ", wire="x", length_m=1.0), "Name of a run"),
        (lambda: Pull(name="x", wire="", length_m=1.0), "Wire"),
        (lambda: Pull(name="x", wire="x", length_m=0.0), "Length of “x”"),
        (lambda: Pull(name="x", wire="x", length_m=1.0, conductors=0), "Conductors of “x”"),
        (lambda: Pull(name="x", wire="x", length_m=1.0, cores=1.5), "a whole number"),  # type: ignore[arg-type]
        (lambda: Pull(name="x", wire="x", length_m=1.0, fuse="blade"), "a kind with its rating"),
        (lambda: Pull(name="x", wire="x", length_m=1.0, fuse_a=10.0), "a kind with its rating"),
    ],
)
def test_what_cannot_be_bought(make: object, told: str) -> None:
    with pytest.raises(InputError, match=told):
        make()  # type: ignore[operator]


# --- as a shop sells, and what one has already ------------------------------------------------------------------


def test_spools_are_those_of_the_aisle_round_in_feet_or_metres() -> None:
    # a foot is 0.3048 m by definition
    feet, metres = sold("feet"), sold("metres")
    assert [spool.length_m / 0.3048 for spool in feet[SPEAKER]] == pytest.approx([25, 50, 100, 250, 500])
    assert all(spool.length_m.is_integer() for spool in metres[POWER])
    pair = Pull(name="door", wire="two-conductor speaker wire, 16 AWG", length_m=5.0, cores=2, aisle=SPEAKER)
    buy_list = buy([pair], feet)
    assert list(buy_list.items["length_m"]) == pytest.approx([25 * 0.3048])
    assert list(buy_list.items["aisle"]) == ["speaker wire"]


def test_the_shelf_is_used_first_and_stands_by_itself() -> None:
    held = read_shelf("4 AWG red = 6 m; ring 4 AWG copper = 1; blade 16 = 3; welding rods = 7")
    buy_list = buy(JOB, SPOOLS, held=held)
    shelf = buy_list.items[buy_list.items["aisle"] == SHELF].set_index("item")["count"].to_dict()
    assert shelf == {
        "4 AWG copper, red, 6 m spool (on the shelf)": 1, "ring M8, for 4 AWG copper": 1,
        "blade 6.3 mm, for 16 AWG copper": 3,
    }  # fmt: skip
    rest = buy_list.items[buy_list.items["aisle"] != SHELF]
    assert int(rest.loc[rest["item"] == "ring M8, for 4 AWG copper", "count"].sum()) == 1
    assert int(rest.loc[rest["item"] == "blade 6.3 mm, for 16 AWG copper", "count"].sum()) == 1
    assert not rest["item"].str.startswith("4 AWG copper, red").any()
    priced = buy(JOB, SPOOLS, held=held, prices={"ring M8, for 4 AWG copper": 2.0})
    assert priced.total == 2.0
    plain = buy(JOB, SPOOLS).items.set_index("item")["count"].to_dict()
    both = buy_list.items[buy_list.items["kind"] != "wire"].groupby("item")["count"].sum().to_dict()
    assert both == {item: n for item, n in plain.items() if item in both}  # nothing is lost, nothing counted twice


def test_a_piece_that_is_too_short_stays_on_the_shelf() -> None:
    buy_list = buy([FEED], SPOOLS, held=read_shelf("4 AWG red = 3 m"))
    assert SHELF not in set(buy_list.items["aisle"])
    assert buy_list.in_words()[0].endswith("No plan needs less length.")


@pytest.mark.parametrize(
    ("text", "message"),
    [("12 m", "a name, =, and how much"), ("wire = many", "many"), ("ring = 0", "1 to"), ("a = -3 m", "-3 m"),
     ("=3", "a name")],
)  # fmt: skip
def test_a_shelf_that_cannot_be_read(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_shelf(text)


def test_words_that_mean_two_things_are_asked_back() -> None:
    with pytest.raises(InputError, match="words of one thing"):
        buy(JOB, SPOOLS, held=read_shelf("4 AWG = 3 m"))


@given(st.lists(st.sampled_from(["a = 3", "ring M8 = 12", "wire 16 = 2 m + 3.5 m", "x/y = 1 ft"]), max_size=4))
def test_a_shelf_goes_round(parts: list[str]) -> None:
    held = read_shelf("; ".join(parts))
    assert [article.what for article in read_shelf(written_shelf(held))] == [article.what for article in held]
    again = [length for article in read_shelf(written_shelf(held)) for length in article.lengths_m]
    assert again == pytest.approx([length for article in held for length in article.lengths_m], rel=1e-3)


def test_a_price_list_says_whose_job_it_is_and_is_read_all_the_same() -> None:
    heads = [("Plan name", "Blue estate, invented"), ("Customer", "=1+1")]
    text = price_list(buy(JOB, SPOOLS), heads).decode("utf-8-sig")
    assert text.splitlines()[0] == 'Plan name,"Blue estate, invented"'
    assert read_prices(text) == {}
    filled = text.replace('ring M8, for 4 AWG copper",', 'ring M8, for 4 AWG copper",1.5')
    assert read_prices(filled) == {"ring M8, for 4 AWG copper": 1.5}
    with pytest.raises(InputError, match="row 5: x"):
        read_prices("Customer,A\nShop,B\n\nitem,price\nwire,x\n")
