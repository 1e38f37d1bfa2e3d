"""House rules: what a shop pulls, stocks and allows, as one table that it edits, saves and opens.

They are workmanship, not safety: no house rule moves a limit of safety. The defaults stand in data/house_rules.csv,
each row with its reason and source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property

from wirecalc import csv_text, tables
from wirecalc.errors import FileFaults, InputError, check
from wirecalc.limit import Limit
from wirecalc.units import read_size
from wirecalc.wire.insulation import INSULATIONS, Insulation
from wirecalc.wire.zones import ZONES

Size = tuple[str, float]
"""A size as `wirecalc.units.read_size` gives it: ("AWG", 12.0) or ("mm2", 0.75)."""

AS_SOLD = "as sold"
SIZE_RULES = ("least_size", "shelf_sizes", "sizes_on_order", "sizes_when_asked")
FAMILIES = tuple(str(row["family"]) for row in tables.rows("fuse_families"))
YES_NO = ("yes", "no")
MOST_CHARACTERS = 200_000  # of a file of rules: the table itself has under 20 000
# what a number may be, by rule and unit; the ends included
_BOUNDS: dict[tuple[str, str], tuple[float, float]] = {
    ("drop_limit", "V"): (0.01, 10.0),
    ("drop_limit", "%"): (0.1, 30.0),
    ("fuse_loading", "%"): (10.0, 100.0),
    ("fuse_distance", "m"): (0.01, 10.0),
    ("taste_limit", "dB"): (0.01, 20.0),
    ("taste_limit", ""): (0.5, 1000.0),
    ("taste_band", ""): (1.0, 3.0),
    ("matched_level", "dB"): (0.01, 6.0),
    ("average_of_music", "%"): (1.0, 100.0),
    ("supply_v", "V"): (5.0, 60.0),
}
_COLUMNS = (
    "rule",
    "applies",
    "case",
    "above",
    "up_to",
    "of",
    "value",
    "unit",
    "what",
    "reason",
    "source",
    "confidence",
)
_NAMING = ("rule", "applies", "case", "above", "up_to", "unit")  # which rule a row is


@dataclass(frozen=True, kw_only=True)
class Place:
    """A part of a run's way, as a share of its length."""

    zone: str
    """Key of `wirecalc.wire.zones.ZONES`."""
    share: float
    """Of the run's length; those of a run sum to 1. [0 to 1]"""


@dataclass(frozen=True, kw_only=True)
class HouseRule:
    """One rule of the shop."""

    rule: str
    """What sort of rule: "least_size", "shelf_sizes", "drop_limit" and so on."""
    applies: str
    """The kind of circuit, or the place, that it is for."""
    case: str = ""
    """Where a kind has several: "full power"."""
    above: float | None = None
    up_to: float | None = None
    """The range that it is for, in `of`; None for no end."""
    of: str = ""
    """Unit of `above` and `up_to`."""
    value: str
    unit: str = ""
    what: str = ""
    """In words: "thinnest loose single wire"."""
    reason: str = ""
    source: str = ""
    confidence: str = ""

    @property
    def key(self) -> str:
        """What names the rule in links and files.

        Examples
        --------
        >>> HouseRules.from_table().least_size("subwoofer", "AWG", 100).key
        'least_size/subwoofer//-150/AWG'
        """
        span = "" if self.above is None and self.up_to is None else f"{_plain(self.above)}-{_plain(self.up_to)}"
        return f"{self.rule}/{self.applies}/{self.case}/{span}/{self.unit}"

    @property
    def name(self) -> str:
        """As a person reads it: "thinnest wire of a subwoofer, subwoofer, over 150 up to 300 W (AWG)"."""
        parts = [self.what, self.applies, self.case]
        over = "" if self.above is None else f"over {self.above:g} "
        most = "" if self.up_to is None else f"up to {self.up_to:g} "
        parts.append(f"{over}{most}{self.of}".strip() if over or most else "")
        unit = f" ({self.unit.replace('mm2', 'mm²')})" if self.unit else ""
        return ", ".join(part for part in parts if part) + unit

    @property
    def sizes(self) -> tuple[Size, ...]:
        """The sizes that a rule of sizes lists, thin to thick; none for "as sold"."""
        if self.rule not in SIZE_RULES or self.value == AS_SOLD:
            return ()
        return tuple(read_size(f"{size} {self.unit}", self.name) for size in self.value.split())

    @property
    def options(self) -> tuple[str, ...]:
        """The only values that there are; none where others may be typed."""
        return {"fuse_family": FAMILIES, "insulation": tuple(INSULATIONS), "matched_size": YES_NO}.get(self.rule, ())

    @property
    def number(self) -> float:
        """The value of a rule that is a number, in its unit; a share for "%"."""
        return float(self.value) / (100.0 if self.unit == "%" else 1.0)

    def covers(self, amount: float) -> bool:
        """Whether an amount, in `of`, lies in the rule's range: over `above`, at or under `up_to`."""
        return (self.above is None or amount > self.above) and (self.up_to is None or amount <= self.up_to)

    def changed(self, value: str) -> HouseRule:
        """The rule with another value.

        Raises
        ------
        InputError
            If the value cannot be used for this rule; the message says what can.
        """
        value = " ".join(value.split())
        return replace(self, value=_checked(self, value))


def _plain(amount: float | None) -> str:
    return "" if amount is None else f"{amount:g}"


def _checked(rule: HouseRule, value: str) -> str:
    """The value as it is kept, or what is wrong with it."""
    if rule.rule in SIZE_RULES:
        return _checked_sizes(rule, value)
    if rule.options:
        value = value.lower() if rule.options == YES_NO else value
        if value not in rule.options:
            raise InputError(rule.name, value, ", ".join(rule.options))
        return value
    if rule.rule == "places":
        return " ".join(f"{place.zone} {100 * place.share:g}" for place in _places(rule, value))
    low, high = _BOUNDS[rule.rule, rule.unit]
    text = value.replace(",", ".").removesuffix(rule.unit).strip() if rule.unit else value.replace(",", ".")
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not low <= number <= high:
        raise InputError(rule.name, value, f"{low:g} to {high:g} {rule.unit}".rstrip())
    return f"{number:g}"


def _checked_sizes(rule: HouseRule, value: str) -> str:
    if rule.rule == "least_size":
        if value == AS_SOLD and rule.applies == "sheathed cable":
            return value
        if len(value.split()) != 1:
            raise InputError(rule.name, value, "one size, such as 16")
    elif not value:
        raise InputError(rule.name, value, "one size or more, such as 18 16 14")
    given = value.replace(",", " ").split() if rule.unit == "AWG" else value.split()
    sizes = {read_size(f"{size} {rule.unit}", rule.name): size for size in given}
    if any(system != rule.unit for system, _ in sizes):
        raise InputError(rule.name, value, f"sizes in {rule.unit}")
    return " ".join(sizes[size] for size in sorted(sizes, key=_thickness))


def _thickness(size: Size) -> float:
    return size[1] if size[0] == "mm2" else -size[1]


def _places(rule: HouseRule, value: str) -> tuple[Place, ...]:
    """ "engine_bay 20 boot 80" -> places; shares in per cent."""
    allowed = "places and per cent of the length that sum to 100, such as “engine_bay 20 boot 80”; places: "
    allowed += ", ".join(ZONES)
    words = value.split()
    try:
        found = tuple(Place(zone=words[at], share=float(words[at + 1]) / 100) for at in range(0, len(words), 2))
    except (IndexError, ValueError):
        raise InputError(rule.name, value, allowed) from None
    right = all(place.zone in ZONES and 0 < place.share <= 1 for place in found)
    if not found or not right or abs(sum(place.share for place in found) - 1) > 1e-6:
        raise InputError(rule.name, value, allowed)
    return found


@dataclass(frozen=True)
class HouseRules:
    """All rules of a shop; made by `from_table` or `read`.

    Two are equal when all their rules are.
    """

    rules: tuple[HouseRule, ...]

    @classmethod
    def from_table(cls) -> HouseRules:
        """The defaults of data/house_rules.csv."""
        return _defaults()

    @cached_property
    def _sorted(self) -> dict[tuple[str, str, str], list[HouseRule]]:
        found: dict[tuple[str, str, str], list[HouseRule]] = {}
        for rule in self.rules:
            found.setdefault((rule.rule, rule.applies, rule.case), []).append(rule)
        return found

    @cached_property
    def _by_key(self) -> dict[str, HouseRule]:
        return {rule.key: rule for rule in self.rules}

    def rule(
        self, rule: str, applies: str, *, case: str = "", of: float | None = None, unit: str | None = None
    ) -> HouseRule:
        """One rule.

        Parameters
        ----------
        rule, applies, case : str
            See `HouseRule`.
        of : float, optional
            The amount that says which range, for rules that have ranges.
        unit : str, optional
            "AWG" or "mm2", for rules of sizes.

        Raises
        ------
        InputError
            If there is no such rule.
        """
        found = self._first(rule, applies, case, of, unit)
        if found is not None:
            return found
        asked = "/".join(part for part in (rule, applies, case, _plain(of), unit or "") if part)
        raise InputError("House rule", asked, ", ".join(dict.fromkeys(each.rule for each in self.rules)))

    def find(
        self, rule: str, applies: str, *, case: str = "", of: float | None = None, unit: str | None = None
    ) -> HouseRule | None:
        """As `rule`, but None where there is no such rule."""
        return self._first(rule, applies, case, of, unit)

    def _first(self, rule: str, applies: str, case: str, of: float | None, unit: str | None) -> HouseRule | None:
        for each in self._sorted.get((rule, applies, case), ()):
            if (unit is None or each.unit == unit) and (of is None or each.covers(of)):
                return each
        return None

    def least_size(self, kind: str, system: str, power_w: float = 0.0) -> HouseRule | None:
        """The rule of the thinnest wire of a kind of circuit; None where there is none.

        Parameters
        ----------
        kind : str
            Of circuit, or "sheathed pair", "sheathed cable".
        system : str
            "AWG" or "mm2".
        power_w : float
            Of the amplifier, for rules that go by power. [W]
        """
        return self.find("least_size", kind, of=power_w, unit=system)

    def shelf(self, kind: str, system: str) -> tuple[Size, ...]:
        """Sizes on the shelf for a kind of circuit, thin to thick; empty where the shop has no rule."""
        return self._sizes("shelf_sizes", kind, system)

    def on_order(self, kind: str, system: str) -> tuple[Size, ...]:
        """Sizes that are taken when none on the shelf does, thin to thick."""
        return self._sizes("sizes_on_order", kind, system)

    def when_asked(self, kind: str, system: str) -> tuple[Size, ...]:
        """Sizes that are taken only when asked for by name, thin to thick."""
        return self._sizes("sizes_when_asked", kind, system)

    def _sizes(self, rule: str, kind: str, system: str) -> tuple[Size, ...]:
        found = self.find(rule, kind, unit=system)
        return () if found is None else found.sizes

    def loading(self, kind: str, case: str = "") -> float:
        """Largest draw over a fuse's rating, its air counted on top; 1 where there is no rule. [0 to 1]"""
        found = self.find("fuse_loading", kind, case=case)
        return 1.0 if found is None else found.number

    def family(self, where: str, rating_a: float) -> str | None:
        """The family of fuse that is used most for a rating; None where no row covers it.

        Parameters
        ----------
        where : str
            "at the battery", "behind a fuse or block" or "short over the breaking capacity".
        rating_a : float
            [A]
        """
        found = self.find("fuse_family", where, of=rating_a)
        return None if found is None else found.value

    def insulation(self, kind: str) -> Insulation:
        """What a wire of a kind of circuit is covered with if nobody says."""
        found = self.find("insulation", kind)
        return INSULATIONS["pvc_80" if found is None else found.value]

    def places(self, kind: str) -> tuple[Place, ...]:
        """Where a run of a kind passes if nobody says; the battery's end first."""
        found = self.find("places", kind)
        return (Place(zone="cabin", share=1.0),) if found is None else _places(found, found.value)

    def tasted(self, kind: str, limits: Sequence[Limit]) -> tuple[Limit, ...]:
        """Limits of a kind of circuit with the shop's own bounds where they are limits of taste.

        Parameters
        ----------
        kind : str
            As house rules name it.
        limits : sequence of wirecalc.limit.Limit

        Returns
        -------
        tuple of wirecalc.limit.Limit
        """
        bounds = {limit.name: self.find("taste_limit", kind, case=limit.name) for limit in limits}
        return tuple(
            limit if (rule := bounds[limit.name]) is None else replace(limit, bound=float(rule.value))
            for limit in limits
        )

    @property
    def band(self) -> tuple[float, float]:
        """Share of a limit of taste up to which a value is fine, and up to which it is borderline."""
        fine, borderline = (self.rule("taste_band", "limit of taste", case=case) for case in ("fine", "borderline"))
        return fine.number, max(fine.number, borderline.number)

    def replace(self, key: str, value: str) -> HouseRules:
        """These rules with one changed.

        Parameters
        ----------
        key : str
            See `HouseRule.key`.
        value : str
            As a person types it.

        Raises
        ------
        InputError
            If there is no such rule or the value cannot be used.
        """
        if key not in self._by_key:
            raise InputError("House rule", key, "a rule of the list")
        changed = self._by_key[key].changed(value)
        return HouseRules(tuple(changed if rule.key == key else rule for rule in self.rules))

    @property
    def changes(self) -> dict[str, str]:
        """What differs from the defaults: value by key, short enough for links and plans."""
        usual = _defaults()._by_key
        return {rule.key: rule.value for rule in self.rules if rule.value != usual[rule.key].value}

    @classmethod
    def from_changes(cls, changes: Mapping[str, str]) -> HouseRules:
        """The defaults with `changes`.

        Raises
        ------
        FileFaults
            With all that is wrong with them.
        """
        rules, faults = _defaults(), []
        for key, value in changes.items():
            try:
                rules = rules.replace(key, value)
            except InputError as why:
                faults.append(why)
        if faults:
            raise FileFaults(faults)
        return rules

    def to_csv(self) -> bytes:
        """All rules as a CSV file that `read` takes."""
        rows = [
            [text if isinstance(text := getattr(rule, column), str) else _plain(text) for column in _COLUMNS]
            for rule in self.rules
        ]
        return csv_text.written([_COLUMNS, *rows])


@cache
def _defaults() -> HouseRules:
    return HouseRules(tuple(_of_row(row) for row in tables.rows("house_rules")))


def _of_row(row: Mapping[object, object]) -> HouseRule:
    cells = {name: "" if value != value else value for name, value in row.items()}  # an empty cell is nan
    ends = {name: None if cells[name] == "" else float(str(cells[name])) for name in ("above", "up_to")}
    text = {name: str(cells[name]) for name in _COLUMNS if name not in ends}
    rule = HouseRule(**ends, **text)  # type: ignore[arg-type]
    return rule.changed(rule.value)


def read(text: str, name: str = "House rules") -> HouseRules:
    """House rules from a CSV file that a shop has saved.

    Parameters
    ----------
    text : str
        As `HouseRules.to_csv` writes it: a line of column names, then a row for each rule. A rule without a row keeps
        its default; only `value` is read, the other columns say which rule it is.
    name : str
        What the file is called in messages.

    Returns
    -------
    HouseRules

    Raises
    ------
    FileFaults
        With all that is wrong, row by row as a spreadsheet counts them.
    """
    if len(text) > MOST_CHARACTERS:
        raise FileFaults([InputError(name, f"{len(text)} characters", f"at most {MOST_CHARACTERS}")])
    lines = csv_text.read(text, name)
    head = [cell.strip().lower() for cell in next(lines, [])]
    missing = [column for column in (*_NAMING, "value") if column not in head]
    if missing:
        raise FileFaults([InputError(name, ", ".join(head), f"columns {', '.join((*_NAMING, 'value'))}", "Row 1.")])
    rules, faults = HouseRules.from_table(), []
    seen: dict[str, int] = {}
    for number, cells in enumerate(lines, start=2):
        if not any(cell.strip() for cell in cells):
            continue
        row = dict(zip(head, [cell.strip() for cell in cells], strict=False))
        try:
            key = _key_of(row, rules, number)
            if key in seen:
                raise InputError(f"Row {number}", key, f"each rule once: row {seen[key]} has it")
            seen[key] = number
            rules = rules.replace(key, row.get("value", ""))
        except InputError as why:
            where = "" if why.field.startswith("Row ") else f"Row {number}, "
            faults.append(InputError(f"{where}{why.field}", why.given, why.allowed, why.hint))
    if faults:
        raise FileFaults(faults)
    return rules


def _key_of(row: Mapping[str, str], rules: HouseRules, number: int) -> str:
    """Which rule a row of a file is."""
    ends: dict[str, float | None] = {}
    for column in ("above", "up_to"):
        cell = row.get(column, "").replace(",", ".")
        try:
            end = float(cell) if cell else None
        except ValueError:
            raise InputError(f"Row {number}, {column}", cell, "a number, or nothing") from None
        ends[column] = end if end is None else float(check(f"Row {number}, {column}", end, "", low=0, high=1e6))
    words = {column: row.get(column, "") for column in ("rule", "applies", "case", "unit")}
    key = HouseRule(value="", above=ends["above"], up_to=ends["up_to"], **words).key
    if key not in rules._by_key:
        near = [rule.key for rule in rules.rules if rule.rule == words["rule"]]
        allowed = ", ".join(near) if near else ", ".join(dict.fromkeys(rule.rule for rule in rules.rules))
        raise InputError(f"Row {number}", key, allowed, "Only values can be changed; take the other columns as saved.")
    return key


def by_rule(rules: HouseRules) -> Iterator[tuple[str, tuple[HouseRule, ...]]]:
    """Rules of one sort together, in the order of the table: for a page that edits them."""
    for sort in dict.fromkeys(rule.rule for rule in rules.rules):
        yield sort, tuple(rule for rule in rules.rules if rule.rule == sort)
