"""An open session in sets for booth tests: trays without a key, as a booth sees them."""

from __future__ import annotations

from sqlalchemy import select, update

from panel.kinds import SessionKind, Task
from panel.session.in_sets import ASKS_A_NOTE
from panel.store.answers import Answer
from panel.store.engine import Store
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving, SessionDescriptor
from tests.houses.at_the_booth import WORDS, open_evening

SET_CODES = ("538", "417", "382", "295")
OF_ONE = {Task.PICK: 2, Task.SORT: 4, Task.RANK: 4, Task.ODD: 3, Task.MATCH: 3}


def open_sets(store: Store, kind: SessionKind, *, pause_s: int = 60) -> None:
    """Open an evening of sets: two pairs, one three, one four, or one ranking of four."""
    task = kind.facts.task or Task.PICK
    codes = SET_CODES[: 3 if OF_ONE[task] == 3 else 4]
    open_evening(store, words=WORDS[:1], codes=codes, pause_s=pause_s, may_go_back=False)
    with store.write() as db:
        db.execute(update(PanelSession).values(kind=kind))
        if task not in ASKS_A_NOTE:
            for line in db.scalars(select(SessionDescriptor)):
                db.delete(line)
        for glass in db.scalars(select(Serving)):
            glass.warm_up = False
            glass.flight = 1 + (glass.position or 0) // OF_ONE[task]


def kept_places(store: Store, person: str = "A1") -> dict[str, float]:
    """Return what is on disk of one person's sets, by code."""
    asked = (
        select(Serving.code, Answer.value)
        .join(Answer, Answer.serving_id == Serving.id)
        .join(Person, Person.id == Serving.person_id)
        .where(Person.code == person)
    )
    with store.read() as db:
        return {code: value for code, value in db.execute(asked)}
