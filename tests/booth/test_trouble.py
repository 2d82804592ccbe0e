"""What goes wrong while somebody scores: said in words, and nothing is lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text as text_of
from sqlalchemy import update

from panel.booth.app import BoothApp
from panel.booth.between import BetweenScreen
from panel.booth.dialogs import Ask
from panel.booth.line_scale import Keeping
from panel.booth.sign_in import SignInScreen
from panel.booth.taken import ChangedScreen, TakenScreen
from panel.errors import TablesChanged
from panel.kinds import ServingStatus, SessionStatus
from panel.seat.jobs import KeepNote, MarkFault
from panel.seat.said import ALL_KEPT
from panel.store import booth_queries
from panel.store.engine import Store, connect
from panel.store.sessions import Serving
from panel.store.upgrading import migrate
from tests.booth.sitting import (
    booth,
    drained,
    glass,
    keys,
    pragma,
    said,
    set_stage,
    settled,
    sign_in_by_keys,
    text,
    to_between,
    until,
    with_glass,
)
from tests.houses.at_the_booth import NAME, PINS, Wall, kept_scores
from tests.store.test_migrations import with_next


def keeping(app: BoothApp, row: int = 0) -> Keeping:
    return glass(app).scales[row].keeping


async def test_a_second_booth_takes_over_and_the_first_says_so(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62")
        booth_queries.sign_in(evening, NAME, "A1", PINS["A1"], now=wall(), place="window")
        await keys(app, "down", *"10")
        await until(app, lambda: isinstance(app.screen, TakenScreen))
        await drained(app)
        assert "A1 signed in at another booth (window) at 18:00" in text(app)
        assert "538 dried fruit 10" in text(app)
        assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


@pytest.mark.slow
@pytest.mark.parametrize(("answer", "kept"), [("y", {"dried fruit": 10}), ("n", {})])
async def test_what_a_fenced_booth_could_not_keep_is_offered_when_it_signs_in_again(
    evening: Store, wall: Wall, answer: str, kept: dict[str, float]
) -> None:
    async with with_glass(evening, wall) as app:
        booth_queries.sign_in(evening, NAME, "A1", PINS["A1"], now=wall())
        await keys(app, "down", *"10")
        await until(app, lambda: isinstance(app.screen, TakenScreen))
        await drained(app)
        await keys(app, "enter")
        await until(app, lambda: isinstance(app.screen, SignInScreen))
        await sign_in_leaving_questions_open(app)
        assert isinstance(app.screen, Ask)
        assert "538 dried fruit 10" in app.screen.question
        await keys(app, answer)
        assert kept_scores(evening, "A1", "538") == kept
        assert glass(app).scales[1].value == kept.get("dried fruit")


def upgrade_between(evening: Store, folder: Path) -> None:
    """Bring the tables to a later revision while nobody may save, and open the session again."""
    set_stage(evening, SessionStatus.CLOSED)
    migrate(evening.url, versions=with_next(folder / "v"))
    set_stage(evening, SessionStatus.OPEN)


@pytest.mark.slow
async def test_a_booth_that_runs_through_an_upgrade_stops_in_words(
    evening: Store, wall: Wall, tmp_path: Path
) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62")
        upgrade_between(evening, tmp_path)
        await keys(app, "down", *"10")
        await until(app, lambda: isinstance(app.screen, ChangedScreen))
        await drained(app)
        shown = " ".join(text(app).split())
        assert "brought to a newer form while this booth was open" in shown
        assert "What was kept is kept. Close this booth and start it anew." in shown
        assert "538 dried fruit 10" in shown
        app.simulate_key("enter")
        await until(app, lambda: app.return_code == 1)
    assert isinstance(app.fault, TablesChanged)
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


@pytest.mark.slow
async def test_marks_and_notes_that_were_not_kept_are_told_too(
    evening: Store, wall: Wall, tmp_path: Path
) -> None:
    async with with_glass(evening, wall) as app:
        upgrade_between(evening, tmp_path)
        app.keeper.add(MarkFault(app.tray_now.glasses[0].serving_id, "rubber", on=True))
        app.keep(KeepNote(app.tray_now.glasses[0].serving_id, "a tyre, [/x]"))
        await until(app, lambda: isinstance(app.screen, ChangedScreen))
        await drained(app)
        assert "538 fault mark rubber" in text(app)
        assert "538 note: a tyre, [/x]" in text(app)


async def test_nobody_signs_in_at_a_booth_that_ran_through_an_upgrade(
    evening: Store, wall: Wall, tmp_path: Path
) -> None:
    async with booth(evening, wall) as app:
        upgrade_between(evening, tmp_path)
        app.sign_in("A1", PINS["A1"])
        await drained(app)
        await until(app, lambda: "start it anew" in text(app))
        assert isinstance(app.screen, SignInScreen)


async def sign_in_leaving_questions_open(app: BoothApp) -> None:
    await drained(app)
    for key in (*"A1", "enter", *PINS["A1"], "enter"):
        app.simulate_key(key)
    await until(app, lambda: isinstance(app.screen, Ask))
    await drained(app)


async def test_another_person_does_not_inherit_what_was_not_kept(
    evening: Store, wall: Wall
) -> None:
    async with with_glass(evening, wall) as app:
        booth_queries.sign_in(evening, NAME, "A1", PINS["A1"], now=wall())
        await keys(app, *"10")
        await until(app, lambda: isinstance(app.screen, TakenScreen))
        await drained(app)
        await keys(app, "enter")
        await sign_in_by_keys(app, "A2", PINS["A2"])
        await settled(app)
        assert app.keeper.idle
        assert isinstance(app.screen, BetweenScreen)
    assert kept_scores(evening, "A1", "538") == {}
    assert kept_scores(evening, "A2", "538") == {}


@pytest.mark.slow
async def test_a_session_closed_while_scoring_keeps_the_value_on_the_screen(
    evening: Store, wall: Wall
) -> None:
    async with with_glass(evening, wall) as app:
        set_stage(evening, SessionStatus.CLOSED)
        await keys(app, *"62")
        assert "evening-12 was closed" in said(app)
        assert "not kept yet" in text(app)
        assert glass(app).scales[0].value == 62
        await keys(app, "p")
        assert "Not everything is kept yet" in said(app)
        set_stage(evening, SessionStatus.OPEN)
        await keys(app, "r")
        assert keeping(app) is Keeping.KEPT
        assert said(app) == ALL_KEPT
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


@pytest.mark.slow
async def test_a_database_that_may_only_be_read(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        with pragma(evening, "query_only=ON", "query_only=OFF"):
            await keys(app, *"62", "down", *"10")
            assert "may only be read" in said(app)
            assert (keeping(app, 0), keeping(app, 1)) == (Keeping.FAILED, Keeping.FAILED)
            await keys(app, "up", "right")  # goes on meanwhile
            await keys(app, "r")
            assert "may only be read" in said(app)
        await keys(app, "r")
        assert keeping(app) is Keeping.KEPT
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 63, "dried fruit": 10}


async def test_a_database_that_another_program_holds(evening: Store, wall: Wall) -> None:
    other = connect(evening.url)
    async with with_glass(evening, wall) as app:
        with pragma(evening, "busy_timeout=20", "busy_timeout=15000"), other.write() as db:
            db.execute(text_of("SELECT 1"))  # from here on it holds the write lock
            await keys(app, *"62")
            assert "another program holds it" in said(app)
            assert keeping(app) is Keeping.FAILED
        await keys(app, "r")
        assert keeping(app) is Keeping.KEPT
    other.close()


@pytest.mark.slow
async def test_a_full_disk(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        with pragma(evening, "max_page_count=1", "max_page_count=1000000"):
            for _ in range(60):  # a few saves still fit into the pages there are
                await keys(app, "right", "down", "up")
                if app.keeper.trouble is not None:
                    break
            assert "the disk is full" in said(app)
            assert keeping(app) is Keeping.FAILED
            value = glass(app).scales[0].value
        await keys(app, "r")
        assert keeping(app) is Keeping.KEPT
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": value}


@pytest.mark.slow
async def test_leaving_with_something_not_kept_asks_first(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        with pragma(evening, "query_only=ON", "query_only=OFF"):
            await keys(app, *"62")
            await keys(app, "l")
            assert isinstance(app.screen, Ask)
            question = "Not kept yet: 538 orchard fruit 62. Leave, and lose that?"
            assert app.screen.question == question
            await keys(app, "n")
            assert glass(app).scales[0].value == 62
            await keys(app, "ctrl+q")
            app.simulate_key("y")
            await until(app, lambda: app.return_code is not None)
    assert kept_scores(evening, "A1", "538") == {}


@pytest.mark.slow
async def test_quitting_keeps_first_what_is_on_its_way(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        app.simulate_key("6")
        app.simulate_key("ctrl+q")
        await until(app, lambda: app.return_code is not None)
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 6}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("status", "words"),
    [
        (ServingStatus.VOID, "The lead took 538 out"),
        (ServingStatus.RE_POURED, "538 is being poured again"),
    ],
)
async def test_a_glass_that_the_lead_takes_out_is_said_at_the_next_action(
    evening: Store, wall: Wall, status: ServingStatus, words: str
) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62")
        with evening.write() as db:
            out = update(Serving).where(Serving.id == glass(app).glass.serving_id)
            db.execute(out.values(status=status))
        await keys(app, "down", "5")
        await to_between(app)
        assert words in said(app)
        assert app.keeper.idle
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


async def test_a_suspected_swap_changes_nothing_on_the_screen(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62")
        before = text(app)
        with evening.write() as db:
            db.execute(update(Serving).values(status=ServingStatus.SWAP_SUSPECTED))
        await keys(app, "r")
        assert text(app).replace(ALL_KEPT, "").split() == before.split()


async def test_a_fault_of_our_own_in_a_thread_is_said_and_loses_nothing(
    evening: Store, wall: Wall, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("out of order")

    async with with_glass(evening, wall) as app:
        monkeypatch.setattr(booth_queries, "tray", broken)
        await keys(app, "r")
        assert "A fault of the booth's own" in said(app)
        await keys(app, *"62", "down")
        monkeypatch.undo()
        await keys(app, "r")
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}
