"""An open evening of own words: three trays, no descriptor of the lexicon on the sheet."""

from __future__ import annotations

from sqlalchemy import select, update

from panel.kinds import SessionKind
from panel.store.engine import Store
from panel.store.own_words import OwnScore, OwnWord
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving
from tests.houses.at_the_booth import open_evening


def open_own_words(
    store: Store, *, most: int | None = 8, may_go_back: bool = True, glasses_in_flight: int = 8
) -> None:
    """Open the evening of the other booth tests, scored in own words."""
    open_evening(
        store, words=(), may_go_back=may_go_back, glasses_in_flight=glasses_in_flight, pause_s=0
    )
    with store.write() as db:
        db.execute(update(PanelSession).values(kind=SessionKind.OWN_WORDS, most_words=most))


def named(store: Store, person: str) -> list[str]:
    """Return a person's words as they are on disk, in their order."""
    asked = select(OwnWord.word).join(Person).where(Person.code == person).order_by(OwnWord.place)
    with store.read() as db:
        return list(db.scalars(asked))


def own_scores(store: Store, person: str, code: str) -> dict[str, float]:
    """Return what is on disk for one glass, by word."""
    asked = (
        select(OwnWord.word, OwnScore.value)
        .join(OwnScore, OwnScore.own_word_id == OwnWord.id)
        .join(Serving, Serving.id == OwnScore.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .where(Person.code == person, Serving.code == code)
    )
    with store.read() as db:
        return {word: value for word, value in db.execute(asked)}
