"""Glasses passed and held at the three booths: by keys, by lines, by touch."""

from __future__ import annotations

import pytest
from textual.widgets import Static

from panel.booth.app import BoothApp
from panel.booth.between import BetweenScreen
from panel.booth.hands import press, said, sign_in_by_keys, until
from panel.booth.passing import PassScreen
from panel.kinds import Fault
from panel.store.engine import Store
from tests.booth.by_lines import sit
from tests.houses.at_the_booth import CODES, NAME, PINS, Wall
from tests.houses.to_pass import TOLD, open_to_pass, verdicts
from tests.serve.browsing import seated, served_for

FIRST, SECOND, THIRD, FOURTH, _ = CODES


@pytest.fixture
def wall() -> Wall:
    return Wall()


@pytest.fixture
def morning(store: Store) -> Store:
    open_to_pass(store)
    return store


async def take(app: BoothApp, code: str) -> None:
    """Take a glass up, and wait until its screen stands."""
    press(app, *code, "enter")
    await until(app, lambda: isinstance(app.screen, PassScreen) and app.screen.ready)


async def down(app: BoothApp) -> None:
    """Wait until the glass is put down."""
    await until(app, lambda: isinstance(app.screen, BetweenScreen) and app.screen.ready)


async def test_a_mark_that_is_kept_late_does_not_cover_why_a_key_did_nothing(
    morning: Store, wall: Wall
) -> None:
    app = BoothApp(morning, session=NAME, clock=wall)
    async with app.run_test(size=(80, 24)):
        await sign_in_by_keys(app, "A1", PINS["A1"])
        await take(app, FIRST)
        assert isinstance(app.screen, PassScreen)
        app.screen.action_name_fault(2)
        app.screen.action_pass_it()
        assert app.keeper.under_way()
        await until(app, lambda: not app.keeper.under_way())
        assert "take that off to pass it" in said(app)


async def test_a_glass_takes_five_keys_and_no_wait(morning: Store, wall: Wall) -> None:
    app = BoothApp(morning, session=NAME, clock=wall)
    async with app.run_test(size=(80, 24)):
        await sign_in_by_keys(app, "A1", PINS["A1"])
        await take(app, FIRST)
        assert TOLD[:30] in str(app.screen.query_one("#told", Static).render())
        press(app, "p")
        await down(app)
        await take(app, SECOND)
        press(app, "1", "3", "1", "4", "enter")
        await down(app)
        assert said(app) == f"{SECOND} is held: rubber, solvent."
        await take(app, THIRD)
        press(app, "enter")
        await until(app, lambda: "name the fault first" in said(app))
        press(app, "2", "p")
        await until(app, lambda: "take that off to pass it" in said(app))
        press(app, "2", "p")
        await down(app)
        press(app, *FOURTH, "enter")
        await until(app, lambda: "The pause still runs" in said(app))
        assert isinstance(app.screen, BetweenScreen)
        assert "Air: the next glass in 10:00" in str(app.screen.pause.render())
        wall.pass_s(600)
        await take(app, FOURTH)
        press(app, "p")
        await down(app)
    told = verdicts(morning, "A1")
    assert told[SECOND] == {Fault.RUBBER, Fault.SOLVENT}
    assert [told[code] for code in (FIRST, THIRD, FOURTH)] == [set(), set(), set()]


def test_the_same_by_lines(morning: Store, wall: Wall) -> None:
    hand, _, code = sit(morning, wall, FIRST, "p", SECOND, "9", "1 4", THIRD, "?", "p", FOURTH)
    assert code == 0
    assert TOLD in hand.said
    assert f"{FIRST} is passed." in hand.said
    assert f"{SECOND} is held: sulphur, solvent." in hand.said
    assert "Attention: Faults have the numbers 1 to 7." in hand.said
    assert verdicts(morning, "A1")[SECOND] == {Fault.SULPHUR, Fault.SOLVENT}
    assert verdicts(morning, "A1")[FOURTH] is None


@pytest.mark.slow
def test_the_same_by_touch(morning: Store, wall: Wall) -> None:
    with seated(served_for(morning, wall)) as browser:
        browser.deed("take", code=FIRST, sure=FIRST)
        assert f"Pass {FIRST}" in " ".join(browser.look().words)
        assert browser.deed("down").said == f"{FIRST} is passed."
        browser.deed("take", code=SECOND, sure=SECOND)
        browser.look()
        page = browser.deed("hold", fault="soapy")
        assert page.said.endswith(f"{SECOND} is held: soapy.")
        assert TOLD in " ".join(page.words)
        browser.deed("take", code=THIRD, sure=THIRD)
        browser.look()
        browser.deed("fault", fault="rubber:on")
        page = browser.look()
        assert f"Hold {THIRD}: rubber" in " ".join(page.words)
        assert browser.deed("down").said == f"{THIRD} is held: rubber."
    assert verdicts(morning, "A1")[SECOND] == {Fault.SOAPY}
