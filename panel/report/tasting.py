"""The pages of a tasting: the guide's cards, the guests' sheet, the guests beside the panel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import sentence_here
from panel.report.common import foot
from panel.report.html import to_html
from panel.report.values import Column, Opening, Report, Said, Section, Table
from panel.words import tasting as words
from panel.words.release_sheet import CARE_OF_GUESTS, HOW_TO_NOSE, age_words, cloud_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from analysis.pictures import Picture
    from analysis.pictures.rails import Rail
    from panel.questions.stands_on import StandsOn
    from panel.release.guests import Guests
    from panel.release.tasting import Tasting, TastingPour

POURED = (
    Column("pour"),
    Column("release"),
    Column("strength", "% vol", figures=True),
    Column("malt"),
    Column("poured", "mL", figures=True),
    Column("ethanol", "g", figures=True),
)
FOUND = (
    Column("note"),
    Column("what we mean by it"),
    Column("our panel", "points of 100"),
    Column("the house's casks", "points of 100"),
)
PAPER = (
    Column("glass"),
    Column("note"),
    Column("0"),
    Column("100"),
    Column("your number"),
)
BESIDE = (
    Column("release"),
    Column("note"),
    Column("our panel's middle half", "points"),
    Column("guests in it"),
    Column("guests' scores", "points"),
)
BLANK = "_______"
SOURCES = (
    "Densities of mixtures of alcohol and water, and of ethanol: OIML R 22 (1975).",
    "Order, water and care at the table: common practice, no source.",
)
GRAMS = (
    "Grams of ethanol are millilitres by strength by 0.789 g/mL. Water counts that alcohol and "
    "water shrink as they mix. Points are the panel's mean on a line from 0 to 100."
)


def cards_page(
    tasting: Tasting,
    stands: StandsOn,
    *,
    rails: Mapping[str, Sequence[Rail]],
    pictures: Mapping[str, Picture],
) -> str:
    """Return the guide's page: what is poured, and a card a pour."""
    listed = [words.poured_cells(number, one) for number, one in enumerate(tasting.pours, 1)]
    first = Section(
        "What is poured, in this order",
        (words.order_words(tasting),),
        tables=(Table("", POURED, listed),),
    )
    cards = (
        _card(number, pour, rails.get(pour.name, ()), pictures.get(pour.name))
        for number, pour in enumerate(tasting.pours, 1)
    )
    return to_html(
        Report(
            kind="Tasting",
            name=", ".join(pour.name for pour in tasting.pours),
            fact="",
            reader="For the guide: a card a pour. Nothing of it is written into the records.",
            opening=Opening(words.pours_word(tasting), (words.dose_words(),)),
            sections=(first, Section("At the table", words.CARE_OF_POURS), *cards),
            reckoned=(sentence_here(GRAMS),),
            sources=SOURCES,
            cautions=(CARE_OF_GUESTS,),
            foot=foot(stands),
            compact=True,
        )
    )


def _card(
    number: int, pour: TastingPour, rails: Sequence[Rail], picture: Picture | None
) -> Section:
    house = {rail.note: rail.house for rail in rails}
    rows = [words.found_cells(claim, house.get(claim.note)) for claim in pour.sheet.claims]
    return Section(
        f"{number}. {pour.name}",
        (words.found_note(pour),),
        said=tuple(_said(pour)),
        tables=(Table("What the panel found, and what we mean", FOUND, rows),) if rows else (),
        pictures=() if picture is None else (picture,),
        card=True,
    )


def _said(pour: TastingPour) -> Iterator[Said]:
    yield Said("To say aloud", "", words.aloud(pour))
    yield Said("Water", "", tuple(filter(None, (words.water_words(pour), cloud_words(pour.sheet)))))
    for title, answers in words.guest_says(pour.found.words):
        yield Said(title, "", answers)
    yield Said("What may be told besides", "", (age_words(pour.sheet),))
    yield Said("What not to say", "", words.NOT_TO_SAY_ALOUD)


def paper_page(tasting: Tasting) -> str:
    """Return the sheet on which a guest scores the notes of each pour; it prints as one page."""
    rows = [
        (f"{number}. {pour.name}", note, *tasting.ends.get(note, ("", "")), BLANK)
        for number, pour in enumerate(tasting.pours, 1)
        for note in tasting.notes
    ]
    meant = tuple(Said(note, "", (said,)) for note, said in words.meant(tasting) if said)
    return to_html(
        Report(
            kind="",
            name="What do you find?",
            fact=f"Sheet number {BLANK}",
            reader="",
            opening=Opening("", words.PAPER_SAYS),
            sections=(
                Section("The glasses, in this order", tables=(Table("", PAPER, rows),)),
                Section("What we mean by these notes", said=meant),
            )[: 2 if meant else 1],
            reckoned=(),
            sources=(),
            cautions=(CARE_OF_GUESTS,),
            foot=(words.NOTHING_KEPT_OF_SHEET,),
            compact=True,
        )
    )


def guests_page(tasting: Tasting, guests: Guests, stands: StandsOn) -> str:
    """Return the guests' scores beside the middle half of the panel, what agrees best first."""
    rows = [words.beside_cells(line) for line in guests.lines]
    table = Table("", BESIDE, rows, words.BESIDE_NOTE)
    people = f"{guests.n_guests} guest{'' if guests.n_guests == 1 else 's'}"
    how = tuple(words.panel_had(pour) for pour in tasting.pours)
    return to_html(
        Report(
            kind="",
            name="What you found, beside our panel",
            fact=f"{people}, {len(tasting.pours)} pours",
            reader="",
            opening=Opening("", (words.agreement_words(guests), words.NOT_THE_GUESTS)),
            sections=(
                Section("Note by note", tables=(table,)),
                Section("How our panel had it", how),
                Section("How to nose it again", HOW_TO_NOSE),
            ),
            reckoned=(),
            sources=(),
            cautions=(CARE_OF_GUESTS, words.NOTHING_KEPT),
            foot=foot(stands),
        )
    )
