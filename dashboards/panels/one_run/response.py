"""A run over frequency, into a driver or a measured impedance; for a line signal, what it picks up as well."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as w

from dashboards.panels.controls.address import Fields
from dashboards.panels.controls.chart import Charts
from dashboards.panels.controls.numbers import Numbers, to_html
from dashboards.panels.one_run import response_line, response_speaker
from dashboards.panels.one_run.request import RunRequest
from dashboards.panels.one_run.response_line import LineAnswer, LineEntries, LineRequest
from dashboards.panels.one_run.response_speaker import SpeakerAnswer, SpeakerEntries, SpeakerRequest
from wirecalc.workings.rating import TWICE, twice

Request = SpeakerRequest | LineRequest
Answer = SpeakerAnswer | LineAnswer


def compute(request: Request) -> Answer:
    """All numbers of the tab."""
    if isinstance(request, SpeakerRequest):
        return response_speaker.compute(request)
    return response_line.compute(request)


class ResponseTab:
    """See `dashboards.panels.one_run.request.Tab`. `compute` is handed in so that a test can count calls."""

    title = "Response"

    def __init__(self, compute: Callable[[Request], Answer] = compute) -> None:
        self.compute = compute
        self.changed: Callable[[], None] = lambda: None
        self.speaker = SpeakerEntries(lambda: self.changed())
        self.line = LineEntries(lambda: self.changed())
        self.fields: Fields = {**self.speaker.fields, **self.line.fields}
        self.words, self.table = Numbers(answer=self.work), Numbers(answer=self.work)
        self._answer: Answer | None = None
        self.charts = Charts()
        self.entries = w.VBox()
        # nothing here is ever replaced: plotly keeps drawing on the view of a chart that was taken out, and fails
        self.view = w.VBox([self.entries, self.charts, self.words, self.table])

    def show(self, situation: RunRequest) -> None:
        """See `Tab`."""
        self.line.use_feet(situation.feet)
        entries = self.speaker if situation.run.response == "loudspeaker" else self.line
        self.entries.children = entries.parts()
        answer = self.compute(entries.request(situation))
        if isinstance(answer, SpeakerAnswer):
            pictures, words = response_speaker.charts(answer), response_speaker.speaker_words(answer)
            table = response_speaker.table_html(answer)
        else:
            pictures, words = response_line.charts(answer), response_line.line_words(answer)
            table = response_line.table_html(answer)
        self.charts.redraw(*pictures)
        self._answer = answer
        self.words.html = words
        self.table.html = table

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is "what:place among the conductors"."""
        what, place = key.split(":")
        if what in TWICE:
            return to_html(twice(what, float(place)))
        answer = self._answer
        assert answer is not None
        if isinstance(answer, SpeakerAnswer):
            return response_speaker.working_of(answer, what, int(place))
        return response_line.working_of(answer, what, int(place))
