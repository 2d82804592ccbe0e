"""A house with a panel of six, samples that it knows, and two people in training.

T1 reads as the panel does, T2 has opinions; each sat in four exercises, apart from the panel.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta

import numpy as np
from sqlalchemy.orm import Session

from panel.kinds import DrawKind, GlassKind, Role, SessionStatus
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.lexicon import DescriptorVersion
from panel.store.people import Person
from panel.store.sessions import (
    PanelSession,
    Score,
    Serving,
    SessionAssessor,
    SessionDescriptor,
)
from tests.houses.kept import kept
from tests.houses.parts import descriptor, person

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
TODAY = date(2026, 3, 14)
BEGUN = date(2026, 2, 1)
PANEL = tuple(f"P{n}" for n in range(1, 7))
GOOD, POOR = "T1", "T2"
NOTES = ("wet slate", "plum stone")
SETS = 4
EXERCISES = tuple(f"EX{n}" for n in range(1, SETS + 1))


@kept
def build_in_training(store: Store) -> None:
    """Write the house; nobody is in training yet by the records."""
    with store.write() as db:
        db.add(person("L1", Role.LEAD, joined_on=date(2020, 1, 1)))
    add_people(store)


def add_people(store: Store) -> None:
    """Write the panel, both in training, what they nosed and what they said, into any house."""
    rng = np.random.default_rng(6)
    with store.write() as db:
        for code in (*PANEL, GOOD, POOR):
            db.add(person(code, Role.ASSESSOR, joined_on=date(2020, 1, 1)))
        words = [descriptor(name) for name in NOTES]
        draws = [
            Draw(label=f"R{n:02d}", kind=DrawKind.REFERENCE, drawn_on=date(2025, 1, 1), abv=46.0)
            for n in range(6 * SETS)
        ]
        db.add_all([*words, *draws])
        db.flush()
        truth = {draw.label: rng.uniform(15.0, 85.0, len(NOTES)) for draw in draws}
        for n in range(SETS):
            some = draws[6 * n : 6 * n + 6]
            known = {code: _read(rng, some, truth) for code in PANEL}
            add_session(db, f"PANEL{n + 1}", date(2025, 6, n + 1), some, words, known)
            said = {GOOD: _read(rng, some, truth), POOR: _opinions(rng, some)}
            day = BEGUN + timedelta(days=7 * n)
            add_session(db, EXERCISES[n], day, some, words, said)


Said = Mapping[str, tuple[float, ...]]


def _read(rng: np.random.Generator, draws: list[Draw], truth: Mapping[str, np.ndarray]) -> Said:
    return {
        draw.label: tuple(np.clip(truth[draw.label] + rng.normal(0, 7, len(NOTES)), 0, 100).round())
        for draw in draws
    }


def _opinions(rng: np.random.Generator, draws: list[Draw]) -> Said:
    return {draw.label: tuple(rng.uniform(0, 100, len(NOTES)).round()) for draw in draws}


def add_session(
    db: Session,
    name: str,
    held_on: date,
    draws: list[Draw],
    words: list[DescriptorVersion],
    said: Mapping[str, Said],
) -> None:
    """Add a revealed session in which each of these people scored every draw."""
    held = PanelSession(name=name, held_on=held_on, status=SessionStatus.REVEALED, loaded=True)
    db.add(held)
    db.flush()
    for place, word in enumerate(words, 1):
        held.descriptors.append(SessionDescriptor(place=place, descriptor_version=word))
    orders = np.random.default_rng([6, held_on.toordinal()])
    people = [db.query(Person).filter_by(code=code).one() for code in said]
    for seat, who in enumerate(people, 1):
        held.assessors.append(SessionAssessor(person=who, seat=seat))
    places = {who.code: orders.permutation(len(draws)) for who in people}
    for number, draw in enumerate(draws):
        code, kind = str(101 + number), GlassKind.TEST
        db.add(KeyRow(session_id=held.id, code=code, draw_id=draw.id, kind=kind, replicate=1))
        for who in people:
            place = int(places[who.code][number]) + 1
            glass = Serving(session_id=held.id, person=who, code=code, position=place)
            glass.taken_at = glass.finished_at = NOW
            glass.scores = [
                Score(descriptor_version=word, value=value, given_at=NOW)
                for word, value in zip(words, said[who.code][draw.label], strict=True)
            ]
            db.add(glass)
    db.flush()
