"""House rules: what a shop pulls, stocks and allows, as one table that it edits.

They are workmanship, not safety: no house rule moves a limit of safety. The defaults stand in data/house_rules.csv,
each row with its reason and source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, cached_property

from wirecalc import tables
from wirecalc.advice.house_rule import AS_ASKED, HouseRule, PlaceShare, Size, range_end
from wirecalc.errors import FileFaults, InputError
from wirecalc.limit import Limit
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire.insulation import INSULATIONS, Insulation


@dataclass(frozen=True)
class HouseRules:
    """All rules of a shop. Two are equal when all their rules are.

    See Also
    --------
    wirecalc.advice.house_rules_file : The same as a file of the shop.
    """

    rules: tuple[HouseRule, ...]

    @classmethod
    def from_table(cls) -> HouseRules:
        """The defaults of data/house_rules.csv."""
        return _defaults()

    @cached_property
    def _sorted(self) -> dict[tuple[str, str, str], list[HouseRule]]:
        ranges: dict[tuple[str, str, str], list[HouseRule]] = {}
        for rule in self.rules:
            ranges.setdefault((rule.rule, rule.applies, rule.case), []).append(rule)
        return ranges

    @cached_property
    def by_key(self) -> Mapping[str, HouseRule]:
        """Each rule by its `HouseRule.key`, in the order of the table."""
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

        Returns
        -------
        HouseRule
            The first in the order of the table.

        Raises
        ------
        InputError
            If there is no such rule.

        See Also
        --------
        find : The same with None where there is no such rule.
        """
        first = self.find(rule, applies, case=case, of=of, unit=unit)
        if first is not None:
            return first
        asked = "/".join(part for part in (rule, applies, case, range_end(of), unit or "") if part)
        raise InputError("House rule", asked, ", ".join(dict.fromkeys(each.rule for each in self.rules)))

    def find(
        self, rule: str, applies: str, *, case: str = "", of: float | None = None, unit: str | None = None
    ) -> HouseRule | None:
        """One rule, or None where there is no such rule.

        Parameters
        ----------
        rule, applies, case : str
            See `HouseRule`.
        of : float, optional
            The amount that says which range, for rules that have ranges.
        unit : str, optional
            "AWG" or "mm2", for rules of sizes.

        Returns
        -------
        HouseRule or None
            The first in the order of the table.

        See Also
        --------
        rule : The same with an error where there is no such rule.
        """
        for each in self._sorted.get((rule, applies, case), ()):
            if (unit is None or each.unit == unit) and (of is None or each.covers(of)):
                return each
        return None

    @takes_units
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

        Returns
        -------
        HouseRule or None
        """
        return self.find("least_size", kind, of=power_w, unit=system)

    def shelf(self, kind: str, system: str) -> tuple[Size, ...]:
        """Sizes on the shelf for a kind of circuit.

        Parameters
        ----------
        kind : str
            Of circuit.
        system : str
            "AWG" or "mm2".

        Returns
        -------
        tuple of Size
            Thin to thick; empty where the shop has no rule.

        See Also
        --------
        on_order : Sizes that are taken when none on the shelf does.
        when_asked : Sizes that are taken only when asked for by name.
        """
        return self._sizes("shelf_sizes", kind, system)

    def on_order(self, kind: str, system: str) -> tuple[Size, ...]:
        """Sizes that are taken when none on the shelf does.

        Parameters
        ----------
        kind : str
            Of circuit.
        system : str
            "AWG" or "mm2".

        Returns
        -------
        tuple of Size
            Thin to thick; empty where the shop has no rule.

        See Also
        --------
        shelf : Sizes that the shop has.
        """
        return self._sizes("sizes_on_order", kind, system)

    def when_asked(self, kind: str, system: str) -> tuple[Size, ...]:
        """Sizes that are taken only when asked for by name.

        Parameters
        ----------
        kind : str
            Of circuit.
        system : str
            "AWG" or "mm2".

        Returns
        -------
        tuple of Size
            Thin to thick; empty where the shop has no rule.

        See Also
        --------
        shelf : Sizes that the shop has.
        """
        return self._sizes("sizes_when_asked", kind, system)

    @property
    def match_sizes(self) -> bool:
        """Whether speakers that are to play alike get the same wire."""
        rule = self.find("matched_size", "amplifier to speaker")
        return rule is not None and rule.value == "yes"

    def _sizes(self, rule: str, kind: str, system: str) -> tuple[Size, ...]:
        sizes = self.find(rule, kind, unit=system)
        return () if sizes is None else sizes.sizes

    def sold_as(self, kind: str, asked: str = "AWG") -> str:
        """How the wire on the shelf is sold for a kind of circuit: the system of the sizes to choose from.

        Parameters
        ----------
        kind : str
            Of circuit.
        asked : str
            System of the size that a person asks about, for a shop that says nothing else.

        Returns
        -------
        str
            One of `wirecalc.wire.as_sold.SYSTEMS`.
        """
        rule = self.find("sold_as", kind)
        return asked if rule is None or rule.value == AS_ASKED else rule.value

    def loading(self, kind: str, case: str = "") -> float:
        """Largest share of a fuse's rating that is drawn for long, before the derating by the air around it.

        Parameters
        ----------
        kind : str
            Of circuit.
        case : str
            "full power" or "average of music", for an amplifier's feed.

        Returns
        -------
        float
            Over 0, at most 1; 1 where there is no rule.
        """
        loading = self.find("fuse_loading", kind, case=case)
        return 1.0 if loading is None else loading.number

    @takes_units
    def family(self, where: str, rating_a: float) -> str | None:
        """The family of fuse that is used most for a rating; None where no row covers it.

        Parameters
        ----------
        where : str
            "at the battery", "behind a fuse or block" or "short over the breaking capacity".
        rating_a : float
            [A]

        Returns
        -------
        str or None
            A key of `wirecalc.wire.fuse_families.FAMILIES`.
        """
        family = self.find("fuse_family", where, of=rating_a)
        return None if family is None else family.value

    def insulation(self, kind: str) -> Insulation:
        """What a wire of a kind of circuit is covered with if nobody says."""
        insulation = self.find("insulation", kind)
        return INSULATIONS["pvc_80" if insulation is None else insulation.value]

    def places(self, kind: str) -> tuple[PlaceShare, ...]:
        """Where a run of a kind passes if nobody says; the battery's end first."""
        places = self.find("places", kind)
        return (PlaceShare(zone="cabin", share=1.0),) if places is None else places.places

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

        Returns
        -------
        HouseRules

        Raises
        ------
        InputError
            If there is no such rule or the value cannot be used.
        """
        if key not in self.by_key:
            raise InputError("House rule", key, "a rule of the list")
        changed = self.by_key[key].changed(value)
        return HouseRules(tuple(changed if rule.key == key else rule for rule in self.rules))

    @property
    def changes(self) -> dict[str, str]:
        """What differs from the defaults: value by key, short enough for links and plans."""
        usual = _defaults().by_key
        return {rule.key: rule.value for rule in self.rules if rule.value != usual[rule.key].value}

    @classmethod
    def from_changes(cls, changes: Mapping[str, str]) -> HouseRules:
        """The defaults with `changes`.

        Parameters
        ----------
        changes : mapping of str to str
            Value by `HouseRule.key`, as `HouseRules.changes` has them.

        Returns
        -------
        HouseRules

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


@cache
def _defaults() -> HouseRules:
    return HouseRules(tuple(rule.changed(rule.value) for rule in tables.records("house_rules", HouseRule)))


def by_rule(rules: HouseRules) -> Iterator[tuple[str, tuple[HouseRule, ...]]]:
    """Rules of one sort together, in the order of the table: for a page that edits them."""
    for sort in dict.fromkeys(rule.rule for rule in rules.rules):
        yield sort, tuple(rule for rule in rules.rules if rule.rule == sort)
