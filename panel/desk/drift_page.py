"""Somebody, or the panel, over sessions: a line a session, the level, the evidence."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from panel.desk.columns import WORDS_WIDTH, fit
from panel.desk.drawn_list import DrawnList
from panel.desk.page import Follows, Page
from panel.desk.scale_line import GUIDE, ScaleLine
from panel.desk.slip import ReadSlip
from panel.figures import in_digits

if TYPE_CHECKING:
    from analysis.agreement import Drift
    from analysis.agreement.sessions.drift_result import DriftPoint

NAME_WIDTH = 24
RIGHT_WIDTH = 17
KEY = "× this session   ● level (before and after a movement)   ┊ the usual"


class PointList(DrawnList["DriftPoint"]):
    """A line a session, oldest first."""


class DriftPage(Page):
    """How far off the usual somebody stood, session by session."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE: ClassVar[str] = "sessions"
    DEFAULT_CSS = """
    DriftPage #about { height: auto; max-height: 5; padding: 0 1; text-style: bold; }
    DriftPage #key { height: auto; padding: 0 1; color: $secondary; }
    """

    def __init__(self, drift: Drift, about: str) -> None:
        super().__init__()
        self.drift, self.about = drift, about
        ends = [abs(value) for point in drift.points for value in (point.off, point.average)]
        self.reach = 5.0 * ceil(max([*ends, 1.0]) / 5.0)

    def body(self) -> ComposeResult:
        """What is said of it, the sessions, the key."""
        yield Static(Content(drift_words(self.drift)), id="about")
        yield PointList(self.draw, heading=self.heading)
        yield Static(Content(KEY), id="key")

    def set_up(self) -> None:
        """Stand on the newest session."""
        super().set_up()
        what = "Hidden reference" if self.drift.assessor is None else "Over all glasses"
        self.head(f"{what}: {self.about}", self.drift.direction or "steady")
        points = self.query_one(PointList)
        points.fill(self.drift.points)
        points.cursor = len(self.drift.points) - 1

    def line(self, room: int) -> ScaleLine:
        """Return the line between session and figures, the usual at nought."""
        return ScaleLine(max(room - NAME_WIDTH - RIGHT_WIDTH, 11), -self.reach, self.reach)

    def heading(self, room: int) -> list[str]:
        """Return the axis."""
        return [f"{fit('', NAME_WIDTH)}{self.line(room).axis()}    off evidence"]

    def draw(self, point: DriftPoint, room: int) -> str:
        """Draw one session."""
        line = self.line(room)
        cells = [" "] * line.width
        cells[line.place(0.0)] = GUIDE
        cells[line.place(point.average)] = "●"
        cells[line.place(point.off)] = "×"
        name = f"{fit(point.session, NAME_WIDTH - 12)} {point.held_on or ''}"
        figures = f"{in_digits(point.off, '>+7.1f')}{short_evidence(point.evidence):>10}"
        return f"{fit(name, NAME_WIDTH)}{''.join(cells)}{figures}"

    @on(DrawnList.Opened)
    def open(self) -> None:
        """Show the figures as a table."""
        from panel.words.agreement_words import drift_lines

        lines = drift_lines(self.drift, WORDS_WIDTH)
        self.app.push_screen(ReadSlip(self.about, lines))


def short_evidence(evidence: float | None) -> str:
    """Return a sum of evidence in nine columns."""
    if evidence is None:
        return "-"
    return "> million" if evidence > 1e6 else in_digits(evidence, ",.0f")


def drift_words(drift: Drift) -> str:
    """Return what a chart says."""
    from panel.words.agreement_words import evidence_words

    calm = f"No movement is certain: evidence {evidence_words(drift.evidence)}"
    said = (
        drift.verdict.sentence
        if drift.verdict
        else f"{calm} of {in_digits(drift.limit or 0.0, ',.0f')} asked."
    )
    return f"{said} ({drift.note})" if drift.note else said
