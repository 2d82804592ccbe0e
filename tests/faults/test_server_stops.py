"""A PostgreSQL server stopped in the midst of a glass and started again, at every kind of booth.

What was not kept is said to be so, in a sentence; it is kept once the server is back, and once.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing

import pytest
from sqlalchemy import text as text_of

from panel.booth.glass import GlassScreen
from panel.booth.line_scale import Keeping
from panel.errors import NoDatabase
from panel.serve.app import OUT_OF_REACH
from panel.serve.doing import STAYS
from panel.store.booth_role import make_booth_role
from panel.store.engine import Store
from panel.store.faults import in_words
from panel.store.opening import make_database, open_store
from panel.store.sessions import ScoreChange
from tests.booth.by_lines import sit
from tests.booth.sitting import booth, glass, keys, said, sign_in_by_keys, until
from tests.houses.at_the_booth import PINS, Wall, kept_scores, open_evening
from tests.serve.browsing import seated, served_for
from tests.servers import OwnServer, own_server

ROLE = "booth_of_stops"
ENDS = text_of("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = :role")
GONE = "no database server answers there"


@pytest.fixture(scope="module")
def server() -> Iterator[OwnServer]:
    with own_server(hurried=True) as one:
        yield one


@pytest.fixture(scope="module")
def owner(server: OwnServer) -> Iterator[Store]:
    """Give an open evening, one person of which sits at each kind of booth."""
    with closing(make_database(server.url)) as store:
        open_evening(store)
        yield store


@pytest.fixture(scope="module")
def booths(owner: Store) -> Iterator[Store]:
    """Give the way the booths' own user reaches it."""
    made = make_booth_role(owner, ROLE, new_password=True)
    with closing(open_store(made.url)) as store:
        yield store


def changes(owner: Store) -> int:
    with owner.read() as db:
        return db.query(ScoreChange).count()


@pytest.mark.slow
async def test_at_a_terminal(server: OwnServer, owner: Store, booths: Store, wall: Wall) -> None:
    before = changes(owner)
    async with booth(booths, wall) as app:
        await sign_in_by_keys(app, "A1", PINS["A1"])
        await keys(app, *"538", "enter")
        await until(app, lambda: isinstance(app.screen, GlassScreen) and app.screen.ready)
        await keys(app, *"62", "down")
        server.stop()
        await keys(app, *"10", "down")
        assert GONE in said(app)
        assert glass(app).scales[1].keeping is Keeping.FAILED
        await keys(app, "r")
        assert GONE in said(app)
        server.start()
        await keys(app, "r")
        assert glass(app).scales[1].keeping is Keeping.KEPT
        await keys(app, *"20", "down")
    kept = {"orchard fruit": 62, "dried fruit": 10, "cut grass": 20}
    assert kept_scores(owner, "A1", "538") == kept
    assert changes(owner) == before + 3


@pytest.mark.slow
def test_at_a_plain_booth(server: OwnServer, owner: Store, booths: Store, wall: Wall) -> None:
    before = changes(owner)

    def stopped(answer: str) -> str:
        server.stop()
        return answer

    def started(answer: str) -> str:
        server.start()
        return answer

    hand, _, code = sit(
        *(booths, wall, "538", "62", lambda: stopped("10"), "20", lambda: started("30"), "q"),
        who="A2",
    )
    assert code == 0
    assert "Not kept yet: 538 dried fruit 10." in hand.said
    assert GONE in hand.text
    assert list(kept_scores(owner, "A2", "538").values()) == [62, 10, 20, 30]
    assert changes(owner) == before + 4


def test_in_a_browser(server: OwnServer, owner: Store, booths: Store, wall: Wall) -> None:
    before = changes(owner)
    with seated(served_for(booths, wall), "A3") as browser:
        browser.deed("take", code="538", sure="538")
        browser.deed("scores", line_1="62")
        form = {**browser.look().forms["scores"], "line-2": "10"}
        server.stop()
        page = browser.post("/deed", form)
        assert (browser.page.status_code, page.said) == (503, f"! {OUT_OF_REACH} {STAYS}")
        assert browser.look().said == f"! {OUT_OF_REACH}"
        server.start()
        for _ in range(2):
            browser.post("/deed", form)
            assert browser.page.status_code == 200
    assert kept_scores(owner, "A3", "538") == {"orchard fruit": 62, "dried fruit": 10}
    assert changes(owner) == before + 2


def cut_in_the_midst(owner: Store, booths: Store) -> None:
    """End the connection of a transaction from outside, and go on with it."""
    with booths.write() as db:
        db.execute(text_of("SELECT 1"))
        with owner.write() as other:
            other.execute(ENDS, {"role": ROLE})
        db.execute(text_of("SELECT 1"))


def test_a_line_that_is_cut_in_the_midst_is_a_sentence(owner: Store, booths: Store) -> None:
    with pytest.raises(NoDatabase, match=GONE):
        cut_in_the_midst(owner, booths)
    with booths.read() as db:
        assert db.scalar(text_of("SELECT 1")) == 1


@pytest.mark.parametrize(
    "said", ["the database system is starting up", "connection timeout expired"]
)
def test_what_a_driver_says_of_a_server_is_put_into_words(owner: Store, said: str) -> None:
    found = in_words(f"connection failed: FATAL: {said}", owner.url)
    assert isinstance(found, NoDatabase)
    assert said not in str(found)
