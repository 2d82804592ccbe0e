"""The clock of the machine set forwards and back in the midst of a glass, at every kind of booth.

What is kept stays, and nobody waits at a pause for an hour that comes a second time.
"""

from __future__ import annotations

import pytest

from panel.booth.between import BetweenScreen
from panel.booth.glass import GlassScreen
from panel.store.engine import Store
from tests.booth.by_lines import sit
from tests.booth.sitting import booth, glass, keys, sign_in_by_keys, text, to_between, until
from tests.houses.at_the_booth import PINS, Wall, kept_scores, open_evening
from tests.serve.browsing import seated, served_for

DAY_S, HOURS_S = 93_600, -10_800
"""More than a day on, and three hours back: a tablet that had no power, a summer time put right."""
SCORES = {"orchard fruit": 62, "dried fruit": 10, "cut grass": 20}


@pytest.mark.slow
async def test_at_a_terminal(store: Store, wall: Wall) -> None:
    open_evening(store)
    async with booth(store, wall) as app:
        await sign_in_by_keys(app, "A1", PINS["A1"])
        await keys(app, *"538", "enter")
        await until(app, lambda: isinstance(app.screen, GlassScreen) and app.screen.ready)
        await keys(app, *"62", "down")
        wall.pass_s(DAY_S)
        await keys(app, *"10", "down")
        wall.pass_s(HOURS_S)
        await keys(app, *"20", "down")
        assert [scale.value for scale in glass(app).scales[:3]] == list(SCORES.values())
        assert "not kept" not in text(app)
        await keys(app, "p", "y")
        await to_between(app)
        wall.pass_s(HOURS_S)
        await keys(app, "l")
        await sign_in_by_keys(app, "A1", PINS["A1"])
        assert isinstance(app.screen, BetweenScreen)
        assert "the next glass in" not in text(app)
    assert kept_scores(store, "A1", "538") == SCORES


def test_at_a_plain_booth(store: Store, wall: Wall) -> None:
    open_evening(store)

    def moved(seconds: int, answer: str) -> str:
        wall.pass_s(seconds)
        return answer

    hand, _, code = sit(
        *(store, wall, "538", "62", lambda: moved(DAY_S, "10"), lambda: moved(HOURS_S, "20")),
        *("p", "y", lambda: moved(HOURS_S, "417"), "q"),
    )
    assert code == 0
    assert not any("Not kept" in line for line in hand.said)
    assert any(line == "Glass 417 is in your hand." for line in hand.said), hand.text
    assert kept_scores(store, "A1", "538") == SCORES


def test_in_a_browser(store: Store, wall: Wall) -> None:
    open_evening(store)
    with seated(served_for(store, wall)) as browser:
        browser.deed("take", code="538", sure="538")
        browser.deed("scores", line_1="62")
        wall.pass_s(DAY_S)
        browser.deed("scores", line_2="10")
        wall.pass_s(HOURS_S)
        browser.deed("scores", line_3="20")
        browser.deed("down")
        wall.pass_s(HOURS_S)
        assert browser.deed("take", code="417").body["data-about"] == "glass 417.1"
    assert kept_scores(store, "A1", "538") == SCORES
