"""One assessor on one descriptor, as a sentence needs it."""

from __future__ import annotations

from collections.abc import Collection

from ..sessions.over_sessions import PersonOverSessions
from ..verdict import NoteFacts
from .assessors import usual_repeat_sd
from .notes import COINCIDENCE, Note
from .result import AssessorNote
from .with_panel import Told


def note_facts(
    name: str,
    note: Note,
    found: AssessorNote,
    person: PersonOverSessions | None,
    without: Collection[str],
) -> NoteFacts:
    """What is said of it; others are looked at `without` those who go astray."""
    scale, repeat, usual = note.per_point, found.repeat_sd, usual_of(note)
    repeat_points = None if repeat is None else float(COINCIDENCE * repeat * scale)
    usual_points = None if usual is None else float(COINCIDENCE * usual * scale)
    if person is not None and found.verdict is not None:
        repeat_points = float(COINCIDENCE * person.noise)
        usual_points = float(COINCIDENCE * person.usual_noise)
    told = note.told.get(name)
    others = told.usual_span(without) if isinstance(told, Told) else None
    return NoteFacts(
        descriptor=note.name,
        word=found.verdict,
        span=None if found.span is None else found.span * scale,
        told_apart=isinstance(told, Told),
        others_span=None if others is None else others * scale,
        repeat_points=repeat_points,
        usual_repeat_points=usual_points,
    )


def usual_of(note: Note) -> float | None:
    """Repeat sd of the middle one of those who scored the note."""
    return usual_repeat_sd(list(note.repeat.assessors.values()))
