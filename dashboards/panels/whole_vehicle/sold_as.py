"""How the wire on the shelf is sold, for a whole plan: AWG, SAE or metric sizes; a house rule for each circuit."""

from __future__ import annotations

from typing import Any

from dashboards.panels.controls.fields import choice
from dashboards.panels.settings.house import House
from wirecalc.advice.house_rule import AS_ASKED
from wirecalc.advice.house_rules import HouseRules
from wirecalc.wire.as_sold import ISO, SAE, system_name

SEVERAL = "several"
SYSTEMS = ("AWG", SAE, "mm2", ISO)
"""Those that have a size for every circuit; types of wire are chosen by circuit, on the page of the house rules."""


class SoldAs:
    """A choice that sets the house rules of this plan, and follows them.

    Parameters
    ----------
    house : House
        Gives the rules, and takes those that are chosen here.
    """

    def __init__(self, house: House) -> None:
        self.house = house
        self._quiet = False
        self.choice = choice("“choose” takes wire sold as", self._options(AS_ASKED), AS_ASKED)
        self.choice.observe(self._chosen, "value")
        self.show()

    def show(self) -> None:
        """Follow the rules that hold now."""
        now = of_plan(self.house.rules)
        self._quiet = True
        self.choice.options = self._options(now)
        self.choice.value = now
        self._quiet = False

    def use(self, system: str) -> None:
        """Take sizes in this system, "AWG" or "mm2", from now on."""
        rule_value = AS_ASKED if system == "AWG" else system
        self.house.wish(dict.fromkeys(keys(self.house.rules), rule_value))
        if self.system != system:
            self.choice.value = rule_value

    @property
    def system(self) -> str:
        """ "AWG" or "mm2": what the sizes that are taken are in; "AWG" where circuits differ."""
        return "mm2" if self.choice.value in ("mm2", ISO) else "AWG"

    @staticmethod
    def _options(now: str) -> list[tuple[str, str]]:
        usual = [(f"{system_name(system).removesuffix(', any type')} sizes", system) for system in SYSTEMS]
        usual[0] = (usual[0][0], AS_ASKED)
        return usual if now in dict(usual).values() else [*usual, ("by circuit, see house rules", SEVERAL)]

    def _chosen(self, change: dict[str, Any]) -> None:
        if self._quiet or change["new"] == SEVERAL:
            return
        rules = self.house.rules
        for key in keys(rules):
            rules = rules.replace(key, change["new"])
        self.house.put_here(rules, "plan")


def keys(rules: HouseRules) -> list[str]:
    """Of the rules that say how wire is sold, one for each kind of circuit."""
    return [rule.key for rule in rules.rules if rule.rule == "sold_as"]


def of_plan(rules: HouseRules) -> str:
    """What all of them say; `SEVERAL` where they differ, or say a type of wire."""
    rule_values = {AS_ASKED if rule.value == "AWG" else rule.value for rule in rules.rules if rule.rule == "sold_as"}
    return rule_values.pop() if len(rule_values) == 1 and rule_values <= {AS_ASKED, *SYSTEMS} else SEVERAL
