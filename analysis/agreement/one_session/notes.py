"""One descriptor of a session on its way to a verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ...frames import TEST_KINDS, on_house_scale
from ..indices.flight import FlightSpan, flight_span, over_visits
from ..indices.layout import ScoreLayout
from ..indices.repeat import Repeatability, repeatability
from ..settings import AgreementSettings
from ..verdict import PanelWord
from ..verdict.serving import OrderSaid, Served, said_of_order
from ..verdict.words import NOT_TOLD_APART, too_few, too_near
from .around import Beside, Tonight
from .assessors import PanelSlope, slopes
from .blanks import LowBlanks, low_blanks, never_scored
from .camps import Camps, two_camps
from .figures import Figures, descriptor_figures
from .serving import (
    NoteOrder,
    Serving,
    in_one_order,
    known_before,
    note_order,
    without_order,
)
from .trays import TrayNote
from .with_panel import Told, ToldOrNot, told_by_others

COINCIDENCE = 1.96 * np.sqrt(2.0)
"""Two values of sd s lie within this times s, 19 times in 20."""


_TELLING = 0.01
"""What is not known of the order, for the noise of the means: less than that adds nothing."""
LEAST_REPEATS = 4
"""Fewer repeats than this say nothing of how near two nosings lie."""


@dataclass(frozen=True)
class Note:
    """One descriptor on its way to a verdict.

    Attributes
    ----------
    told, past_told
        Each assessor beside the others who told the samples apart, in this session and in each
        of the recent ones; nobody where a session does not have the note.
    visits
        Scores of this session, then of each recent one, references included; None where a
        session does not have the note.
    flight
        How far apart the samples are and may be, with what recent sessions say of the same
        ones; None where they cannot be compared.
    low_blanks
        Blanks that lie on glasses which others score low.
    never_scored
        Samples of which every line was left blank.
    camps
        Who reads it one way and who the opposite way, if it is so.
    order
        What the order of serving does; None where it is not on record.
    serving
        In which order the session was served.
    plain
        All scores with the order taken out, references too; `scores` are of tests, as given.
    """

    name: str
    scale: tuple[float, float]
    scores: pd.DataFrame
    n_missing: Mapping[str, int]
    figures: Figures
    repeat: Repeatability
    slopes: Mapping[str, PanelSlope | str]
    past_slopes: Mapping[str, Sequence[PanelSlope]]
    told: ToldOrNot
    past_told: Sequence[ToldOrNot]
    visits: Sequence[ScoreLayout | None]
    flight: FlightSpan | None
    low_blanks: LowBlanks | None
    never_scored: tuple[str, ...]
    camps: Camps | None
    order: NoteOrder | None
    serving: Serving
    plain: pd.DataFrame
    n_hidden: int = 0
    """Blind duplicates that were poured and that only the reveal tells."""

    def own_told(self, name: str) -> list[Told | None]:
        """One assessor beside the others, this session first; None where nothing is told."""
        found = (part.get(name) for part in (self.told, *self.past_told))
        return [part if isinstance(part, Told) else None for part in found]

    def not_judging(self, name: str) -> str | None:
        """Why this assessor cannot be judged by it; None when it may be done."""
        found = self.told.get(name)
        return found if isinstance(found, str) else None

    @property
    def per_point(self) -> float:
        """Points of the 0-100 line for one unit of the scale the scores were given on."""
        return 100.0 / (self.scale[1] - self.scale[0])

    def judges(self, settings: AgreementSettings) -> str | None:
        """Why nobody can be judged by this note; None when it may be done."""
        least_span = settings.tolerance / self.per_point
        return _too_little_told(self.figures.layout, self.figures.effect.f, least_span, settings)

    def on_trays(self, settings: AgreementSettings) -> TrayNote:
        """The note as trays are looked at."""
        f = self.figures.effect.f
        return TrayNote(
            rows=self.plain,
            points=self.per_point,
            reliability=max(0.0, 1.0 - 1.0 / f) if f else 0.0,
            told=self.judges(settings) is None,
        )


def lay_out_note(
    name: str,
    rows: pd.DataFrame,
    blanks: pd.DataFrame,
    tonight: Tonight,
    beside: Beside,
    settings: AgreementSettings,
    seed: int,
) -> Note:
    """Compute what one descriptor needs before all of them are judged together.

    `rows` holds its scores of the session, `blanks` its blank lines.
    """
    given, scale = _one_scale(rows)
    tests = given[given["kind"].isin(TEST_KINDS)]
    scores, order = _without_order(given, tonight.serving, beside.year.get(name))
    plain = scores[scores["kind"].isin(TEST_KINDS)]
    figures = descriptor_figures(ScoreLayout.of(plain), settings, seed, order)
    sessions = [_rescaled(part[name], scale) if name in part else None for part in beside.past]
    earlier = [part for part in sessions if part is not None]
    least_span = settings.tolerance * (scale[1] - scale[0]) / 100.0
    told = _told(figures.layout, plain, least_span, settings)
    own = slopes(figures.layout, told) if figures.effect.f is not None else {}
    visits = [None if part is None else ScoreLayout.of(part) for part in (scores, *sessions)]
    return Note(
        name=name,
        scale=scale,
        scores=tests,
        n_missing=_missing(name, tests, tonight),
        figures=figures,
        repeat=repeatability([part for part in visits if part is not None]),
        slopes=own,
        past_slopes=told_slopes(earlier, scale, settings),
        told=told,
        past_told=[told_in(part, least_span, settings) for part in sessions],
        visits=visits,
        low_blanks=low_blanks(figures.layout, blanks),
        never_scored=never_scored(figures.layout, blanks),
        flight=_flight(figures.layout, [] if beside.coded else visits[1:], order, tests, settings),
        camps=two_camps(figures.layout, tonight.n_notes, settings, seed),
        order=order,
        serving=tonight.serving,
        plain=scores,
        n_hidden=beside.n_hidden,
    )


def _without_order(
    given: pd.DataFrame, serving: Serving, year: pd.DataFrame | None
) -> tuple[pd.DataFrame, NoteOrder | None]:
    """The scores with the order taken out, and what is not known of it."""
    before, again = None, 0
    if serving.served is Served.CLASSES:
        year = given.iloc[:0] if year is None else year
        points = float(given["scale_high"].iloc[0] - given["scale_low"].iloc[0]) / 100.0
        before, again = known_before(year, given, points)
    scores, effect = without_order(given, before)
    tests = given["kind"].isin(TEST_KINDS)
    return scores, note_order(ScoreLayout.of(scores[tests]), given[tests], effect, again)


def order_said(notes: Sequence[Note]) -> OrderSaid:
    """What the order of the session lets be compared, to stand beside the verdict."""
    again = max((note.order.n_again for note in notes if note.order is not None), default=0)
    serving = notes[0].serving
    return said_of_order(
        *(serving.served, len(serving.classes), again),
        by_pouring=serving.by_pouring,
        hidden=notes[0].n_hidden > 0,
    )


def _flight(
    layout: ScoreLayout,
    earlier: Sequence[ScoreLayout | None],
    order: NoteOrder | None,
    tests: pd.DataFrame,
    settings: AgreementSettings,
) -> FlightSpan | None:
    """How far apart the samples of this session are, by all visits to them."""
    if layout.constant:
        return None
    visits = [layout, *(part for part in earlier if part is not None)]
    low, high = float(tests["scale_low"].iloc[0]), float(tests["scale_high"].iloc[0])
    zeros = float((tests["score"] == low).mean()) > settings.zero_share
    found = over_visits(visits, layout.samples, mostly_zero=zeros)
    if found is None:
        return None
    fit, sd = found.fit, found.sd
    if order is not None and sd > 0.0:
        more = order.spread / (len(visits) * sd**2)
        if float(np.trace(more)) > _TELLING * float(np.trace(fit.unit)):
            fit = replace(fit, unit=fit.unit + more)
    return flight_span(fit, settings.tolerance * (high - low) / 100.0, found.error)


def told_in(
    scores: pd.DataFrame | None, least_span: float, settings: AgreementSettings
) -> ToldOrNot:
    """Each assessor beside the others in the scores of one note in one session, if any."""
    tests = None if scores is None else scores[scores["kind"].isin(TEST_KINDS)]
    if tests is None or tests.empty:
        return {}
    return _told(ScoreLayout.of(tests), tests, least_span, settings)


def _told(
    layout: ScoreLayout, tests: pd.DataFrame, least_span: float, settings: AgreementSettings
) -> ToldOrNot:
    """Each assessor beside the others; nobody where all may only follow the tray."""
    if in_one_order(tests):
        return dict.fromkeys(layout.assessors, str(PanelWord.ORDER))
    return told_by_others(layout, least_span, settings)


def _one_scale(scores: pd.DataFrame) -> tuple[pd.DataFrame, tuple[float, float]]:
    """Scores as given when they share a scale, else on the house line."""
    if scores["scale_low"].nunique() > 1 or scores["scale_high"].nunique() > 1:
        scores = on_house_scale(scores)
    return scores, (float(scores["scale_low"].iloc[0]), float(scores["scale_high"].iloc[0]))


def _rescaled(scores: pd.DataFrame, scale: tuple[float, float]) -> pd.DataFrame:
    """Earlier scores on the scale of this session, their own order taken out."""
    scores = without_order(scores)[0]
    same = (scores["scale_low"] == scale[0]) & (scores["scale_high"] == scale[1])
    if same.all():
        return scores
    house = on_house_scale(scores)
    house["score"] = scale[0] + house["score"] * (scale[1] - scale[0]) / 100.0
    return house


def _missing(note: str, tests: pd.DataFrame, tonight: Tonight) -> dict[str, int]:
    """Glasses that were seen and scored on something, but left blank on this, by assessor."""
    scored = tests["assessor"].value_counts().to_dict()
    return {
        name: n - int(scored.get(name, 0)) - tonight.not_reached.get((name, note), 0)
        for name, n in tonight.seen.items()
    }


def told_slopes(
    sessions: Sequence[pd.DataFrame], scale: tuple[float, float], settings: AgreementSettings
) -> dict[str, list[PanelSlope]]:
    """Slopes of the assessors in those sessions in which the panel told one note apart.

    `sessions` holds the scores of that note, one frame a session, on one `scale`.
    """
    found: dict[str, list[PanelSlope]] = {}
    least_span = settings.tolerance * (scale[1] - scale[0]) / 100.0
    for part in sessions:
        tests = part[part["kind"].isin(TEST_KINDS)]
        if tests.empty:
            continue
        layout = ScoreLayout.of(tests)
        told = _told(layout, tests, least_span, settings)
        for name, slope in slopes(layout, told).items():
            if isinstance(slope, PanelSlope) and isinstance(told[name], Told):
                found.setdefault(name, []).append(slope)
    return found


def _too_little_told(
    layout: ScoreLayout, f: float | None, least_span: float, settings: AgreementSettings
) -> str | None:
    """Why nobody can be judged by these scores; None when it may be done."""
    if layout.n_assessors < settings.small_panel:
        return too_few(settings.small_panel)
    if not f or 1.0 - 1.0 / f < settings.second_look_reliability:
        return NOT_TOLD_APART
    if float(np.ptp(np.nanmean(layout.adjusted, axis=0))) < least_span:
        return too_near(settings.tolerance)
    return None
