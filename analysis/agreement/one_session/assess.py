"""Can this panel be trusted: one session from the scores frame to a verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd
import threadpoolctl

from ...errors import NoScoresError, OneAssessorError, OneSampleError, SeveralSessionsError
from ...frames import TEST_KINDS, USED, WAITING, Usable, usable
from ..settings import AgreementSettings
from ..verdict import PanelWord, Verdict, session_verdict
from .around import Beside, beside_of, by_descriptor, lines_cut_off, tonight_of
from .descriptors import judge_descriptors
from .history import (
    History,
    Wanted,
    earlier_scores,
    history_of,
    last_sessions,
)
from .notes import Note, lay_out_note, order_said
from .people import describe_people, wrong_way_round
from .private import private_facts
from .result import Agreement, AssessorAgreement, DescriptorAgreement
from .serving import with_order
from .small_panel import small_panel
from .swap_check import Side, SwapCheck, compare
from .swaps import exchanged
from .waiting import Reading, Waiting, lay_beside, who_waits


def assess_agreement(
    scores: pd.DataFrame,
    *,
    recent: pd.DataFrame | None = None,
    settings: AgreementSettings = AgreementSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
    coded: bool = False,
    n_hidden: int = 0,
    with_history: bool = True,
) -> Agreement:
    """Judge one session: which descriptors to believe, and how each assessor read.

    Per descriptor the sample effect is the F of the balanced mixed analysis of variance
    (sample over assessor by sample) where each assessor scored each sample equally often, and
    that of the REML fit with Satterthwaite degrees of freedom where not; where REML puts the
    interaction at zero, F is taken on assessor-by-sample means, and REML's stands beside it.
    References and the warm-up are no part of any index; references do count for repeats.

    The verdict on a descriptor is the session's own; beside it stands what the one model (see
    :func:`over_sessions`) says over all sessions. The word for an assessor goes by the one model
    over the last five sessions where there are any, unless this session has a note of theirs
    the wrong way round or not separated, which is said of these glasses.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of one session.
    recent
        Scores of earlier sessions; repeats are pooled with the last five of them, and the one
        model is fitted to all.
    settings
        The house's thresholds.
    seed
        Seed of the permutations and of the redrawn panels.
    coded
        The session is not revealed: its codes are no sample of `recent`, whatever their names.
    n_hidden
        Blind duplicates that were poured and that only the reveal tells: nobody is asked for more
        of them, and they are not counted as repeats either.
    with_history
        Fit the one model; without it the session is judged by itself, repeats pooled all the
        same.

    Returns
    -------
    Agreement
        ``verdict`` first. The same input gives the same result, whatever the
        order of the rows.

    Raises
    ------
    FrameError
        With every fault of the frame, duplicated glasses among them.
    NoScoresError, OneAssessorError, OneSampleError, SeveralSessionsError
        When there is nothing to compare.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(1)
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": f"glass {s}", "replicate": r,
    ...      "descriptor": "smoke", "score": 12.0 * s + rng.normal(20, 4)}
    ...     for a in "ABCDEF" for s in range(6) for r in (1, 2)
    ... ]
    >>> found = assess_agreement(pd.DataFrame(rows))
    >>> found.descriptor("smoke").verdict.label
    'safe to act on'
    >>> found.descriptor("smoke").sample_effect.df_num
    5.0
    """
    used = usable(scores)
    everything, tests = _one_session(used.scores, used.left_out)
    session = str(everything["session"].iloc[0])
    earlier = earlier_scores(recent, session)
    lately = last_sessions(earlier, settings.recent_sessions)
    beside = beside_of(earlier, lately, coded=coded, n_hidden=n_hidden)
    cut = lines_cut_off(scores)
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        notes = _notes(everything, used.blanks, cut, beside, settings, seed)
        history = History()
        if with_history and lately:
            wanted = Wanted(lately, wrong_way_round(notes, settings), coded)
            history = history_of(everything, earlier, wanted, settings, seed)
        judged = _judge(everything, notes, settings, history)
        doubt = _in_doubt(scores, judged, cut, beside, settings, seed)
        swaps = tuple(
            _swap_check(person, judged, used, cut, beside, settings, seed)
            for person in judged.assessors
            if person.swap is not None and person.assessor not in doubt.people
        )
    return Agreement(
        session=session,
        verdict=judged.line,
        n_assessors=len(judged.assessors),
        n_samples=tests["sample"].nunique(),
        n_scores=len(tests),
        left_out=used.left_out,
        n_recent_sessions=len(lately),
        seed=seed,
        descriptors=judged.descriptors,
        assessors=judged.assessors,
        private=private_facts(judged.notes, settings, history.lately),
        swaps=tuple(sorted((*swaps, *doubt.swaps), key=lambda check: check.assessor)),
        waiting=doubt.waiting,
        order=order_said(notes),
        small_panel=small_panel(
            [part.assessor for part in judged.assessors], judged.notes, settings
        ),
    )


@dataclass(frozen=True)
class _Judged:
    """A session on the way to its result."""

    notes: Sequence[Note]
    line: Verdict[PanelWord]
    descriptors: tuple[DescriptorAgreement, ...]
    assessors: tuple[AssessorAgreement, ...]


def _notes(
    everything: pd.DataFrame,
    blanks: pd.DataFrame,
    cut: pd.DataFrame,
    beside: Beside,
    settings: AgreementSettings,
    seed: int,
) -> list[Note]:
    """Figures of each descriptor that a test glass was scored on."""
    tests = everything[everything["kind"].isin(TEST_KINDS)]
    ordered = with_order(everything)
    rows, names = by_descriptor(ordered), sorted(set(tests["descriptor"]))
    tonight = tonight_of(ordered, blanks, cut, len(names))
    blank = by_descriptor(blanks[blanks["kind"].isin(TEST_KINDS)])
    none = blanks.iloc[:0]
    return [
        lay_out_note(name, rows[name], blank.get(name, none), tonight, beside, settings, seed)
        for name in names
    ]


def _judge(
    everything: pd.DataFrame, notes: Sequence[Note], settings: AgreementSettings, history: History
) -> _Judged:
    """Verdicts and people of one session."""
    tests = everything[everything["kind"].isin(TEST_KINDS)]
    descriptors = judge_descriptors(notes, settings, history.house)
    people = sorted(set(tests["assessor"]))
    line = session_verdict(
        str(everything["session"].iloc[0]),
        [(part.descriptor, part.verdict.word) for part in descriptors],
        len(people),
        settings.small_panel,
        await_reveal=all(_awaits_reveal(note, settings) for note in notes),
    )
    assessors = describe_people(people, notes, settings, history.lately)
    return _Judged(notes, line, descriptors, assessors)


def _awaits_reveal(note: Note, settings: AgreementSettings) -> bool:
    """Whether a note lacks nothing but the duplicates that were poured and are not told yet."""
    poured = note.repeat.n_duplicates + note.n_hidden
    enough = note.figures.layout.n_samples >= settings.least_samples
    return enough and note.n_hidden > 0 and poured >= settings.least_duplicates


@dataclass(frozen=True)
class _InDoubt:
    """What hangs on glasses that the lead holds back because they may have changed places."""

    people: tuple[str, ...] = ()
    waiting: Waiting | None = None
    swaps: tuple[SwapCheck, ...] = ()


def _in_doubt(
    scores: pd.DataFrame,
    without: _Judged,
    cut: pd.DataFrame,
    beside: Beside,
    settings: AgreementSettings,
    seed: int,
) -> _InDoubt:
    """Judge the session once more with the scores that wait, and look at whose they are."""
    people = who_waits(scores)
    if not people:
        return _InDoubt()
    used = usable(scores, keep=(*USED, WAITING))
    notes = _notes(used.scores, used.blanks, cut, beside, settings, seed)
    with_them = _judge(used.scores, notes, settings, History())
    return _InDoubt(
        people=people,
        waiting=lay_beside(scores, _reading(without), _reading(with_them), coded=beside.coded),
        swaps=tuple(
            _swap_check(person, with_them, used, cut, beside, settings, seed)
            for person in with_them.assessors
            if person.swap is not None and person.assessor in people
        ),
    )


def _reading(judged: _Judged) -> Reading:
    return Reading(
        judged.line.word, {part.descriptor: part.verdict.word for part in judged.descriptors}
    )


def _swap_check(
    person: AssessorAgreement,
    judged: _Judged,
    used: Usable,
    cut: pd.DataFrame,
    beside: Beside,
    settings: AgreementSettings,
    seed: int,
) -> SwapCheck:
    """Judge the session once more with two glasses exchanged; the scores stay as they are.

    Both sides are the session's own, so that what changes hangs on the two glasses alone.
    """
    name, swap = person.assessor, person.swap
    if swap is None:
        raise ValueError(f"{name} has no swap to check")
    other = exchanged(used.scores, name, swap)
    blanks = exchanged(used.blanks, name, swap)
    notes = _notes(other, blanks, cut, beside, settings, seed)
    again = _judge(other, notes, settings, History())
    sides = [
        _side(part, describe_people([name], part.notes, settings, look_for_swaps=False)[0])
        for part in (judged, again)
    ]
    return compare(swap, *sides)


def _side(judged: _Judged, person: AssessorAgreement) -> Side:
    return Side(
        assessor=person.assessor,
        line=judged.line.word,
        notes={part.descriptor: part.verdict.word for part in judged.descriptors},
        word=person.verdict.word,
        correlation=person.correlation,
    )


def _one_session(
    scores: pd.DataFrame, left_out: Mapping[str, int]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """All scores in use and those of test glasses; refuse what cannot be compared."""
    tests = scores[scores["kind"].isin(TEST_KINDS)]
    if tests.empty:
        raise NoScoresError(left_out)
    sessions = sorted(set(scores["session"]))
    if len(sessions) > 1:
        raise SeveralSessionsError(sessions)
    if tests["assessor"].nunique() == 1:
        raise OneAssessorError(sessions[0], str(tests["assessor"].iloc[0]))
    if tests["sample"].nunique() == 1:
        raise OneSampleError(sessions[0], str(tests["sample"].iloc[0]))
    return scores, tests
