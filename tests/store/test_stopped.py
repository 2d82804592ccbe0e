"""What booths are told of a draw that is stopped: numbers of their own glasses, and no more."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import pytest
from sqlalchemy import text

from panel.errors import DatabaseReadOnly, WrongGlass
from panel.kinds import CallReason, SessionStatus
from panel.records.people import set_pin
from panel.session.stages import close_session
from panel.session.stopping import lift_stop
from panel.store import booth_queries as booth
from panel.store import stopped_view
from panel.store.booth_role import make_booth_role
from panel.store.booth_tray import Seat
from panel.store.booth_user import show_token
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from panel.store.shape_check import strange_shapes
from tests.conftest import FIXED_NOW, server_database
from tests.houses.small import add_house

PINS = {"M1": "8642", "A2": "2486"}


def furnish(store: Store) -> Store:
    with store.write() as db:
        add_house(db, FIXED_NOW, SessionStatus.OPEN)
    for code, pin in PINS.items():
        with store.write() as db:
            set_pin(db, code, pin, now=FIXED_NOW, by="M1")
    return store


@pytest.fixture
def server(postgres_server: str) -> Iterator[tuple[Store, Store]]:
    """Give an open evening on a server: its owner, and the booths' own user."""
    with server_database(postgres_server) as url:
        owner = furnish(make_database(url))
        booths = open_store(make_booth_role(owner, "booth_that_stops").url)
        yield owner, booths
        booths.close()
        with owner.write() as db:
            db.execute(text("DROP OWNED BY booth_that_stops"))
            db.execute(text("DROP ROLE booth_that_stops"))
        owner.close()


def sit(booths: Store, code: str) -> Seat:
    return booth.sign_in(booths, "EV1", code, PINS[code], now=FIXED_NOW)


def stopped(booths: Store, seat: Seat) -> set[str]:
    with booths.read() as db:
        return {each.code for each in booth.tray(db, seat).glasses if each.stopped}


def told(booths: Store, token: str) -> int:
    """Return how many rows the view gives at a shell, with a seat's token shown."""
    with booths.read() as db:
        show_token(db, token)
        return len(db.execute(text("SELECT * FROM stopped_glass")).all())


def test_a_booth_without_the_key_stops_the_draw_on_another_tray(
    server: tuple[Store, Store], fixed_now: datetime
) -> None:
    owner, booths = server
    ours, theirs = sit(booths, "A2"), sit(booths, "M1")
    with booths.write() as db:
        glass = booth.take_glass(db, ours, "351", fixed_now)
    with booths.write() as db:
        booth.call_lead(db, ours, CallReason.NOT_SAFE, fixed_now, glass)
    assert stopped(booths, ours) == stopped(booths, theirs) == {"351"}
    assert (told(booths, ours.token), told(booths, theirs.token), told(booths, "")) == (1, 1, 0)
    with booths.write() as db, pytest.raises(WrongGlass, match="may not be safe"):
        booth.take_glass(db, theirs, "351", fixed_now)
    with pytest.raises(DatabaseReadOnly), booths.read() as db:
        db.execute(text("SELECT * FROM draw_stop"))
    with owner.write() as db:
        lift_stop(db, "EV1", "M1", "351", now=fixed_now, by="M1", reason="only the glass")
    assert not stopped(booths, ours) | stopped(booths, theirs)
    with owner.write() as db:
        close_session(db, "EV1", now=fixed_now, by="M1")


@pytest.mark.slow
def test_the_check_tells_a_view_that_is_gone_or_another(
    store: Store, server: tuple[Store, Store]
) -> None:
    owner, _ = server
    leaks = "SELECT id AS serving_id FROM serving"
    rights_lost = "the booths' views may not read stopped_glass"
    for each, besides in ((store, []), (owner, [rights_lost])):
        with each.read() as db:
            assert strange_shapes(db.connection()) == []
        with each.write() as db:
            db.execute(text(f"DROP VIEW {stopped_view.NAME}"))
        with each.read() as db:
            gone = strange_shapes(db.connection())
            assert gone == ["the view stopped_glass is not there"]
        with each.write() as db:
            db.execute(text(f"CREATE VIEW {stopped_view.NAME} AS {leaks}"))
        with each.read() as db:
            another = strange_shapes(db.connection())
            said = "the view stopped_glass is not the one of this program"
            assert another[0].startswith(said)
            assert another[1:] == [*besides]
