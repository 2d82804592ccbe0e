"""The records out of reach, and a PostgreSQL server behind: what a page says, and what is kept."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import select, text, update

from panel.kinds import ServingStatus, SessionStatus
from panel.serve.served import Served
from panel.store.booth_role import make_booth_role
from panel.store.engine import Store, connect
from panel.store.opening import open_store
from panel.store.sessions import Serving
from tests.booth.sitting import pragma, set_stage
from tests.booth.test_trouble import upgrade_between
from tests.houses.at_the_booth import CODES, Wall, kept_scores, open_evening
from tests.serve.browsing import browser_of, seated, served_for

ROLE = "booth_of_serve"


@pytest.fixture
def served(evening: Store, wall: Wall) -> Served:
    return served_for(evening, wall)


def test_a_database_that_may_only_be_read_is_said_and_the_same_form_goes_later(
    served: Served, evening: Store
) -> None:
    with seated(served) as browser:
        browser.deed("take", code="538", sure="538")
        form = {**browser.look().forms["scores"], "line-1": "40"}
        with pragma(evening, "query_only=ON", "query_only=OFF"):
            page = browser.post("/deed", form)
            assert browser.page.status_code == 503
            assert "may only be read" in page.said
            assert "stays here, and is sent again" in page.said
        browser.post("/deed", form)
        assert browser.page.status_code == 200
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 40}


def test_a_database_that_another_program_holds_and_a_full_disk(
    served: Served, evening: Store
) -> None:
    other = connect(evening.url)
    with seated(served) as browser:
        browser.deed("take", code="538", sure="538")
        form = browser.look().forms["scores"]
        with pragma(evening, "busy_timeout=20", "busy_timeout=15000"), other.write() as db:
            db.execute(text("SELECT 1"))
            assert "another program holds it" in browser.post("/deed", {**form, "line-1": "4"}).said
        with pragma(evening, "max_page_count=1", "max_page_count=1000000"):
            for each in range(80):
                deed = {**form, "line-2": str(each), "number": f"{each:032x}"}
                if "the disk is full" in browser.post("/deed", deed).said:
                    break
            assert browser.page.status_code == 503
        assert browser.post("/deed", deed).body["data-about"] == "glass 538.1"
    other.close()
    assert kept_scores(evening, "A1", "538") == {"dried fruit": each}


def test_a_session_that_was_closed_holds_what_is_sent(served: Served, evening: Store) -> None:
    with seated(served) as browser:
        browser.deed("take", code="538", sure="538")
        form = {**browser.look().forms["scores"], "line-1": "40"}
        set_stage(evening, SessionStatus.CLOSED)
        assert "was closed: ask the lead" in browser.post("/deed", form).said
        assert browser.page.status_code == 503
        set_stage(evening, SessionStatus.OPEN)
        browser.post("/deed", form)
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 40}


@pytest.mark.parametrize(
    ("status", "words"),
    [(ServingStatus.VOID, "The lead took 538 out"), (ServingStatus.RE_POURED, "poured again")],
)
def test_a_glass_that_the_lead_took_out_is_said_at_the_next_deed(
    served: Served, evening: Store, status: ServingStatus, words: str
) -> None:
    with seated(served) as browser:
        browser.deed("take", code="538", sure="538")
        form = browser.look().forms["scores"]
        with evening.write() as db:
            db.execute(update(Serving).where(Serving.code == "538").values(status=status))
        page = browser.post("/deed", {**form, "line-1": "40"})
        assert (browser.page.status_code, page.body["data-about"]) == (410, "between 0")
        assert words in page.said


def test_a_glass_that_was_poured_again_is_told_until_it_is_taken(
    served: Served, evening: Store, wall: Wall
) -> None:
    with seated(served) as browser:
        with evening.write() as db:
            [old] = db.scalars(select(Serving).where(Serving.code == "417", Serving.person_id == 1))
            old.status = ServingStatus.RE_POURED
            again = {"session_id": 1, "person_id": 1, "code": "417", "pouring": 2}
            db.add(Serving(**again, flight=old.flight, position=old.position))
        assert "417 was poured again. Take the new glass" in " ".join(browser.look().words)
        assert browser.deed("take", code="417", sure="417").body["data-about"] == "glass 417.2"
        browser.deed("down")
        assert "was poured again" not in " ".join(browser.look().words)


def test_a_server_that_ran_through_an_upgrade_no_longer_saves(
    served: Served, evening: Store, tmp_path: Path
) -> None:
    with seated(served) as browser:
        form = {**browser.look().forms["take"], "code": "538", "sure": "538"}
        upgrade_between(evening, tmp_path)
        assert "newer form while this booth was open" in browser.post("/deed", form).said
        assert browser.page.status_code == 403


@pytest.fixture
def on_a_server(postgres_store: Store) -> Iterator[tuple[Store, Store]]:
    """Give an open evening on a server, and the way the booths' own user reaches it."""
    open_evening(postgres_store, pause_s=0)
    made = make_booth_role(postgres_store, ROLE, new_password=True)
    with closing(open_store(made.url)) as booths:
        yield postgres_store, booths
    with postgres_store.write() as db:
        db.execute(text(f"DROP OWNED BY {ROLE}"))
        db.execute(text(f"DROP ROLE {ROLE}"))


def test_on_postgresql_the_booths_own_user_is_enough_for_all_of_it(
    on_a_server: tuple[Store, Store], wall: Wall
) -> None:
    owner, booths = on_a_server
    with seated(served_for(booths, wall)) as browser:
        for code in CODES[:2]:
            browser.deed("take", code=code, sure=code)
            browser.deed("scores", line_1="40", line_2="7")
            assert browser.deed("rest").said == "0 set on 8 lines."
            browser.deed("fault", fault="soapy:on")
            browser.deed("note", text="a quay")
            browser.deed("call", reason="water")
            assert browser.deed("down").said == f"{code} is put down, with everything kept."
        cookies = dict(browser.client.cookies)
        with browser_of(served_for(booths, wall)) as again:
            again.client.cookies.update(cookies)
            assert again.look().body["data-about"] == "between 2"
        with seated(served_for(booths, wall)):
            assert "signed in at another booth (a browser)" in browser.look().said
        set_stage(owner, SessionStatus.REVEALED)
        assert browser.look().body["data-over"] == "yes"
    assert len(kept_scores(owner, "A1", CODES[0])) == 10
