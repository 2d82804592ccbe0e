"""What the screens look like, line by line, at both sizes; both themes draw the same characters.

`OAKPANEL_PICTURES=write pytest tests/desk/test_pictures.py` draws them anew; look at what changed
before you keep it.
"""

from __future__ import annotations

import pytest

from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.store.engine import Store
from tests.desk.driving import press, settle, signed_in
from tests.desk.kept_pictures import SMALL, check_pictures
from tests.houses.held_at_the_desk import half_way, hold, score_all

SHOWN: dict[str, tuple[str, tuple[str, ...]]] = {
    "sessions": ("sealed", ()),
    "plan-form": ("sealed", ("n",)),
    "draft": ("draft", ("enter",)),
    "glasses": ("open", ("enter", "right", "right")),
    "seal-question": ("draft", ("enter", "s")),
    "key": ("revealed", ("enter",)),
    "agreement": ("revealed", ("i", "down", "right")),
    "side-by-side": ("revealed", ("i", "down", "right", "enter")),
    "own-page": ("revealed", ("i", "home", "right", "enter")),
    "own-figures": ("revealed", ("i", "home", "right", "enter", "v")),
    "casks": ("sealed", ("2",)),
    "draw-form": ("sealed", ("2", "space", "down", "space", "d")),
    "new-cask": ("sealed", ("2", "n")),
    "narrow-form": ("sealed", ("2", "f")),
    "cask": ("sealed", ("2", "down", "down", "enter")),
    "regauge-form": ("sealed", ("2", "g", "ctrl+s")),
    "hold-form": ("sealed", ("2", "enter", "h")),
    "targets": ("sealed", ("3",)),
    "target-lines": ("sealed", ("3", "enter", "l")),
    "lexicon": ("sealed", ("4",)),
    "people": ("sealed", ("5",)),
    "person": ("sealed", ("5", "enter")),
    "house": ("sealed", ("7",)),
    "settings": ("sealed", ("7", "enter")),
    "rules": ("sealed", ("7", "down", "enter")),
    "register": ("sealed", ("7", "down", "down", "enter")),
    "load-form": ("sealed", ("7", "down", "down", "down", "enter")),
    "restore-form": ("sealed", ("7", *["down"] * 8, "enter")),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", SHOWN)
async def test_screen_looks_as_it_was_kept(house: Store, clock: Clock, name: str) -> None:
    stage, keys = SHOWN[name]
    hold(house, stage if stage != "revealed" else "open")
    if stage == "open":
        half_way(house)
    if stage == "revealed":
        score_all(house)
    desk = signed_in(DeskApp(house, by="LD", clock=clock))
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        if stage == "revealed":
            await press(pilot, "enter", "c", "y", "escape", "r", "y", "escape")
        await press(pilot, *keys)
        await check_pictures(pilot, name)
