"""Sets on PostgreSQL, answered by the booths' own user, who reads neither key nor plan."""

from __future__ import annotations

from sqlalchemy import text

from panel.kinds import SessionKind
from panel.session.sets import set_of
from panel.store import booth_queries as booth
from panel.store.booth_role import make_booth_role
from panel.store.engine import Store
from panel.store.opening import open_store
from tests.houses.at_the_booth import NAME, PINS, START
from tests.houses.sets_at_the_booth import kept_places, open_sets


def test_the_booths_own_user_answers_a_set(postgres_store: Store) -> None:
    open_sets(postgres_store, SessionKind.STRONGER)
    booths = open_store(make_booth_role(postgres_store, "panel_booth_sets").url)
    try:
        seat = booth.sign_in(booths, NAME, "A1", PINS["A1"], now=START)
        with booths.read() as db:
            first, second = set_of(booth.tray(db, seat), 1).glasses
        with booths.write() as db:
            booth.answer_set(db, seat, 1, {first.serving_id: 2, second.serving_id: 1}, START)
        assert kept_places(postgres_store) == {first.code: 2.0, second.code: 1.0}
        with postgres_store.read() as db:
            asked = text("SELECT body_json FROM log_entry ORDER BY id DESC LIMIT 1")
            assert '"set answered"' in str(db.scalar(asked))
    finally:
        booths.close()
        with postgres_store.write() as db:
            db.execute(text("DROP OWNED BY panel_booth_sets"))
            db.execute(text("DROP ROLE panel_booth_sets"))
