"""Whether two casks, named before anybody looked at their means, are alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from panel.errors import UnknownRecord, WrongState
from panel.frames.judging import agreement_settings
from panel.kinds import SessionStatus

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.agreement import PairAsked, TwoCasks


def two_named_casks(
    db: Session,
    sessions: Sequence[str],
    named: tuple[str, str],
    *,
    as_of: date | None = None,
    within: float | None = None,
    asked: PairAsked | None = None,
) -> TwoCasks:
    """Compare two casks, draws or codes over revealed sessions.

    Alike means no more than `within` points apart, else the house's own tolerance.
    Of two casks unless something else is `asked`.

    Raises
    ------
    UnknownRecord, WrongState
        No such session, or nothing of that name in it; not revealed; scored in own words.
    """
    from analysis.agreement import PairAsked, two_casks
    from panel.frames import drawn_as, finished_session, scores_frame

    for name in sessions:
        session = finished_session(db, name)
        if session.status is not SessionStatus.REVEALED:
            raise WrongState(
                f"Session {name} is {session.status.value}: which glass is which cask is known "
                f"after `oakpanel session reveal {name}`."
            )
        if not session.kind.facts.pooled:
            raise WrongState(
                f"Session {name} was {session.kind.facts.scored}: no note of it holds two casks "
                "against each other."
            )
    scores = scores_frame(db, sessions=list(sessions), as_of=as_of)
    there = set(scores["sample"]) | set(scores["cask"].dropna())
    first, second = (
        name if name in there else drawn_as(db, sessions, name) or name for name in named
    )
    for called, name in zip(named, (first, second), strict=True):
        if name not in there:
            raise UnknownRecord(
                f"No glass of {called} was poured in {', '.join(sessions)}. There were: "
                f"{', '.join(sorted(set(scores['cask'].dropna())))}."
            )
    settings = agreement_settings(db)
    if within is not None:
        settings = replace(settings, tolerance=within)
    what = asked or PairAsked.CASKS
    return two_casks(scores, first, second, settings=settings, asked=what)


def casks_poured(db: Session, session: str) -> tuple[str, ...]:
    """Return the casks of which a revealed session had test glasses; none before the reveal.

    Raises
    ------
    UnknownRecord
        No such session.
    """
    from analysis.frames import TEST_KINDS
    from panel.frames import find_session, scores_frame

    if find_session(db, session).status is not SessionStatus.REVEALED:
        return ()
    scores = scores_frame(db, sessions=[session])
    poured = scores.loc[scores["kind"].isin(TEST_KINDS), "cask"].dropna()
    return tuple(sorted(set(poured)))
