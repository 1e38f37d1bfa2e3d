"""How Whole vehicle begins: a choice of jobs, a blank plan, the demo or a file; and the form of the job chosen."""

from __future__ import annotations

import html
from collections.abc import Callable

import ipywidgets as w

from dashboards.panels.acts.acts import Actable
from dashboards.panels.acts.choices import Press
from dashboards.panels.controls.address import Fields, nested
from dashboards.panels.controls.files import Upload
from dashboards.panels.controls.lazy_tabs import show_if
from dashboards.panels.settings.units import Units
from dashboards.panels.whole_vehicle.job_form import JobForm
from wirecalc.errors import InputError
from wirecalc.jobs import JOBS
from wirecalc.jobs.blank import blank
from wirecalc.vehicle.text import PlanText

CHOICE = ""
PLAN = "plan"
BLANK = "New plan"
UNITS_KEY = "job.units"


class Start:
    """What stands before a plan does.

    Parameters
    ----------
    upload : Upload
        Opens a file.
    made : callable of (PlanText, str) -> None
        A plan begins: its text and its name.
    demo : callable of () -> None
        The person asks for the demo.
    changed : callable of () -> None
        Something else is shown.
    """

    def __init__(
        self,
        upload: Upload,
        made: Callable[[PlanText, str], None],
        demo: Callable[[], None],
        changed: Callable[[], None],
    ) -> None:
        self.made, self.changed = made, changed
        self.shown = CHOICE
        """`CHOICE`, the key of a job, or `PLAN` while none of it is seen."""
        self._forms: dict[str, JobForm] = {}
        self.jobs = {key: Press(job.title, self._opener(key)) for key, job in JOBS.items()}
        self.blank = Press("Blank plan", lambda: made(blank(), BLANK))
        self.demo = Press("Demo vehicle (invented)", demo)
        self.back = Press("Other jobs", lambda: self.show(CHOICE))
        self.plan = Press("Back to the plan", lambda: self.show(PLAN))
        self.units = Units()
        self.units.observe(lambda _change: self._go_by_units(), "value")
        cards = w.Box([self._card(key) for key in JOBS])
        cards.add_class("wc-cards")
        self.upload = upload
        others = w.Box([self.blank, self.demo, upload])
        others.add_class("wc-files")
        self._choice = w.VBox(
            [w.HTML("<h2>What is the job?</h2>"), cards, w.HTML("<h2>Or begin with</h2>"), others, self.plan]
        )
        self._above = w.Box([self.back])
        self._above.add_class("wc-above")
        self._form = w.VBox([])
        self.view = w.VBox([self._choice, self._form])
        self.view.add_class("wc-start")
        self.opened = False
        self._arrange()

    def _card(self, key: str) -> w.Widget:
        card = w.VBox([self.jobs[key], w.HTML(f"<p>{html.escape(JOBS[key].about)}</p>")])
        card.add_class("wc-card")
        return card

    def _opener(self, key: str) -> Callable[[], None]:
        return lambda: self.show(key)

    def show(self, what: str) -> None:
        """Show the choice, a job's form, or nothing of it.

        Parameters
        ----------
        what : str
            See `shown`.

        Raises
        ------
        InputError
            If it is none.
        """
        if what not in (CHOICE, PLAN, *JOBS):
            raise InputError("Address, open", what, f"one of {', '.join(('demo', *JOBS))}")
        self.shown = what
        self.opened |= what == PLAN
        self._arrange()
        self.changed()

    def _arrange(self) -> None:
        form = self.form
        self._form.children = () if form is None else (self._above, form.view)
        show_if(self.shown == CHOICE, self._choice)
        show_if(self.opened, self.plan)
        show_if(self.shown != PLAN, self.view)

    @property
    def form(self) -> JobForm | None:
        """Of the job that is asked about."""
        if self.shown not in JOBS:
            return None
        if self.shown not in self._forms:
            self._forms[self.shown] = JobForm(JOBS[self.shown], self._make)
            self._go_by_units()
        return self._forms[self.shown]

    def _go_by_units(self) -> None:
        for form in self._forms.values():
            form.go_by(self.units.value)

    def _make(self, form: JobForm) -> None:
        answers = form.answers()
        if answers is not None:
            self.made(form.job.text(answers), form.job.title)

    @property
    def fields(self) -> Fields:
        """Entries of the form that is shown."""
        return {} if self.form is None else nested("job", self.form.fields)

    def others(self) -> dict[str, Actable]:
        """See `Address`."""
        controls: dict[str, Actable] = {f"new.{key}": press for key, press in self.jobs.items()}
        controls |= {"new.blank": self.blank, "new.demo": self.demo, "new.back": self.back, "new.plan": self.plan}
        controls["new.file"] = self.upload
        return controls if self.form is None else {**controls, "new.make": self.form.make}
