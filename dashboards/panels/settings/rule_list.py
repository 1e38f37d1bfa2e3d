"""House rules as values to edit, by sort: all of them, or those that a page has to do with."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from dashboards.panels.settings.value_list import Group, Value, ValueList
from wirecalc.advice.house_rule import AS_ASKED, HouseRule
from wirecalc.advice.house_rules import HouseRules, by_rule
from wirecalc.wire.as_sold import SYSTEMS, system_name
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.zones import ZONES

TITLES = {
    "least_size": "Thinnest wire that is pulled",
    "shelf_sizes": "Sizes on the shelf",
    "sold_as": "How the wire on the shelf is sold",
    "sizes_on_order": "Sizes that are ordered when none on the shelf does",
    "sizes_when_asked": "Sizes only when asked for by name",
    "drop_limit": "Voltage that may be lost",
    "taste_limit": "Limits of taste",
    "wire_loading": "How far a wire is loaded",
    "fuse_loading": "How far a fuse is loaded",
    "fuse_family": "Families of fuses",
    "insulation": "Insulation, if nobody says",
    "places": "Where a wire passes, if nobody says",
    "fuse_distance": "Wire before the main fuse",
    "taste_band": "From when a limit of taste is borderline, and too thin",
    "matched_level": "Level of channels that match",
    "matched_size": "Size of channels that match",
    "average_of_music": "Average of music",
    "supply_v": "Voltage of the supply",
}
"""Of each sort of rule."""
NOTES = {
    "places": "Each place with its per cent of the length, the battery’s end first. Places: "
    + ", ".join(f"{zone.key} ({zone.name})" for zone in ZONES.values())
    + ".",
}


def groups_of(rules: HouseRules, only: Collection[str] = TITLES, *, opened: str = "") -> list[Group]:
    """Groups of a `ValueList`.

    Parameters
    ----------
    rules : HouseRules
    only : collection of str
        Sorts of rule, by the keys of `TITLES`.
    opened : str
        The sort that is open at first; all of them if it is "all".
    """
    return [
        Group(
            title=TITLES[sort],
            note=NOTES.get(sort, ""),
            open=opened in (sort, "all"),
            values=[_value(rule) for rule in of_sort],
        )
        for sort, of_sort in by_rule(rules)
        if sort in only
    ]


def show(values: ValueList, rules: HouseRules) -> None:
    """Have a list of `groups_of` show these."""
    changes = rules.changes
    own = [rule for rule in rules.rules if rule.key in values.own_keys]
    values.show(
        {rule.key: rule.value for rule in own}, {rule.key: usual_value(rule.key) for rule in own if rule.key in changes}
    )


def usual_value(key: str) -> str:
    """The default of a rule."""
    return next(rule.value for rule in HouseRules.from_table().rules if rule.key == key)


def _value(rule: HouseRule) -> Value:
    source = rule.source if rule.source.startswith("common practice") else f"Source: {rule.source}"
    label = replace(rule, what="", unit="").name
    return Value(
        key=rule.key,
        label=label[0].upper() + label[1:],
        what=rule.what,
        unit=rule.unit.replace("mm2", "mm²"),
        why=(rule.reason, f"{source[0].upper()}{source[1:]}."),
        options=[(option, _word(option)) for option in rule.options],
    )


def _word(option: str) -> str:
    if option in SYSTEMS:
        return system_name(option)
    if option == AS_ASKED:
        return "like the size you type, else AWG"
    return INSULATIONS[option].name if option in INSULATIONS else option
