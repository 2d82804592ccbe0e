from __future__ import annotations

import pytest
from sqlalchemy import select, update
from textual.widgets import Static

from panel.booth.between import BetweenScreen, BigCode
from panel.booth.glass import GlassScreen
from panel.booth.hands import until
from panel.kinds import ServingStatus
from panel.session.marks import mark_glass
from panel.store.engine import Store
from panel.store.sessions import PanelSession, Serving
from tests.booth.sitting import (
    BoothApp,
    drained,
    glass,
    keys,
    rows,
    said,
    seated,
    settled,
    text,
    to_between,
    with_glass,
)
from tests.houses.at_the_booth import NAME, Wall, open_evening


def pause_words(app: BoothApp) -> str:
    return str(app.screen.query_one("#pause", Static).content)


async def test_the_code_typed_stands_large_and_is_judged_at_once(
    evening: Store, wall: Wall
) -> None:
    async with seated(evening, wall) as app:
        await keys(app, *"53")
        assert app.screen.query_one(BigCode).code == "53"
        assert said(app) == ""
        await keys(app, "8")
        assert said(app) == "538 is on your tray. Enter takes it up."
        assert sum(row.count("█") for row in rows(app)) > 60


@pytest.mark.slow
async def test_a_code_that_is_not_on_the_tray_is_said_at_once_and_not_taken(
    evening: Store, wall: Wall
) -> None:
    async with seated(evening, wall) as app:
        await keys(app, *"999")
        assert said(app) == "! 999 is not on your tray. Look at the glass again."
        await keys(app, "enter")
        assert isinstance(app.screen, BetweenScreen)
        await keys(app, "backspace", "backspace", "backspace", *"538", "enter")
        assert glass(app).glass.code == "538"


@pytest.mark.slow
async def test_out_of_order_is_said_at_once_and_the_real_order_is_recorded(
    evening: Store, wall: Wall
) -> None:
    async with seated(evening, wall) as app:
        await keys(app, *"417")
        assert "538 comes before 417 on your tray" in said(app)
        await keys(app, "enter")
        assert glass(app).glass.code == "417"
    with evening.read() as db:
        taken = db.scalars(select(Serving).where(Serving.taken_order == 1)).one()
        assert taken.code == "417"


async def test_the_next_code_is_told_only_when_asked_for(evening: Store, wall: Wall) -> None:
    async with seated(evening, wall) as app:
        assert "538" not in text(app)
        await keys(app, "w")
        assert said(app) == "Next on your tray: 538 (the warm-up glass)."


async def test_a_new_code_begins_after_three_digits(evening: Store, wall: Wall) -> None:
    async with seated(evening, wall) as app:
        await keys(app, *"4175")
        assert app.screen.query_one(BigCode).code == "5"
        await keys(app, "enter")
        assert "three digits" in said(app)


@pytest.mark.slow
async def test_the_pause_holds_after_every_glass_and_survives_a_restart(
    evening: Store, wall: Wall
) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, "p", "y")
        await to_between(app)
        assert said(app) == "538 is put down, with everything kept."
        assert pause_words(app) == "Pause: the next glass in 1:00"
        await keys(app, *"417", "enter")
        assert said(app) == "! The pause still runs: wait until it is over."
    wall.pass_s(35)
    async with seated(evening, wall) as app:
        assert pause_words(app) == "Pause: the next glass in 0:25"
        await keys(app, *"417", "enter")
        assert isinstance(app.screen, BetweenScreen)
        wall.pass_s(25)
        app.screen.tick()
        await drained(app)
        assert pause_words(app) == "The pause is over."
        assert said(app) == "417 is on your tray. Enter takes it up."
        await keys(app, "enter")
        assert glass(app).glass.code == "417"


@pytest.mark.slow
async def test_going_back_to_a_finished_glass_keeps_its_scores(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62", "p", "y")
        await to_between(app)
        await keys(app, "b")
        assert said(app) == "Type the code of the glass to go back to: 538."
        await keys(app, *"538")
        assert said(app) == "538 is finished. Enter takes it up again."
        await keys(app, "enter")
        assert glass(app).scales[0].value == 62


@pytest.mark.slow
async def test_a_session_that_does_not_go_back_says_so_and_asks_before_a_glass_is_put_down(
    store: Store, wall: Wall
) -> None:
    open_evening(store, may_go_back=False, words=(("oak", ""),))
    async with with_glass(store, wall) as app:
        await keys(app, *"7", "p")
        assert "This session does not go back to a glass. Put 538 down?" in text(app)
        await keys(app, "y")
        await to_between(app)
        await keys(app, *"538", "enter")
        assert "does not go back" in said(app)
        assert isinstance(app.screen, BetweenScreen)


@pytest.mark.slow
async def test_flights_are_told_and_the_last_glass_ends_it(store: Store, wall: Wall) -> None:
    open_evening(store, codes=("538", "417", "382"), pause_s=0, glasses_in_flight=1)
    async with with_glass(store, wall) as app:
        assert "Glass 1 of 2, flight 1 of 2" in text(app)
        for code in ("417", "382"):
            await keys(app, "p", "y")
            await to_between(app)
            assert "done" in text(app)
            await keys(app, *code, "enter")
        await keys(app, "p", "y")
        await to_between(app)
        assert "All your glasses are done. Thank you." in text(app)
        assert "Flight 2 of 2: 1 of 1 glasses done; 3 of 3 in all" in text(app)


@pytest.mark.slow
async def test_a_withdrawn_and_a_freshly_poured_glass_are_told_when_typed(
    evening: Store, wall: Wall
) -> None:
    async with seated(evening, wall) as app:
        with evening.write() as db:
            void = update(Serving).where(Serving.code == "538")
            db.execute(void.values(status=ServingStatus.VOID))
        await keys(app, *"538", "enter")
        assert "The lead took 538 out" in said(app)
        assert isinstance(app.screen, BetweenScreen)
        await keys(app, *"417")
        assert said(app) == "417 is on your tray. Enter takes it up."
        await keys(app, "enter")
        assert isinstance(app.screen, GlassScreen)


@pytest.mark.slow
async def test_a_session_that_was_closed_in_the_pause_is_said(evening: Store, wall: Wall) -> None:
    async with seated(evening, wall) as app:
        with evening.write() as db:
            db.execute(update(PanelSession).values(status="closed"))
        await keys(app, *"538", "enter")
        assert "evening-12 was closed" in said(app)
        with evening.write() as db:
            db.execute(update(PanelSession).values(status="open"))
        await keys(app, "enter")
        assert glass(app).glass.code == "538"


async def test_a_glass_poured_again_is_told_without_a_key(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, *"62", "p", "y")
        await to_between(app)
        with evening.write() as db:
            mark_glass(db, NAME, "A1", "538", ServingStatus.RE_POURED, now=wall.now, by="lead")
        app.look_again()
        await until(app, lambda: "poured again" in said(app))
        assert said(app) == "! 538 was poured again. Take the new glass and type its code."
        app.look_again()
        await settled(app)
        assert "poured again" in said(app)
