"""A house whose casks were nosed: ten casks, three notes, two evenings, all revealed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta

import numpy as np
from sqlalchemy.orm import Session

from panel.kinds import DrawKind, GaugeMethod, GlassKind, Role, SessionStatus, Stage
from panel.store.casks import Filling, Make
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.filling_states import filling_states
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
from tests.houses.parts import (
    add_draw,
    add_filling,
    add_make,
    add_regauge,
    descriptor,
    person,
    target,
)

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
TODAY = date(2026, 3, 14)
YESTERDAY = TODAY - timedelta(days=1)
NOTES = {"ember": Stage.NOSE, "smoke at the end": Stage.FINISH, "honeycomb": Stage.ARRIVAL}
CASKS = [f"C{number}" for number in range(1, 11)]
LEVELS = {cask: (10.0 + 5 * i, 8.0 + 4 * i, 60.0 - 4 * i) for i, cask in enumerate(CASKS)}
GAUGED_ON = date(2026, 3, 1)
"""The other day: what is in a cask is then known."""
LITRES = (38.0, 52.0, 61.0, 75.0, 83.0, 96.0, 104.0, 117.0, 129.0, 141.0)


@kept
def build_nosed(store: Store) -> None:
    """Write the house."""
    with store.write() as db:
        _people(db)
        make, smoky = add_make(db), add_make(db, "Sallow smoky", 35.0)
        fillings = [_cask(db, i, smoky if i > 4 else make) for i in range(len(CASKS))]
        words = _lexicon(db)
        db.flush()
        draws = [_draw(filling) for filling in fillings]
        db.add_all(draws)
        db.flush()
        for number in (1, 2):
            add_evening(db, f"EV{number}", date(2026, 1, number), draws, words, LEVELS, seed=number)


def build_nosed_to_plan(store: Store) -> None:
    """Build it with a reference on the shelf, so that a next session can be planned."""
    build_nosed(store)
    with store.write() as db:
        made = add_draw(db, "REF-1", None, kind=DrawKind.REFERENCE, drawn_on=date(2025, 1, 1))
        made.abv = 46.0


def gauge_all(store: Store) -> None:
    """Weigh every cask: it holds what it was filled with."""
    with store.write() as db:
        for filling in db.query(Filling):
            gauge = filling.fill_bulk_l, filling.fill_abv
            add_regauge(db, filling, GAUGED_ON, *gauge, method=GaugeMethod.WEIGHED)


def weigh_today(store: Store) -> None:
    """Weigh every cask yesterday: it holds what the records say, and nothing is in doubt."""
    with store.write() as db:
        held = {state.filling_id: (state.bulk_l, state.abv) for state in filling_states(db, TODAY)}
        for filling in db.query(Filling):
            gauge = held[filling.id]
            add_regauge(db, filling, YESTERDAY, *gauge, method=GaugeMethod.WEIGHED)


def _people(db: Session) -> None:
    roles = {"BL": Role.BLENDER, "LD": Role.LEAD, "AA": Role.ASSESSOR, "BB": Role.ASSESSOR}
    roles |= {"CC": Role.ASSESSOR, "DD": Role.ASSESSOR}
    for code, role in roles.items():
        db.add(person(code, role, joined_on=date(2020, 1, 1)))


def _cask(db: Session, i: int, make: Make) -> Filling:
    wood = "European oak" if i % 3 == 0 else "American oak"
    filled_on = date(2010 + i // 2, 5, 1)
    return add_filling(
        db, CASKS[i], make, wood=wood, filled_on=filled_on, fill_abv=60.0, fill_bulk_l=LITRES[i]
    )


def _lexicon(db: Session) -> list[DescriptorVersion]:
    words = [descriptor(name, stage=stage, high_words="all") for name, stage in NOTES.items()]
    aims = zip(words, (30.0, 24.0, 44.0), strict=True)
    db.add_all([*words, target("Fen", aims, tolerance=9.0)])
    return words


def _draw(filling: Filling) -> Draw:
    return Draw(
        label=f"D-{filling.cask.number}",
        kind=DrawKind.CASK,
        filling=filling,
        drawn_on=date(2025, 12, 1),
        abv=58.0,
        volume_ml=200,
    )


def add_evening(
    db: Session,
    name: str,
    held_on: date,
    draws: list[Draw],
    words: list[DescriptorVersion],
    levels: Mapping[str, tuple[float, ...]],
    *,
    seed: int,
) -> None:
    """Add a revealed session in which four assessors scored every draw on every note."""
    rng = np.random.default_rng(seed)
    people = [db.query(Person).filter_by(code=code).one() for code in ("AA", "BB", "CC", "DD")]
    evening = PanelSession(name=name, held_on=held_on, status=SessionStatus.REVEALED, loaded=True)
    db.add(evening)
    db.flush()
    for place, word in enumerate(words, 1):
        evening.descriptors.append(SessionDescriptor(place=place, descriptor_version=word))
    for seat, who in enumerate(people, 1):
        evening.assessors.append(SessionAssessor(person=who, seat=seat))
    for number, draw in enumerate(draws):
        code = str(101 + number)
        kind = GlassKind.TRIAL if draw.kind is DrawKind.TRIAL else GlassKind.TEST
        db.add(KeyRow(session_id=evening.id, code=code, draw_id=draw.id, kind=kind, replicate=1))
        key = draw.filling.cask.number if draw.filling else draw.label
        for seat, who in enumerate(people):
            # Everybody has an order of their own, every second one the other way round.
            place = (2 * seat + (-number if seat % 2 else number)) % len(draws) + 1
            glass = Serving(session_id=evening.id, person=who, code=code, position=place)
            glass.scores = [
                Score(
                    descriptor_version=word,
                    value=float(np.clip(level + rng.normal(0, 2), 0, 100)),
                    given_at=NOW,
                )
                for word, level in zip(words, levels[key], strict=True)
            ]
            db.add(glass)
    db.flush()
