"""A form for each kind of circuit: its entries, its figures, and a plan's circuit as its entries; a module a kind."""

from typing import Any

from dashboards.panels.kinds.device import DeviceForm
from dashboards.panels.kinds.factory import FactoryForm
from dashboards.panels.kinds.feed import FeedForm
from dashboards.panels.kinds.form import Form
from dashboards.panels.kinds.lamp import LampForm
from dashboards.panels.kinds.line import LineForm
from dashboards.panels.kinds.relay import RelayForm
from dashboards.panels.kinds.speaker import SpeakerForm
from dashboards.panels.kinds.subwoofer import SubwooferForm
from dashboards.panels.kinds.turn_on import TurnOnForm
from wirecalc import runs

__all__ = [
    "FORMS",
    "DeviceForm",
    "FactoryForm",
    "FeedForm",
    "Form",
    "LampForm",
    "LineForm",
    "RelayForm",
    "SpeakerForm",
    "SubwooferForm",
    "TurnOnForm",
    "form_of",
]

FORMS: tuple[type[Form[Any]], ...] = (
    SpeakerForm, SubwooferForm, LineForm, FactoryForm, TurnOnForm, RelayForm, LampForm, FeedForm, DeviceForm,
)  # fmt: skip
"""In the order in which the page offers them."""


def form_of(run: runs.Run) -> type[Form[Any]]:
    """The form whose entries make such a run."""
    return next(form for form in FORMS if form.of_kind is type(run))
