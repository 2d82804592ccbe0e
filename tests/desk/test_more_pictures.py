"""Pages and forms without a picture elsewhere, all in one run a size: small at night, large by day.

`OAKPANEL_PICTURES=write pytest -m "slow or not slow" tests/desk/test_more_pictures.py` draws them
anew; look at what changed before you keep it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from textual.screen import Screen

from panel.desk.app import DeskApp
from panel.desk.blend_forms import read_limits
from panel.desk.guests_page import GuestsPage, Sheet, SheetForm
from panel.desk.homes import home, page_of
from panel.desk.like_page import Source
from panel.desk.tasting_form import Wanted
from panel.desk.typed import Entries
from panel.questions.lexicon import descriptor_lines
from panel.questions.people import PersonLine
from panel.questions.targets import target_record
from panel.release.guests import GuestScore
from panel.release.tasting import tasting_of
from panel.store.engine import Session, Store
from tests.desk.driving import seen, settle, signed_in
from tests.desk.kept_pictures import LARGE, SMALL, check_picture
from tests.houses.nosed import NOW, TODAY
from tests.houses.tasting import BOTTLED, build_tasting
from tests.thinned import some

ASKED = {"target": "Fen", "litres": "350", "casks": "2-5", "gauges": "flagged", "drawing": "parts"}
PARTS = [
    {"cask": cask, "litres": 40.0, "planned": True, "given_litres": None, "given_abv_percent": None}
    for cask in ("C9", "C10")
]
PERSON = PersonLine("AA", ("assessor", "pourer"), True, None, None, 2)
Make = Callable[[Session], Screen[Any]]


class TypedSheets(GuestsPage):
    """A tasting of which one sheet is typed."""

    def set_up(self) -> None:
        """Show it."""
        super().set_up()
        pours = [(pour.name, note) for pour in self.tasting.pours for note in self.tasting.notes]
        scores = tuple(GuestScore(1, *each, 40.0 + at) for at, each in enumerate(pours))
        self.take(Sheet(1, scores), None)


def typed_sheets(db: Session) -> GuestsPage:
    return TypedSheets(tasting_of(db, BOTTLED, as_of=TODAY))


PAGES: dict[str, Make] = {
    "releases": lambda _: home("releases")(),
    "target": lambda db: page_of("target", target_record(db, "Fen")),
    "new-target": lambda _: page_of("new target"),
    "like": lambda _: page_of("like", Source(cask="C3")),
    "new-blend": lambda _: page_of("new blend"),
    "blend": lambda _: page_of("blend", "Fen", read_limits(Entries(ASKED))),
    "draw-blend": lambda _: page_of("draw blend", {"C3": 40.0, "C4": 50.0}, "Fen"),
    "tasting-form": lambda _: page_of("tasting", BOTTLED, Wanted.GUESTS),
    "guests": typed_sheets,
    "guest-sheet": lambda db: SheetForm(typed_sheets(db), None),
    "bench-form": lambda _: page_of("bench", "Winter"),
    "disgorge-form": lambda _: page_of("disgorge", "Winter", PARTS),
    "bottle-form": lambda _: page_of("bottle", "Winter", 60),
    "exponent-form": lambda _: page_of("exponent"),
    "new-descriptor": lambda _: page_of("new descriptor"),
    "new-version": lambda db: page_of("new version", descriptor_lines(db)[0]),
    "new-person": lambda _: page_of("new person"),
    "roles-form": lambda _: page_of("roles", PERSON),
    "erase-form": lambda _: page_of("erase", "AA"),
    "rule-form": lambda _: page_of("rule", None),
    "tell-form": lambda _: page_of("tell", ["Spring-B1"]),
    "fates-form": lambda _: page_of("fates", "EV1"),
    "strength": lambda _: page_of("strength"),
    "save-form": lambda _: page_of("save"),
    "cask-glasses": lambda _: page_of("cask glasses", "C3"),
}


@pytest.mark.parametrize("half", some([0, 1], 2))
@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["small", "large"])
async def test_screens_look_as_they_were_kept(
    store: Store, size: tuple[int, int], half: int
) -> None:
    """The gate draws each page at one size, the wide one at both."""
    build_tasting(store)
    desk = signed_in(DeskApp(store, by="LD", clock=lambda: NOW, start="house"))
    async with desk.run_test(size=size) as pilot:
        await settle(pilot)
        if size == LARGE:
            await desk.run_action("turn_theme")
        for name, make in list(PAGES.items())[(half + (size == LARGE)) % 2 :: 2]:
            with store.read() as db:
                page = make(db)
            await desk.push_screen(page)
            await settle(pilot)
            check_picture(name, size, seen(desk))
            desk.pop_screen()
            await settle(pilot)
