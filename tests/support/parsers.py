"""Every parser of what a person types or opens, each as a function of bytes with valid files to start from.

For `test_fuzz.py`, which throws noise at them, and `fuzz_atheris.py`, which looks for what noise does not reach.
"""

from __future__ import annotations

import io
import math
import time
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from dashboards.panels.bench.bundle import read_what, show_what
from dashboards.panels.controls import address
from dashboards.panels.controls.fields import choice, meter_reading, quantity
from dashboards.panels.settings import house
from dashboards.panels.whole_vehicle.buy import read_spools
from wirecalc import csv_text, units
from wirecalc.advice import house_rules_file
from wirecalc.advice.house_rules import HouseRules
from wirecalc.bench.log import LoggedSample, from_csv, log_csv
from wirecalc.bench.meter import Accuracy, read_accuracy
from wirecalc.bench.sample import FIELDS, read_reading
from wirecalc.circuits.impedance_file import read_impedance
from wirecalc.cutting.shop import read_shelf
from wirecalc.errors import InputError
from wirecalc.practice import progress
from wirecalc.practice.kinds import KINDS
from wirecalc.practice.problem import make_problem
from wirecalc.vehicle import buy, file
from wirecalc.vehicle.stock import read_stock
from wirecalc.vehicle.terminals import TERMINALS, role
from wirecalc.vehicle.text import PlanText, parse, text_of
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.bought import read_size
from wirecalc.wire.cable_file import read_cables, read_conductors, write_cables
from wirecalc.wire.cable_types import CABLES

MOST_S = 2.0  # of this process for one small input: 20 to 2000 times what it takes
LONGEST_MESSAGE = 250_000
METER = Accuracy(share=0.005, counts=2)
APART = b"\f\f"  # between the two files of a plan
QUANTITIES = [kind for kind in vars(units).values() if isinstance(kind, units.QuantityKind)]


@dataclass(frozen=True, kw_only=True)
class Parser:
    """`take` reads, and asserts what holds of all that is read."""

    take: Callable[[bytes], object]
    seeds: Sequence[bytes]


def held(parser: Parser, content: bytes) -> InputError | None:
    """Take it. Nothing else is raised than what can be said in words, soon; that is the answer, or None."""
    start, refused = time.process_time(), None
    try:
        parser.take(content)
    except InputError as fault:
        refused = fault
    assert time.process_time() - start < MOST_S
    if refused is not None:
        assert refused.allowed
        assert len(str(refused).encode()) < LONGEST_MESSAGE  # a lone surrogate would not go out to the page
    return refused


def typed(content: bytes) -> str:
    """Bytes that are no UTF-8 become lone surrogates."""
    return content.decode("utf-8", "surrogateescape")


def of_text(read: Callable[[str], object]) -> Callable[[bytes], object]:
    return lambda content: read(typed(content))


def _quantity(content: bytes) -> None:
    kind = QUANTITIES[content[0] % len(QUANTITIES)] if content else units.LENGTH
    assert math.isfinite(units.read(typed(content[1:]), "Entry", kind, low=-1e6, high=1e6))


def _size(text: str) -> None:
    system, number = read_size(text)
    assert (0.01 <= number <= 500) if system == "mm2" else (-3 <= number <= 500)
    assert show_size(system, number)


def _accuracy(text: str) -> None:
    accuracy = read_accuracy(text)
    assert 0 <= accuracy.share <= 0.2
    assert 0 <= accuracy.counts <= 200
    assert str(read_accuracy(str(accuracy))) == str(accuracy)


def _reading(content: bytes) -> None:
    name = list(FIELDS)[content[0] % len(FIELDS)] if content else "ohm"
    for accuracy in (None, METER):
        reading = read_reading(typed(content[1:]), name, accuracy)
        assert FIELDS[name].low <= float(np.asarray(reading.value)) <= FIELDS[name].high
        assert math.isfinite(float(np.asarray(reading.uncertainty)))


def _stock(text: str) -> None:
    stock = read_stock(text)
    again = "; ".join(f"{size[1]!r} mm2" if size[0] == "mm2" else show_size(*size) for size in stock.sizes)
    assert len(read_stock(again).sizes) <= len(stock.sizes)


def _what(text: str) -> None:
    assert show_what(read_what(text, "Wire"))


def _meter(text: str) -> None:
    value = meter_reading("Reading", "").read(text)
    assert value is None or value >= 0


@cache
def _problems() -> list[object]:
    return [make_problem(kind, 1) for kind in KINDS.values()]


def _answer(content: bytes) -> None:
    problems = _problems()
    problem = problems[content[0] % len(problems)] if content else problems[0]
    assert problem.mark(typed(content[1:])).message  # type: ignore[attr-defined]


def _prices(content: bytes) -> None:
    prices = buy.read_prices(csv_text.decoded(content))
    assert all(0 <= price <= 1e7 for price in prices.values())
    again = csv_text.csv_bytes([("item", "price"), *((item, repr(price)) for item, price in prices.items())])
    assert buy.read_prices(csv_text.decoded(again)) == prices


def _impedance(content: bytes) -> None:
    impedance = read_impedance(content)
    assert np.all(np.isfinite(impedance.impedance(impedance.frequency_hz)))


def _log(content: bytes) -> None:
    log = from_csv(content)
    assert from_csv(log_csv(log)) == log


def _progress(content: bytes) -> None:
    parsed = progress.from_json(content)
    assert progress.from_json(progress.to_json(parsed)) == parsed


def _cables(text: str) -> None:
    written = write_cables(read_cables(text))
    assert write_cables(read_cables(csv_text.decoded(written))) == written


def _listed(text: str) -> None:
    assert read_conductors(text, ("AWG", 18.0), twisted=True)


def _house_rules(content: bytes) -> None:
    rules = house_rules_file.read_house_rules(csv_text.decoded(content))
    assert house_rules_file.read_house_rules(csv_text.decoded(house_rules_file.house_rules_csv(rules))) == rules


def _kept_rules(content: bytes) -> None:
    rules = house.from_bytes(content, "House rules")
    assert house.from_bytes(house.to_bytes(rules), "House rules") == rules


def _plan(text: PlanText) -> None:
    parsed = parse(text)
    assert (parsed.vehicle is None) == bool(parsed.faults)
    for fault in parsed.faults:
        assert str(fault).encode()
    if parsed.vehicle is not None:
        assert parse(text_of(parsed.vehicle)).vehicle == parsed.vehicle


def _csv_files(content: bytes) -> None:
    first, _, second = content.partition(APART)
    text = file.read_csv(first, second)
    assert file.read_csv(*file.write_csv(text)) == text
    _plan(text)


def _workbook(content: bytes) -> None:
    text = file.read_workbook(content)
    assert file.read_workbook(file.write_workbook(text)) == text
    _plan(text)


def _terminal(text: str) -> None:
    for kind in TERMINALS:
        role(kind, text)


def with_part(name: str, content: bytes) -> bytes:
    """The template's workbook with one part replaced, or one more."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for other, text in parts().items():
            if other != name:
                new.writestr(other, text)
        new.writestr(name, content)
    return out.getvalue()


@cache
def parts() -> dict[str, bytes]:
    """Of the template's workbook."""
    with zipfile.ZipFile(io.BytesIO(file.write_workbook(file.template()))) as old:
        return {name: old.read(name) for name in old.namelist()}


def _part(content: bytes) -> None:
    names = list(parts())
    _workbook(with_part(names[content[0] % len(names)], content[1:]) if content else b"")


@cache
def _fields() -> address.Fields:
    length = quantity("Length", units.LENGTH, 5.0, "m", low=0, high=200, above=True)
    return address.named(length=length, metal=choice("Metal", [("copper", "copper"), ("aluminium", "al")], "al"))


def _address(text: str) -> None:
    values = address.read(text)
    assert not set(values) & set(address.SERVERS_OWN)
    faults = address.fill(_fields(), values)
    assert len(faults) <= len(values)
    assert all(str(fault).encode() for fault in faults)


def _numbered(*texts: tuple[int, str]) -> tuple[bytes, ...]:
    return tuple(bytes([place]) + text.encode() for place, text in texts)


def _kinds(*texts: tuple[units.QuantityKind, str]) -> tuple[bytes, ...]:
    return _numbered(*((QUANTITIES.index(kind), text) for kind, text in texts))


def _log_seed() -> bytes:
    texts = ("16", "0.254 mm ± 0.005 mm", "", "62.0 mohm", "20.0 mohm", "2.00 m", "68 °F", "", "", "2,1 mm")
    sample = LoggedSample(name="spool 3", texts=texts, way="two", accuracy=METER, sold_as=("AWG", 18.0))
    other = LoggedSample(name="=1+1", texts=("",) * len(FIELDS), way="four", accuracy=METER, sold_as=None)
    return log_csv((sample, other))


def _answers() -> tuple[bytes, ...]:
    """Of every kind of problem, as a person writes it."""
    kinds = [kind.quantity for kind in KINDS.values()]
    return _numbered(*((at, kind.example.split(" or ")[0] if kind else "12 AWG") for at, kind in enumerate(kinds)))


PARSERS: dict[str, Parser] = {
    "quantity": Parser(
        take=_quantity,
        seeds=_kinds(
            (units.LENGTH, "18 ft 6 1/2 in"), (units.LENGTH, "5 m 40 cm"), (units.POWER, "0,18 kW"),
            (units.TEMPERATURE, "68 °F"), (units.RATIO, "5 %"), (units.COUNT, "4"), (units.LEVEL, "−0.5 dB"),
        ),
    ),
    "size": Parser(
        take=of_text(_size),
        seeds=(b"12 AWG", b"1/0", b"000", "2,5 mm²".encode(), b"250 kcmil", b"SAE J1128 TXL 12", b"FLRY-B 0,5 mm2"),
    ),
    "accuracy": Parser(take=of_text(_accuracy), seeds=("±(0.5 % of rdg + 2 counts)".encode(), b"3 digits")),
    "reading": Parser(
        take=_reading,
        seeds=_numbered((0, "19"), (1, "0.254 ± 0.005 mm"), (3, "20.5 mohm +/- 2 %"), (6, "20 °C ± 2 K")),
    ),
    "stock": Parser(take=of_text(_stock), seeds=(b"16 AWG = 0.80; 4 mm2 = 2\n12 AWG",)),
    "shelf": Parser(take=of_text(read_shelf), seeds=(b"speaker wire 16 AWG = 12 m + 30 ft; ferrule = 20",)),
    "spools": Parser(take=of_text(read_spools), seeds=(b"10 m; 25, 30 ft",)),
    "wire of a bundle": Parser(take=of_text(_what), seeds=(b"12 AWG", b"4.5 mm", b"2.5 mm2")),
    "meter's reading": Parser(take=of_text(_meter), seeds=(b"OL", b"0.255 ohm", b"12,5 mohm")),
    "answer": Parser(take=_answer, seeds=_answers()),
    "terminal": Parser(take=of_text(_terminal), seeds=(b"speaker 1+2", b"line out 3", b"-")),
    "address": Parser(take=of_text(_address), seeds=(b"length=5.6+m&metal=aluminium&token=x&length=%20",)),
    "price list": Parser(take=_prices, seeds=(b'item,price\r\n"12 AWG copper, 10 m spool",4.5\r\nring M8,\r\n',)),
    "impedance file": Parser(
        take=_impedance,
        seeds=(b"Freq (Hz),Mag (ohm),Phase (deg)\n20,4.1,10\n200,8.5,-20\n", b"* x\n20\t4,1\t0\n20000\t9,5\t45\n"),
    ),
    "bench log": Parser(take=_log, seeds=(_log_seed(), csv_text.decoded(_log_seed()).encode("utf-16"))),
    "progress": Parser(
        take=_progress,
        seeds=(progress.to_json(progress.Progress().counted("loop", right=True, tries=1).played("heat")),),
    ),
    "cables": Parser(take=of_text(_cables), seeds=(write_cables(list(CABLES.values())[:3]),)),
    "conductors": Parser(take=of_text(_listed), seeds=(b"white, white/black, blue 20 AWG; red 0,75 mm2",)),
    "house rules": Parser(take=_house_rules, seeds=(house_rules_file.house_rules_csv(HouseRules.from_table()),)),
    "house rules of a link": Parser(take=_kept_rules, seeds=(b'{"least_size/load///AWG":"14"}',)),
    "plan as CSV": Parser(take=_csv_files, seeds=(APART.join(file.write_csv(file.template())),)),
    "workbook": Parser(take=_workbook, seeds=(file.write_workbook(file.template()),)),
    "part of a workbook": Parser(
        take=_part, seeds=tuple(bytes([place]) + text for place, text in enumerate(parts().values()))
    ),
}  # fmt: skip

WORDS = sorted(
    {spelling for kind in QUANTITIES for spelling in kind.spellings if spelling}
    | {word.strip() for seed in PARSERS["plan as CSV"].seeds for word in seed.decode().split(",") if word.strip()}
    | {
        "AWG",
        "ga",
        "counts",
        "% of rdg",
        "±",
        "+/-",
        "OL",
        "&",
        "=",
        ";",
        "1/2",
        "½",
        "e9",
        "choose",
        "none",
        "''=",
        "*",
    }
    | {
        "<row>",
        "<c/>",
        "<v>",
        't="s"',
        't="b"',
        't="d"',
        "<f>",
        "<mergeCell/>",
        's="1"',
        "&#10;",
        "numFmtId",
        "xml:space",
    }
)
"""What a search puts in."""
