"""Questions in front of a screen: answered once, whatever keys come after the answer."""

from __future__ import annotations

import pytest

from panel.booth.dialogs import Tell, WriteNote
from panel.booth.hands import said
from panel.seat.care import CARES, Wrong
from panel.session.scoring import glass_in_hand
from panel.store.engine import Store
from tests.booth.sitting import glass, keys, press, settled, until, with_glass
from tests.houses.at_the_booth import Wall, kept_scores
from tests.thinned import some_rows


@pytest.mark.parametrize(
    ("opened", "burst"),
    some_rows(
        [
            ("t", ("x", "enter", "enter", "enter")),
            ("t", ("escape", "escape")),
            ("n", ("y", "y", "y")),
            ("n", ("escape", "escape")),
            ("m", ("enter", "enter")),
            ("c", ("4", "4")),
            ("h", ("2", "enter", "enter")),
        ],
        3,
    ),
)
async def test_keys_after_the_answer_close_nothing_else(
    evening: Store, wall: Wall, opened: str, burst: tuple[str, ...]
) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, opened)
        assert app.screen.is_modal
        press(app, *burst)
        await settled(app)
        await until(app, lambda: not app.screen.is_modal)
        assert app.screen is glass(app)
        await keys(app, "up", *"33")
    assert 33 in kept_scores(evening, "A1", "538").values()


@pytest.mark.slow
async def test_a_note_that_is_taken_away_answers_nothing(evening: Store, wall: Wall) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, "t")
        note = app.screen
        assert isinstance(note, WriteNote)
        app.go_where_the_tray_says()
        await settled(app)
        note.answer("too late")
        await settled(app)
        assert app.screen is glass(app)
        assert glass(app).glass.note == ""


async def test_what_is_not_safe_calls_the_lead_and_says_what_to_do(
    evening: Store, wall: Wall
) -> None:
    async with with_glass(evening, wall) as app:
        await keys(app, "h", "1")
        await until(app, lambda: isinstance(app.screen, Tell))
        assert isinstance(app.screen, Tell)
        assert app.screen.words == CARES[Wrong.NOT_SAFE].told
        assert [call.reason for call in app.tray_now.calls] == ["not safe"]
        [gone] = [each for each in app.tray_now.glasses if each.stopped]
        assert gone.withdrawn
        assert glass_in_hand(app.tray_now) is None
        await keys(app, "enter")
        assert f"{gone.code} is stopped" in said(app)
