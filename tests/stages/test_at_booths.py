"""Lines by stages at a low terminal, by lines of text and on a page, in the order of a glass."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from panel.store.answers import Answer
from panel.store.engine import Store
from tests.booth.by_lines import sit
from tests.booth.sitting import drained, glass, keys, settled, text, with_glass
from tests.houses.at_the_booth import WORDS, Wall
from tests.houses.by_stages import open_stages
from tests.serve.browsing import seated, served_for

NOTE = WORDS[1][0]


@pytest.fixture
def evening(store: Store) -> Store:
    open_stages(store)
    return store


def given(store: Store) -> dict[int, float]:
    with store.read() as db:
        return {row.question: row.value for row in db.scalars(select(Answer))}


async def test_the_keys_score_each_stage(evening: Store) -> None:
    async with with_glass(evening, Wall()) as app:
        names = [scale.line.name for scale in glass(app).scales]
        assert names == [
            WORDS[0][0],
            *(f"{NOTE}, {at}" for at in ("nose", "arrival", "development", "finish")),
        ]
        assert "dried fruit, finish" in text(app)
        await keys(app, *("3", "0", "enter", "4", "0", "enter", "6", "1"))
        await settled(app)
        assert "as the sip arrives in the mouth" in text(app)
        await drained(app)
    assert given(evening) == {2: 61.0}


def test_lines_of_text_ask_for_each_stage(evening: Store) -> None:
    hand, _, ended = sit(evening, Wall(), "538", "30", "40", "61", "20", "9", "p", "y")
    assert ended == 0
    assert "nothing is swallowed" in hand.text
    assert "Line 5 of 5, dried fruit, finish: half a minute after it was spat" in hand.text
    assert given(evening) == {2: 61.0, 3: 20.0, 4: 9.0}


def test_a_page_has_each_stage_as_a_line_of_its_own(evening: Store) -> None:
    wall = Wall()
    with seated(served_for(evening, wall)) as browser:
        browser.deed("take", code="538", sure="538")
        form = browser.look().forms["scores"]
        assert [name for name in form if name.startswith("line--")] == [
            *("line--2", "line--3", "line--4")
        ]
        browser.deed("scores", **{"line--3": "44", "line--4": "101"})
        assert given(evening) == {}
        browser.deed("scores", **{"line--3": "44"})
        assert given(evening) == {3: 44.0}
        browser.deed("rest")
    assert given(evening) == {2: 0.0, 3: 44.0, 4: 0.0}
