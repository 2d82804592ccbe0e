"""The app around the screens: how it ends, and that the demo's way in works."""

from __future__ import annotations

import asyncio

import pytest

from panel.booth.app import BoothApp
from panel.errors import BoothError
from panel.store.engine import Store
from tests.booth.by_keys import score_by_keys
from tests.houses.at_the_booth import NAME, PINS, WORDS, Wall, kept_scores


async def test_all_booths_at_once_score_one_glass_each_by_keys(evening: Store, wall: Wall) -> None:
    async def score(person: str, first: int) -> dict[str, int]:
        given = {word: first + i for i, (word, _) in enumerate(WORDS)}
        app = BoothApp(evening, session=NAME, clock=wall)
        async with app.run_test(size=(80, 24)) as pilot:
            await score_by_keys(pilot, person, PINS[person], "538", given)
        return given

    given = await asyncio.gather(*(score(p, 10 * i) for i, p in enumerate(PINS)))
    for person, values in zip(PINS, given, strict=True):
        assert kept_scores(evening, person, "538") == values


@pytest.mark.slow
async def test_the_driver_says_where_it_got_stuck(
    evening: Store, wall: Wall, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("panel.booth.hands.PATIENCE_S", 2.0)
    app = BoothApp(evening, session=NAME, clock=wall)
    async with app.run_test(size=(80, 24)) as pilot:
        with pytest.raises(BoothError, match=r"BetweenScreen: '! 999 is not on your tray"):
            await score_by_keys(pilot, "A1", PINS["A1"], "999", {})


def test_a_fault_of_its_own_ends_in_words_without_what_was_typed(
    evening: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    class Broken(BoothApp):
        def on_opened(self, _message: object) -> None:
            pin = "4821"
            raise RuntimeError("out of order" if pin else "")

    app = Broken(evening, session=NAME)
    app.run(headless=True, size=(80, 24))
    told = " ".join(capsys.readouterr().err.split())
    assert app.return_code == 1
    assert "Every score that it showed as kept is on disk" in told
    assert "RuntimeError" in told
    assert "4821" not in told
    assert "Traceback" not in told
