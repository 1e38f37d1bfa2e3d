"""The tab of the limits of taste that a plan is judged by: to edit for this plan, or for good as house rules."""

from __future__ import annotations

from dataclasses import replace

import ipywidgets as w

from dashboards.panels.settings import rule_list
from dashboards.panels.settings.house import House
from dashboards.panels.settings.value_list import ValueList

SORTS = ("taste_limit", "drop_limit", "taste_band")
UNUSED = ("drop_limit/load/not critical//%",)  # a plan has no word for it: its loads are held to the stricter one
ABOUT = (
    "<p>The verdicts of this plan go by these. What you change here holds for this plan, in its link and its file; on"
    " top you can keep it as your own house rule. Limits of safety are not among them: they stay as they are.</p>"
)


class LimitsTab:
    """Those of the page's house rules that are limits of taste."""

    def __init__(self, house: House) -> None:
        self.house = house
        groups = [
            replace(group, values=[value for value in group.values if value.key not in UNUSED])
            for group in rule_list.groups_of(house.rules, SORTS, opened="all")
        ]
        self.list = ValueList(groups, self._put, lambda key: self._put(key, rule_list.usual_value(key)))
        self.view = w.VBox([w.HTML(ABOUT), self.list])
        self.show()

    def show(self) -> None:
        """Draw what holds now."""
        rule_list.show(self.list, self.house.rules)

    def _put(self, key: str, text: str) -> None:
        self.house.put_here(self.house.rules.replace(key, text), "plan")
