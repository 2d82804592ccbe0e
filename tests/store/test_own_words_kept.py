"""Own words in what is kept about a person, and after an erasure."""

from __future__ import annotations

import json
from collections.abc import Collection
from datetime import date, datetime

import pytest
from sqlalchemy import func, select, text

from panel.frames import own_words_frame
from panel.kinds import Role
from panel.records.erase import Erasure, erase_person
from panel.session.own_words import confirm_word, session_words
from panel.session.stages import reveal_session
from panel.store.engine import Store
from panel.store.examine import examine
from panel.store.log_check import broken_link
from panel.store.own_words import OwnScore, OwnScoreChange, OwnWord
from panel.store.people import PersonRole
from panel.store.person_record import person_record
from panel.store.tables import METADATA
from panel.store.word_matches import OwnWordMatch
from tests.conftest import FIXED_NOW
from tests.houses.own_words_planned import NAME, hold_own_evening
from tests.houses.to_plan import furnish

TODAY = date(2026, 3, 20)


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    with store.write() as db:
        furnish(db)
    hold_own_evening(store, fixed_now)
    with store.write() as db:
        reveal_session(db, NAME, now=fixed_now, by="L1")
    with store.write() as db:
        confirm_word(db, NAME, "A1", "tar", "bonfire", by="L1", now=fixed_now)
    return store


def erase(store: Store, code: str, *, keep_scores: bool) -> Erasure:
    with store.write() as db:
        return erase_person(db, code, keep_scores=keep_scores, now=FIXED_NOW, by="L1")


def everything(store: Store, but: Collection[str] = ()) -> str:
    with store.read() as db:
        return "\n".join(
            str(db.execute(text(f"SELECT * FROM {table}")).all())
            for table in METADATA.tables
            if table not in but
        )


@pytest.mark.slow
def test_the_record_of_a_person_has_their_words_and_scores(house: Store) -> None:
    with house.read() as db:
        record = json.loads(json.dumps(person_record(db, "A2"), default=str))
    [evening] = record["sessions"]
    assert evening["own_words"] == ["Tar", "a=b:c"]
    first = evening["glasses"][0]
    assert set(first["own_scores"]) == {"Tar", "a=b:c"}
    assert {change["word"] for change in first["own_changes"]} == {"Tar", "a=b:c"}
    assert "wet slate" not in json.dumps(record)


def test_scores_stay_under_numbers_instead_of_words(house: Store) -> None:
    with house.write() as db:
        word = db.scalars(select(OwnWord).where(OwnWord.word == "tar")).one()
        word.word = "word 1"  # what a number would be called, at another place
    with house.read() as db:
        before = own_words_frame(db, NAME)
    done = erase(house, "A1", keep_scores=True)
    assert (done.own_words_cleared, done.scores_kept, done.scores_deleted) == (3, 27, 0)
    assert "[/x]" not in everything(house)
    assert "'A1'" not in everything(house)
    # A descriptor's name stays, and the edits that began it.
    assert "wet slate" not in everything(house, but=("descriptor", "list_edit"))
    with house.read() as db:
        lines = [one for one in session_words(db, NAME, by="L1") if one.assessor == done.pseudonym]
        after = own_words_frame(db, NAME)
        assert broken_link(db) is None
    assert [(one.word, one.descriptor) for one in lines] == [
        ("word 1", None),
        ("word 2", "bonfire"),
        ("word 3", None),
    ]
    numbers = ["sample", "replicate", "score", "status", "kind"]
    assert after[numbers].equals(before[numbers])


@pytest.mark.slow
def test_all_of_it_goes_where_scores_do(house: Store) -> None:
    done = erase(house, "A1", keep_scores=False)
    assert (done.own_words_cleared, done.scores_deleted) == (3, 27)
    with house.read() as db:
        assert sorted(db.scalars(select(OwnWord.word))) == ["Tar", "a=b:c", "peel"]
        assert db.scalar(select(func.count()).select_from(OwnScore)) == 27
        assert db.scalar(select(func.count()).select_from(OwnScoreChange)) == 27
        assert db.scalars(select(OwnWordMatch)).all() == []


@pytest.mark.slow
def test_who_confirmed_is_a_pseudonym_after_their_erasure(house: Store) -> None:
    with house.write() as db:
        person = db.scalars(select(OwnWord.person_id).where(OwnWord.word == "peel")).one()
        db.add(PersonRole(person_id=person, role=Role.LEAD))
    name = erase(house, "L1", keep_scores=True).pseudonym
    with house.read() as db:
        assert db.scalars(select(OwnWordMatch.confirmed_by)).all() == [name]


@pytest.mark.slow
def test_a_word_that_names_somebody_else_speaks_of_the_pseudonym(house: Store) -> None:
    with house.write() as db:
        db.scalars(select(OwnWord).where(OwnWord.word == "peel")).one().word = "soap of A2"
    name = erase(house, "A2", keep_scores=True).pseudonym
    with house.read() as db:
        assert f"soap of {name}" in db.scalars(select(OwnWord.word)).all()


@pytest.mark.slow
def test_the_check_counts_them(house: Store) -> None:
    counts = examine(house).counts
    assert (counts["own_word"], counts["own_score"]) == (6, 54)
