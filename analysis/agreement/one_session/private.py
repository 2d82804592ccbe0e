"""What is near a person's health, and so for that person and the lead alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..sessions.over_sessions import NoteOverSessions
from ..settings import AgreementSettings
from ..verdict import private_sentence
from .assessors import PanelSlope, reading
from .notes import Note
from .result import PrivateFact

Lately = Mapping[str, NoteOverSessions]
_LEAST_FOR_PRIVATE = 3
"""Sessions that must agree before anything near a person's health is said, even in private."""


def private_facts(
    notes: Sequence[Note], settings: AgreementSettings, lately: Lately
) -> tuple[PrivateFact, ...]:
    """Notes that an assessor seems not to smell, over three sessions or more."""
    facts: list[PrivateFact] = []
    for note in notes:
        over = lately.get(note.name)
        if over is not None and over.leads:
            facts += flat_over_sessions(over, settings)
        else:
            facts += _flat_by_slopes(note, settings)
    return tuple(facts)


def flat_over_sessions(over: NoteOverSessions, settings: AgreementSettings) -> list[PrivateFact]:
    """Who seems not to smell a note, by the one model; for that person and the lead only."""
    if over.not_judging(settings):
        return []
    return [
        private_fact(person.assessor, over.descriptor, person.p_flat, person.n_sessions)
        for _, person in sorted(over.people.items())
        if person.n_sessions >= _LEAST_FOR_PRIVATE and person.p_flat > settings.flag_probability
    ]


def flat_by_slopes(
    name: str, descriptor: str, slopes: Sequence[PanelSlope], settings: AgreementSettings
) -> list[PrivateFact]:
    """The same from the slopes of single sessions, where the one model says nothing."""
    if len(slopes) < _LEAST_FOR_PRIVATE:
        return []
    chance = reading(slopes).flat
    if chance <= settings.flag_probability:
        return []
    return [private_fact(name, descriptor, chance, len(slopes))]


def private_fact(name: str, descriptor: str, chance: float, n_sessions: int) -> PrivateFact:
    """Put a fact and its sentence together."""
    said, action = private_sentence(name, descriptor, n_sessions)
    return PrivateFact(name, descriptor, chance, n_sessions, said, action)


def _flat_by_slopes(note: Note, settings: AgreementSettings) -> list[PrivateFact]:
    facts: list[PrivateFact] = []
    now = {who: part for who, part in note.slopes.items() if note.not_judging(who) is None}
    for name in sorted(set(now) | set(note.past_slopes)):
        found = [*note.past_slopes.get(name, ())]
        current = now.get(name)
        if isinstance(current, PanelSlope):
            found.append(current)
        facts += flat_by_slopes(name, note.name, found, settings)
    return facts
