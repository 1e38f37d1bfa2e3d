from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import tried
from tests.support.plans import amplifier, load, vehicle, wire
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import FileFaults, InputError
from wirecalc.vehicle import file
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.fields import DEVICE_FIELDS, WIRE_FIELDS
from wirecalc.vehicle.file import demo_plan, read_csv, read_workbook, template, which_list, write_csv, write_workbook
from wirecalc.vehicle.text import MOST_COLUMNS, MOST_FAULTS, PlanSheet, PlanText, clean_cell, parse, text_of, vehicle_of

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
CELL = st.one_of(
    TEXT,
    st.sampled_from(["=1+1", "+1", "-1", "@x", "'=1", "''@", "#N/A", "1/0", "TRUE", "007", "5,5 m", "a\nb", "_x000D_"]),
)


def sheet(columns: Sequence[str], *rows: Sequence[str]) -> PlanSheet:
    return PlanSheet(columns=tuple(columns), rows=tuple(tuple(row) for row in rows))


@st.composite
def sheets(draw: st.DrawFn, first: str) -> PlanSheet:
    """As a reader gives them: clean cells, no empty column at the right, no empty row at the end."""
    columns = (first, *draw(st.lists(CELL.map(clean_cell), max_size=4)), "last")
    rows = draw(st.lists(st.tuples(*[CELL.map(clean_cell)] * (len(columns) - 1)), max_size=4))
    return sheet(columns, *[(*row, "end") for row in rows])


def book(*parts: tuple[str, Sequence[Sequence[Any]]]) -> bytes:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for title, rows in parts:
        page = made.create_sheet(title)
        for row in rows:
            page.append(list(row))
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


@settings(max_examples=tried(20), deadline=None, derandomize=True)
@given(sheets("Kind"), sheets("From"))
def test_any_text_comes_back_from_both_kinds_of_file(devices: PlanSheet, wires: PlanSheet) -> None:
    text = PlanText(devices=devices, wires=wires)
    assert read_workbook(write_workbook(text)) == text
    assert read_csv(*write_csv(text)) == text
    assert read_csv(*write_csv(text)[::-1]) == text


def test_house_rules_travel_in_csv_files_too_and_old_files_open() -> None:
    rules = HouseRules.from_table().replace("drop_limit/load/critical//%", "5")
    whole = text_of(replace(vehicle_of(demo_plan()), rules=rules))
    assert whole.rules is not None
    assert read_csv(*write_csv(whole)) == whole
    assert vehicle_of(read_csv(*write_csv(whole)[::-1])).rules == rules
    devices = write_csv(whole)[0].decode("utf-8-sig").splitlines()
    assert len(devices) == len(demo_plan().devices.rows) + 2
    assert "house rule" in devices[-1]
    assert read_csv(*write_csv(demo_plan())).rules is None


def test_the_demo_and_the_template_come_back_and_mean_the_same() -> None:
    for text in (demo_plan(), template()):
        whole = vehicle_of(text)
        assert read_workbook(write_workbook(text)) == text
        assert read_csv(*write_csv(text)) == text
        assert vehicle_of(text_of(whole)) == whole
    assert template().devices.columns == tuple(field.column for field in DEVICE_FIELDS)
    assert template().wires.columns == tuple(field.column for field in WIRE_FIELDS)
    assert len(template().wires.rows) >= 5


@settings(max_examples=tried(40), deadline=None, derandomize=True)
@given(
    st.floats(0.01, 100), st.floats(1e-5, 10), st.floats(-3, 40), st.one_of(st.floats(0.1, 1000), st.just("choose")),
    st.sampled_from([("mm2", 0.75), ("mm2", 16.0), "choose"]),
)  # fmt: skip
def test_a_vehicle_as_text_keeps_every_digit(length: float, joints: float, awg: float, fuse: Any, size: Any) -> None:
    whole = vehicle(
        load(draw_a=length),
        wire("a", "Battery", "Load", length, ("AWG", float(round(awg))), joints_ohm=joints, fuse=fuse),
        wire("b", "Battery", "Load", length, size),
    )
    assert vehicle_of(text_of(whole)) == whole


def test_what_people_write_is_read() -> None:
    text = PlanText(
        devices=sheet(
            ("NAME", " kind ", "Voltage", "Inner  Resistance", "Draw", "Colour of the fascia"),
            ("Battery", "Battery", "12,6 V", "5 mohm", "", "black"),
            ("", "", "", "", "", ""),
            ("Body", "body", "", "", "", ""),
            ("Radio", "head unit", "", "", "1500 mA", ""),
        ),
        wires=sheet(
            ("Name", "From", "From terminal", "To", "To terminal", "Length", "Size", "Zone", "Fuse", "Metal"),
            ("Feed", "Battery", "+", "Radio", "plus", "18 ft 6 in", "choose", "Cabin, behind trim", "Choose", "COPPER"),
        ),
    )
    parsed = parse(text)
    assert parsed.faults == ()
    assert parsed.notices == ("Devices: the column “Colour of the fascia” is not known here; it is kept.",)
    assert parsed.vehicle is not None
    feed = parsed.vehicle.wire("Feed")
    assert (feed.length_m, feed.size, feed.fuse, feed.zone, feed.metal) == (
        5.6388,
        "choose",
        "choose",
        "cabin",
        "copper",
    )
    assert parsed.vehicle.device("Radio").draw_a == 1.5


# Row of the spreadsheet, column, what is planted there -> what the message has to say.
PLANTED = [
    ("Devices", 1, "Voltage", "12.6 A", "a current, not a voltage"),
    ("Devices", 9, "Class", "X", "A, B, AB, D"),
    ("Devices", 11, "Kind", "speakre", "speaker, subwoofer"),
    ("Devices", 12, "Voltage", "12 V", "leave it empty"),
    ("Devices", 13, "Impedance", "", "Needed for"),
    ("Wires", 3, "Length", "180 m", "above 0 up to 100 m"),
    ("Wires", 4, "To", "Dash fuse blok", "Did you mean “Dash fuse block”?"),
    ("Wires", 6, "Size", "thick", "or “choose”"),
    ("Wires", 8, "Fuse", "12 V", "a voltage, not a current"),
    ("Wires", 34, "From terminal", "speaker 9", "channels 1 to 4"),
]


TYPED = [  # what is written in a wire's Size, and what it means
    ("2x16", ("AWG", 16.0), 2, "copper"),
    ("2 × 4 mm2", ("mm2", 4.0), 2, "copper"),
    ("16/2", ("AWG", 16.0), 1, "copper"),
    ("12 AWG CCA", ("AWG", 12.0), 1, "cca_10"),
    ("12 AWG OFC", ("AWG", 12.0), 1, "copper"),
    ("2x12 AWG tinned copper", ("AWG", 12.0), 2, "tinned_copper"),
]


@pytest.mark.parametrize(("typed", "size", "parallel", "metal"), TYPED)
def test_a_size_is_understood_as_people_write_it(
    typed: str, size: tuple[str, float], parallel: int, metal: str
) -> None:
    text = demo_plan()
    third_wire = vehicle_of(replace(text, wires=text.wires.with_cell(2, "Size", typed))).wires[2]
    assert (third_wire.size, third_wire.parallel, third_wire.metal) == (size, parallel, metal)


def test_what_a_size_and_another_cell_both_say_is_asked() -> None:
    text = demo_plan()
    twice = text.wires.with_cell(2, "Size", "2x16").with_cell(2, "Parallel", "3")
    (fault,) = parse(replace(text, wires=twice)).faults
    assert "Write 16 here" in fault.hint


def test_a_bare_number_has_the_unit_of_its_column_but_a_length_needs_one() -> None:
    text = demo_plan()
    for column, typed, key, meant in (
        ("Voltage", "12.7", "voltage_v", 12.7),
        ("Inner resistance", "0.004", "inner_ohm", 0.004),
    ):
        vehicle = vehicle_of(replace(text, devices=text.devices.with_cell(0, column, typed)))
        assert getattr(vehicle.devices[0], key) == meant
    assert vehicle_of(replace(text, wires=text.wires.with_cell(2, "Fuse", "100"))).wires[2].fuse == 100
    (fault,) = parse(replace(text, wires=text.wires.with_cell(2, "Length", "18"))).faults
    assert "has no unit" in fault.hint


def test_a_speaker_may_be_called_either_way() -> None:
    text = demo_plan()
    row = [cells[0] for cells in text.devices.rows].index("Left dash speaker")
    for word in ("speaker", "Loudspeaker"):
        vehicle = vehicle_of(replace(text, devices=text.devices.with_cell(row, "Kind", word)))
        assert vehicle.devices[row].kind == "loudspeaker"
    assert text_of(vehicle).devices.rows[row][1] == "speaker"


def test_ten_planted_faults_give_exactly_ten_messages() -> None:
    text = demo_plan()
    assert len(PLANTED) == 10
    for name, row, column, cell, _ in PLANTED:
        changed = text.sheet(name).with_cell(row - 1, column, cell)
        text = replace(text, **{name.lower(): changed})
    for read in (lambda: read_workbook(write_workbook(text)), lambda: read_csv(*write_csv(text))):
        with pytest.raises(FileFaults) as error:
            vehicle_of(read())
        faults = error.value.faults
        assert [fault.field for fault in faults] == [
            f"{name}, row {row}, {column}" for name, row, column, *_ in PLANTED
        ]
        for fault, (*_, cell, phrase) in zip(faults, PLANTED, strict=True):
            assert phrase in str(fault)
            assert cell in str(fault)
        assert read() == text  # nothing that was typed is lost


def test_headings_that_are_missing_or_there_twice() -> None:
    text = demo_plan()
    wires = replace(text.wires, columns=tuple("Lenght" if each == "Length" else each for each in text.wires.columns))
    devices = replace(text.devices, columns=tuple("Name" if each == "Note" else each for each in text.devices.columns))
    parsed = parse(PlanText(devices=devices, wires=wires))
    assert [str(fault) for fault in parsed.faults] == [
        "Devices, headings: “Name” won’t work; needed: each column once. Delete or rename one.",
        "Wires, headings: missing; give a column “Length”.",
    ]
    assert parsed.notices == ("Wires: the column “Lenght” is not known here; it is kept.",)


def test_a_long_list_of_faults_is_cut() -> None:
    text = demo_plan()
    rows = tuple(("x", *["?"] * (len(text.wires.columns) - 1)) for _ in range(60))
    faults = parse(replace(text, wires=replace(text.wires, rows=rows))).faults
    assert len(faults) == MOST_FAULTS + 1
    assert "more" in str(faults[-1])


def test_a_cell_can_be_changed_and_a_column_added() -> None:
    devices = demo_plan().devices
    changed = devices.with_cell(0, "Name", " Main\tbattery ").with_cell(1, "Colour", "blue")
    assert changed.rows[0][0] == "Main battery"
    assert (changed.columns[-1], changed.rows[0][-1], changed.rows[1][-1]) == ("Colour", "", "blue")
    assert devices == demo_plan().devices
    with pytest.raises(InputError, match="Row"):
        devices.with_cell(99, "Name", "x")
    full = sheet([f"c{number}" for number in range(MOST_COLUMNS)])
    with pytest.raises(InputError, match="at most 80 columns"):
        full.with_cell(0, "one more", "x")


def test_numbers_that_do_not_go_together() -> None:
    row = [cells[0] for cells in demo_plan().devices.rows].index("Boot light relay")
    devices = demo_plan().devices.with_cell(row, "Drop-out voltage", "9 V")
    assert [fault.field for fault in parse(replace(demo_plan(), devices=devices)).faults] == [
        f"Devices, row {row + 1}, Drop-out voltage"
    ]


def test_names_are_short() -> None:
    long = "x" * 65
    faults = parse(replace(demo_plan(), wires=demo_plan().wires.with_cell(0, "Bundle", long))).faults
    assert [fault.field for fault in faults] == ["Wires, row 1, Bundle"]


def test_nothing_in_a_cell_is_ever_run() -> None:
    text = demo_plan()
    text = replace(text, wires=text.wires.with_cell(0, "Note", "=1+1").with_cell(1, "Note", "@SUM(A1)"))
    with zipfile.ZipFile(io.BytesIO(write_workbook(text))) as parts:
        pages = [parts.read(name) for name in parts.namelist() if "worksheets" in name]
    assert all(b"<f>" not in page and b"<f " not in page for page in pages)
    assert b",'=1+1," in write_csv(text)[1]
    rows = [("Name", "Kind", "Voltage", "Inner resistance"), ("Battery", "battery", "=6+6.6", "5 mohm"),
            ("Body", "body", "", "")]  # fmt: skip
    read = read_workbook(book(("Devices", rows), ("Wires", [[field.column for field in WIRE_FIELDS]])))
    assert read.devices.rows[0][2] == "=6+6.6"
    assert [fault.field for fault in parse(read).faults] == ["Devices, row 1, Voltage"]


def test_numbers_dates_and_truths_of_a_spreadsheet_are_read_as_text() -> None:
    import datetime

    rows = [("Kind", "a", "b", "c", "d"), (4.0, 0.5, True, False, datetime.date(2024, 2, 1)), (), ("", None)]
    read = read_workbook(book(("devices", rows), ("WIRES ", [("From",)]), ("Other", [("not read",)])))
    assert read.devices.rows == (("4", "0.5", "yes", "no", "2024-02-01 00:00:00"),)


def bomb() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/workbook.xml", b"0" * (file.MOST_UNPACKED + 1))
    return out.getvalue()


def entities() -> bytes:
    good = write_workbook(template())
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(good)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            new.writestr(name, b'<!DOCTYPE a [<!ENTITY b "c">]>' + text if name == "xl/workbook.xml" else text)
    return out.getvalue()


def parts_without_end() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as parts:
        for number in range(file.MOST_PARTS + 1):
            parts.writestr(f"{number}.txt", b"")
    return out.getvalue()


def hollow() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as parts:
        parts.writestr("[Content_Types].xml", b"<nothing/>")
    return out.getvalue()


REFUSED: dict[str, tuple[Callable[[], bytes], str]] = {
    "no archive": (lambda: b"PK nothing", "no archive"),
    "empty": (lambda: b"", "no archive"),
    "too large": (lambda: b"x" * (file.MOST_BYTES + 1), "at most 2 MB"),
    "swells": (bomb, "12 MB unpacked"),
    "entities": (entities, "plain XML"),
    "many parts": (parts_without_end, "parts"),
    "an archive of another kind": (hollow, "an .xlsx workbook"),
    "no such sheet": (lambda: book(("Devices", [("Kind",)]), ("Leads", [("From",)])), "a sheet named Wires"),
    "an empty row first": (lambda: book(("Devices", [(), ("Kind",)]), ("Wires", [("From",)])), "headings in line 1"),
    "empty sheet": (lambda: book(("Devices", []), ("Wires", [("From",)])), "nothing in it"),
    "a long cell": (lambda: book(("Devices", [("Kind",), ("x" * 501,)]), ("Wires", [])), "Devices, line 2, column 1"),
    "many columns": (lambda: book(("Devices", [["x"] * 81]), ("Wires", [])), "at most 80"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_workbook_that_cannot_be_used_is_refused_in_words(case: str) -> None:
    make, phrase = REFUSED[case]
    with pytest.raises(FileFaults, match=phrase):
        read_workbook(make())


def test_csv_files_as_spreadsheets_write_them() -> None:
    text = demo_plan()
    devices, wires = (content.decode("utf-8-sig") for content in write_csv(text))
    plain = replace(text, devices=text.devices.with_cell(0, "Note", "5 µ"), wires=text.wires)
    cp1252 = write_csv(plain)[0].decode("utf-8-sig").encode("cp1252")
    assert read_csv(cp1252, wires.encode("utf-16")) == plain
    semicolons = b"Name;Kind\r\na;b,c\r\n", b"Name\tFrom\r\n1\t2\r\n\r\n"
    read = read_csv(*semicolons)
    assert read.devices.rows == (("a", "b,c"),)
    assert read.wires.rows == (("1", "2"),)
    odd = read_csv(devices.replace("Starter battery", "a\0b\x07").encode(), wires.encode())
    assert odd.devices.rows[0][0] == "a\ufffdb\ufffd"


@pytest.mark.parametrize(
    ("first", "second", "phrase"),
    [
        (b"Name,Kind\n", b"Name,Kind\n", "not one of each"),
        (b"Name,From\n", b"Name,From\n", "not one of each"),
        (b"Name,From\n", b"Name,Other\n", "not one of each"),
        (b"", b"Name,From\n", "First file: “nothing in it”"),
        (b"\nName,Kind\n", b"Name,From\n", "headings in line 1"),
        (b"Name,Kind\n" + b"a,b\n" * 1_001, b"Name,From\n", "at most 1000"),
        (b"Name,Kind\n", b'Name,From\n"' + b"x" * 140_000 + b'"\n', "Second file"),
        (b"x" * 2_000_001, b"", "2 MB"),
    ],
)
def test_csv_files_that_cannot_be_used(first: bytes, second: bytes, phrase: str) -> None:
    with pytest.raises(FileFaults, match=phrase):
        read_csv(first, second)


@settings(max_examples=tried(50), deadline=None, derandomize=True)
@given(st.data())
def test_any_text_in_any_cell_is_a_fault_or_a_vehicle(data: st.DataObject) -> None:
    text = template()
    for name in ("devices", "wires"):
        at: PlanSheet = getattr(text, name)
        for _ in range(2):
            row, column = data.draw(st.integers(0, len(at.rows) - 1)), data.draw(st.sampled_from(at.columns))
            at = at.with_cell(
                row, column, data.draw(st.one_of(CELL, st.sampled_from(["choose", "none", "0 m", "plus"])))
            )
        text = replace(text, **{name: at})
    parsed = parse(text)
    assert (parsed.vehicle is None) == bool(parsed.faults)
    for fault in parsed.faults:
        assert fault.field.startswith(("Devices", "Wires"))
        assert fault.allowed


def test_an_amplifier_can_have_all_its_numbers_written() -> None:
    device = amplifier(least_ohm=2.0, damping_factor=123.456, note="as built")
    whole = vehicle(device, wire("f", "Battery", "Amplifier"))
    assert vehicle_of(text_of(whole)).device("Amplifier") == device


def test_a_csv_file_says_which_list_it_is() -> None:
    devices, wires = write_csv(demo_plan())
    assert (which_list("a.csv", devices), which_list("b.csv", wires)) == ("Devices", "Wires")
    with pytest.raises(FileFaults, match=r"prices\.csv: “another list”"):
        which_list("prices.csv", b"item,price\n")


def test_house_rules_travel_with_the_plan() -> None:
    """Only what differs is written; a rule that cannot be is a fault with its row."""
    defaults = HouseRules.from_table()
    key = next(rule.key for rule in defaults.rules if rule.rule == "taste_band" and rule.case == "borderline")
    plain = vehicle(load(power_w=5.0), wire("f", "Battery", "Load", fuse=2.0))
    assert text_of(plain).rules is None
    own = replace(plain, rules=defaults.replace(key, "1.5"))
    text = text_of(own)
    assert text.rules == PlanSheet(columns=("Rule", "Value"), rows=((key, "1.5"),))
    assert read_workbook(write_workbook(text)) == text
    assert parse(text).vehicle == own
    wrong = replace(text, rules=PlanSheet(columns=("Rule", "Value"), rows=((key, "9"), ("nonsense", "1"))))
    assert ["row 1" in fault.field or "row 2" in fault.field for fault in parse(wrong).faults] == [True, True]
    (fault,) = parse(replace(text, rules=PlanSheet(columns=("a", "b"), rows=()))).faults
    assert fault.field == "House rules, headings"


def test_house_rules_of_the_plan_decide() -> None:
    """A shop that pulls no loose wire under 14 AWG gets 14 AWG for a lamp."""
    defaults = HouseRules.from_table()
    key = next(
        rule.key for rule in defaults.rules if (rule.rule, rule.applies, rule.unit) == ("least_size", "load", "AWG")
    )
    plain = vehicle(load(draw_a=1.0), wire("f", "Battery", "Load", 1.0, "choose", fuse="choose"))
    assert choose_plan(plain).vehicle.wire("f").size == ("AWG", 18.0)
    assert choose_plan(replace(plain, rules=defaults.replace(key, "14"))).vehicle.wire("f").size == ("AWG", 14.0)
