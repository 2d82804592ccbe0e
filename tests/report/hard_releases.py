"""Pages of releases and tastings that are hard to lay out: many notes, long names, many guests."""

from __future__ import annotations

from dataclasses import replace

from analysis.pictures import Picture
from analysis.pictures.rails import Rail, where_it_stands
from panel.kinds import Manner, ReleaseStatus, Stage
from panel.release.category import Category
from panel.release.guests import BesidePanel, Guests
from panel.release.sheet import Claim, ReleaseSheet
from panel.release.tasting import CARD_NOTES, MOST, Tasting, TastingPour, water_steps
from panel.release.tasting_found import MiddleHalf, NosedAt, OwnWord, PanelFound
from panel.release.woods import WoodShare
from panel.report.readers import SheetReader
from panel.report.release import release_page
from panel.report.tasting import cards_page, guests_page, paper_page
from tests.report.hard import FIVE, SAID, STANDS

NOTES = ("ember", "honeycomb", "orchard fruit", "wet slate", "tar")
MEANING = "As in the yard behind the mill in October, when the first wet leaves are burnt there."
SESSION = NosedAt("S1", 20.0, Manner.NOSE)
N_GUESTS = 40
ABV = 45.0


def claims(notes: tuple[str, ...]) -> tuple[Claim, ...]:
    return tuple(
        Claim(stage.value, f"{note} {at}", 60.0 - 9 * at, 2.0, "clear", ("S1",), MEANING)
        for stage in Stage
        for at, note in enumerate(notes)
    )


def sheet(name: str = "Spring", notes: tuple[str, ...] = NOTES) -> ReleaseSheet:
    """A release of which more notes were found than a page for guests tells."""
    return ReleaseSheet(
        release=name,
        lot_code="L26073-1",
        status=ReleaseStatus.BOTTLED.value,
        bottles=588,
        bottle_ml=700.0,
        abv_percent=ABV,
        youngest_years=8,
        casks=4,
        woods=(WoodShare("American oak", "bourbon", 100.0, 4),),
        malt_ppm=35.0,
        malt_ppm_reason=None,
        claims=claims(notes),
        claims_reason=None,
        clouds=True,
        category=Category("single malt", None, ("Sallow",), ("Sallow Weir",)),
    )


def guest() -> str:
    return release_page(sheet(), {}, STANDS, reader=SheetReader.GUEST)


def guide() -> str:
    found = sheet(notes=FIVE)
    drawn = [rails(found)[1]]
    return release_page(found, {}, STANDS, reader=SheetReader.GUIDE, pictures=drawn)


def rails(of: ReleaseSheet) -> tuple[tuple[Rail, ...], Picture]:
    found = tuple(
        Rail(one.note, one.points, (one.points - 4, one.points + 4), (10.0, 45.0), 40)
        for one in of.claims
    )
    return found, where_it_stands(of.release, found, dict.fromkeys(FIVE, ("none", "all")), SAID)


def tasting(names: tuple[str, ...], notes: tuple[str, ...] = FIVE) -> Tasting:
    return Tasting(
        pours=tuple(pour(name, notes) for name in names),
        ml=10.0,
        notes=tuple(f"{note} {at}" for at, note in enumerate(notes[:3])),
        ends=dict.fromkeys(
            (f"{note} {at}" for at, note in enumerate(notes)), ("none of it", "all of it")
        ),
    )


def pour(name: str, notes: tuple[str, ...]) -> TastingPour:
    own = sheet(name, notes)
    own = replace(own, claims=own.claims[:CARD_NOTES])
    words = (OwnWord(SAID, "ember", MEANING), OwnWord("old jetty", None, None))
    halves = {f"{note} {at}": MiddleHalf(20.0, 45.5, 12) for at, note in enumerate(notes)}
    found = PanelFound((SESSION,), halves, words)
    return TastingPour(own, 10.0, 3.63, 3, water_steps(10.0, ABV, (SESSION,)), found)


def cards() -> str:
    poured = tasting(FIVE)
    drawn = {one.name: rails(one.sheet) for one in poured.pours}
    return cards_page(
        poured,
        STANDS,
        rails={name: found for name, (found, _) in drawn.items()},
        pictures={name: picture for name, (_, picture) in drawn.items()},
    )


def paper() -> str:
    """A sheet for as many pours as there may be."""
    return paper_page(tasting(tuple(f"Lantern {number}" for number in range(MOST)), NOTES))


def guests() -> str:
    poured = tasting(FIVE)
    points = tuple(float(number * 2) for number in range(N_GUESTS))
    lines = [
        BesidePanel(one.name, note, points, (one.found.halves or {})[note])
        for one in poured.pours
        for note in poured.notes
    ]
    return guests_page(poured, Guests(N_GUESTS, tuple(lines)), STANDS)
