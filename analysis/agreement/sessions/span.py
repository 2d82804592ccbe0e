"""Several sessions together: a line each, the assessors over all of them, and who is moving."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence

import pandas as pd

from ...errors import NoScoresError, TooLittleError
from ...frames import TEST_KINDS, on_house_scale, usable
from ...under_way import go_on
from ..one_session.assess import assess_agreement
from ..one_session.result import Agreement
from ..one_session.serving import all_without_order
from ..settings import AgreementSettings
from ..verdict import AssessorWord, PanelWord
from ..verdict.span import span_sentence
from .drift import chart_drift
from .one_model import own_codes, read_model
from .over_sessions import NoteOverSessions
from .span_people import (
    count_blanks,
    find_drift,
    span_assessors,
    span_descriptor,
    span_private,
    who_moves,
)
from .span_result import Span, SpanAssessor, SpanDescriptor, SpanSession
from .span_scores import span_scores


def assess_span(
    scores: pd.DataFrame,
    *,
    earlier: pd.DataFrame | None = None,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
    coded: Collection[str] = (),
    progress: Callable[[int, int], None] | None = None,
) -> Span:
    """Judge several sessions one by one, and what they say together.

    Each session is judged by itself as :func:`assess_agreement` does, repeats pooled with the
    sessions before it. Over the span the one model (see :func:`over_sessions`) says how reliable
    the panel is on each note and how each assessor reads; a note scored in one session, or
    mostly zero, is left to the sessions' own verdicts and the slopes in them. Everybody is
    charted over all glasses, the panel on its hidden reference.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of any number of sessions.
    earlier
        Scores of sessions before the span, for the repeats of its first sessions.
    settings
        The house's thresholds.
    seed
        Seed of the permutations and of the redrawn panels.
    coded
        Sessions not revealed yet, whose codes are samples of their own.
    progress
        Told how many sessions are done, of how many.

    Returns
    -------
    Span

    Raises
    ------
    FrameError, NoScoresError
        A frame that cannot be used, or nothing left of it. A session that cannot be judged
        is no error: its line says why.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(4)
    >>> rows = [(f"S{t}", f"2026-0{t + 1}-10", who, f"x{t}{s}", r, "smoke",
    ...          12.0 * s + rng.normal(20, 3))
    ...         for t in range(3) for who in "ABCDEF" for s in range(6) for r in (1, 2)]
    >>> names = ["session", "held_on", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> found = assess_span(pd.DataFrame(rows, columns=names))
    >>> found.sessions[0].verdict.label, found.assessors[0].verdict.label
    ('safe to act on', 'reads with the panel')
    """
    used = usable(scores)
    if used.scores.empty:
        raise NoScoresError(used.left_out)
    everything = on_house_scale(used.scores)
    order = _in_order(everything)
    sessions, results = [], []
    for done, name in enumerate(order):
        go_on()
        rows, recent = _with_recent(scores, earlier, name, order[:done], settings)
        line, result = _session(name, rows, recent, settings, seed)
        sessions.append(line)
        results += [result] if result is not None else []
        if progress is not None:
            progress(done + 1, len(order))
    model: Mapping[str, NoteOverSessions] = {}
    if len(order) > 1:
        model = read_model(own_codes(used.scores, coded), settings=settings, seed=seed)
    notes = span_scores(all_without_order(everything), order, settings, model)
    drifts = chart_drift(everything, [note.descriptor for note in notes])
    blanks = count_blanks(used.blanks)
    descriptors = tuple(span_descriptor(note, results, drifts, blanks, settings) for note in notes)
    camps = frozenset(part.descriptor for part in descriptors if part.in_camps)
    assessors = span_assessors(notes, everything, drifts, blanks, settings, camps)
    dates = (sessions[0].held_on or order[0], sessions[-1].held_on or order[-1])
    words = Counter(line.verdict.word for line in sessions if line.verdict is not None)
    said = span_sentence(
        *(len(order), dates, words, who_moves(drifts), _asking(descriptors, assessors)),
        [line.reason for line in sessions if line.reason is not None],
    )
    return Span(
        first=order[0],
        last=order[-1],
        sentence=said.sentence,
        next_action=said.next_action,
        n_scores=int(everything["kind"].isin(TEST_KINDS).sum()),
        seed=seed,
        left_out=used.left_out,
        sessions=tuple(sessions),
        descriptors=descriptors,
        assessors=assessors,
        drift=find_drift(drifts, None, None),
        private=span_private(notes, settings),
    )


_QUIET_NOTES = (PanelWord.SAFE, PanelWord.ALIKE, PanelWord.ONE_MIND)


def _asking(notes: Sequence[SpanDescriptor], people: Sequence[SpanAssessor]) -> list[str]:
    """Notes, then people, of whom something is asked."""
    found = [part.descriptor for part in notes if part.verdict.word not in _QUIET_NOTES]
    return found + [part.assessor for part in people if part.verdict.word is not AssessorWord.WITH]


def _in_order(scores: pd.DataFrame) -> list[str]:
    dates = scores.groupby("session")["held_on"].min().reset_index()
    dates = dates.sort_values(["held_on", "session"], na_position="last")
    return [str(name) for name in dates["session"]]


def _with_recent(
    scores: pd.DataFrame,
    earlier: pd.DataFrame | None,
    name: str,
    before: Sequence[str],
    settings: AgreementSettings,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The rows of one session, and those its repeats are pooled with."""
    session = scores["session"].astype("str")
    kept = list(before)[-settings.recent_sessions :]
    recent = scores[session.isin(kept)]
    if earlier is not None and len(kept) < settings.recent_sessions:
        recent = pd.concat([earlier, recent])
    return scores[session == name], recent


def _session(
    name: str,
    rows: pd.DataFrame,
    recent: pd.DataFrame,
    settings: AgreementSettings,
    seed: int,
) -> tuple[SpanSession, Agreement | None]:
    day = pd.to_datetime(rows["held_on"]).min() if "held_on" in rows else pd.NaT
    held_on = None if pd.isna(day) else str(day.date())
    try:
        found = assess_agreement(
            rows, recent=recent, settings=settings, seed=seed, with_history=False
        )
    except TooLittleError as error:
        n = (rows["assessor"].nunique(), rows["sample"].nunique())
        return SpanSession(name, held_on, None, *n, 0, 0, reason=str(error)), None
    line = SpanSession(
        session=name,
        held_on=held_on,
        verdict=found.verdict,
        n_assessors=found.n_assessors,
        n_samples=found.n_samples,
        n_safe=sum(part.verdict.word is PanelWord.SAFE for part in found.descriptors),
        n_descriptors=len(found.descriptors),
    )
    return line, found
