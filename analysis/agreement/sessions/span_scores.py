"""One descriptor over several sessions, before anything is said of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from ...frames import TEST_KINDS
from ..indices.layout import ScoreLayout
from ..indices.repeat import Repeatability, repeatability
from ..one_session.assessors import PanelSlope
from ..one_session.notes import told_in, told_slopes
from ..one_session.with_panel import Told, ToldOrNot
from ..settings import AgreementSettings
from .over_sessions import NoteOverSessions, PersonOverSessions


@dataclass(frozen=True)
class SpanScores:
    """One descriptor over the span, before anything is said.

    `in_camps` is a note that the panel reads in two camps, which judges nobody.
    `told` and `visits` go by session in their order, with nothing where the note was not asked.
    """

    descriptor: str
    slopes: Mapping[str, Sequence[PanelSlope]]
    told: Sequence[ToldOrNot]
    visits: Sequence[ScoreLayout | None]
    repeat: Repeatability
    n_scores: Mapping[str, int]
    over: NoteOverSessions
    in_camps: bool = False

    def judging_nobody(self) -> SpanScores:
        """The same where the panel is in two camps: beside whom would anybody be judged?"""
        return replace(self, told=[{} for _ in self.told], slopes={}, in_camps=True)

    def own_told(self, name: str) -> list[Told | None]:
        """Somebody beside the others, session by session; None where nothing is told."""
        found = (part.get(name) for part in self.told)
        return [part if isinstance(part, Told) else None for part in found]

    def person(self, name: str, settings: AgreementSettings) -> PersonOverSessions | None:
        """Somebody by the one model, where that can judge at all."""
        return (
            None if self.in_camps or self.over.not_judging(settings) else self.over.people.get(name)
        )


def span_scores(
    scores: pd.DataFrame,
    order: Sequence[str],
    settings: AgreementSettings,
    over: Mapping[str, NoteOverSessions],
) -> list[SpanScores]:
    """Slopes and repeats of each descriptor, session by session in the order given.

    `over` holds what the one model says of each; nothing where there is one session.
    """
    found = []
    for name, rows in scores.groupby("descriptor", sort=True):
        by_session = dict(iter(rows.groupby("session")))
        parts = [by_session[session] for session in order if session in by_session]
        visits = [
            ScoreLayout.of(by_session[session]) if session in by_session else None
            for session in order
        ]
        tests = rows[rows["kind"].isin(TEST_KINDS)]
        found.append(
            SpanScores(
                descriptor=str(name),
                slopes=told_slopes(parts, (0.0, 100.0), settings),
                told=[_told(by_session.get(session), settings) for session in order],
                visits=visits,
                repeat=repeatability([part for part in visits if part is not None]),
                n_scores={str(who): int(n) for who, n in tests.groupby("assessor").size().items()},
                over=over.get(str(name), _alone(str(name))),
            )
        )
    return found


def _told(rows: pd.DataFrame | None, settings: AgreementSettings) -> ToldOrNot:
    return told_in(rows, settings.tolerance, settings)


def _alone(descriptor: str) -> NoteOverSessions:
    return NoteOverSessions(descriptor, 1, 0, reason="scored in one session only")
