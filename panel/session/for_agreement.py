"""What agreement will ask of a session on the lexicon that its plan does not give."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import GlassKind
from panel.session.design import TOLD_APART
from panel.store.lexicon import DescriptorVersion
from panel.store.sessions import PanelSession, SessionDescriptor
from panel.store.training import is_exercise

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.session.blueprint import Blueprint


def agreement_warnings(db: Session, plan: Blueprint) -> Iterator[str]:
    """Say of how much less than agreement asks the session will have, by its own settings.

    Agreement pools duplicates over the last sessions note by note: the note with fewest counts.
    Of an exercise nothing is asked: who is in training is judged by no agreement.
    """
    from panel.frames import recent_sessions
    from panel.frames.judging import agreement_settings

    if is_exercise(db, plan.session):
        return
    asks = agreement_settings(db)
    recent = recent_sessions(db, plan.session.name, asks.recent_sessions)
    samples = len({glass.draw_id for glass in plan.glasses if glass.kind in TOLD_APART})
    here, before = _poured_twice(plan), _twice_before(db, plan, recent)
    lacking = []
    if samples < asks.least_samples:
        lacking.append(
            f"{asks.least_samples} samples in the session, where {_are(samples)} planned"
        )
    if here + before < asks.least_duplicates:
        lacking.append(
            f"{asks.least_duplicates} blind duplicates, where {_are(here)} planned and "
            f"{before} stood in the last {asks.recent_sessions} sessions (each "
            "`--duplicate auto` pours one, at the desk 'auto twice' pours two)"
        )
    if lacking:
        yield (
            f"agreement will say 'too little yet' of the notes: it asks {'; and '.join(lacking)}."
        )


def _are(number: int) -> str:
    return "1 is" if number == 1 else f"{number or 'none'} are"


def _poured_twice(plan: Blueprint) -> int:
    """Return how many liquids stand on a tray more than once: a number, never which."""
    twice = (g for g in plan.glasses if g.replicate > 1 and g.kind is not GlassKind.WARM_UP)
    return len({glass.draw_id for glass in twice})


def _twice_before(db: Session, plan: Blueprint, recent: list[str]) -> int:
    """Return how many duplicates of earlier sessions count for the note that has fewest."""
    from panel.frames import n_doubled

    notes = dict.fromkeys(
        (line.descriptor_version.descriptor_id for line in plan.session.descriptors), 0
    )
    for session in db.scalars(select(PanelSession).where(PanelSession.name.in_(recent))):
        doubled = n_doubled(db, session)
        scored = select(DescriptorVersion.descriptor_id).join(
            SessionDescriptor, SessionDescriptor.descriptor_version_id == DescriptorVersion.id
        )
        for note in db.scalars(scored.where(SessionDescriptor.session_id == session.id)):
            if note in notes:
                notes[note] += doubled
    return min(notes.values(), default=0)
