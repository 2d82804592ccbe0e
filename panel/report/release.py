"""The pages of a release: all of it for the house, what may be said for a guide, a guest's."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from panel.figures import in_digits
from panel.report.common import CARE, CARE_AND_DUTY, foot
from panel.report.html import to_html
from panel.report.readers import SheetReader
from panel.report.values import (
    BROAD,
    Column,
    Opening,
    Report,
    Said,
    Section,
    Table,
    action,
    sentences,
    unbroken,
)
from panel.words.benched_words import benched_cells, mixed_sentence
from panel.words.release import (
    agreed_lines,
    found_lines,
    next_of_release,
    part_cells,
    planned_lines,
    standing_words,
    traced_cells,
)
from panel.words.release_sheet import (
    CARE_OF_GUESTS,
    HOW_TO_NOSE,
    NOT_TO_SAY,
    age_words,
    cloud_words,
    found_of_guest,
    heading_words,
    next_of_sheet,
    nosed_words,
    source_words,
    told_blocks,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.pictures import Picture, Plane
    from panel.questions.stands_on import StandsOn
    from panel.release.benched import BenchNosed
    from panel.release.sheet import ReleaseSheet

PART_COLUMNS = (
    Column("cask"),
    Column("wood"),
    Column("planned", "L", figures=True),
    Column("planned", "% vol", figures=True),
    Column("gave", "L", figures=True),
    Column("gave", "% vol", figures=True),
)
BENCH_COLUMNS = (
    Column("note"),
    Column("aim", "points", figures=True),
    Column("tolerance to either side", "points", figures=True),
    Column("predicted", "points", figures=True),
    Column("nosed", "points", figures=True),
    Column("standard error", "points", figures=True),
    Column("chance to be within", figures=True),
)
DRAW_COLUMNS = (
    Column("sample"),
    Column("cask"),
    Column("drawn on"),
    Column("session"),
    Column("held on"),
)
MIXED = "Litres are mixed by mass, at 20 °C."
CHANCE = "A chance is that of all notes together to be within their tolerance."
POINTS = "Points are the panel's mean on a line from 0 to 100, scored without knowing the glass."
SOURCES = ("Densities of mixtures of alcohol and water: OIML R 22 (1975).",)


def release_page(
    sheet: ReleaseSheet,
    record: dict[str, Any],
    stands: StandsOn,
    *,
    reader: SheetReader,
    pictures: Sequence[Picture | Plane] = (),
) -> str:
    """Return the page of a release for one of its readers; *record* is read for the house alone."""
    if reader is SheetReader.HOUSE:
        return to_html(_house(sheet, record, stands, tuple(pictures)))
    if reader is SheetReader.GUIDE:
        return to_html(_guide(sheet, stands, tuple(pictures)))
    return to_html(_guest(sheet))


def _house(
    sheet: ReleaseSheet,
    record: dict[str, Any],
    stands: StandsOn,
    drawn: tuple[Picture | Plane, ...],
) -> Report:
    why = f"Why: {record['reason']}" if record["reason"] else None
    points = bool(drawn or sheet.claims) or record["nosed"] is not None
    return Report(
        kind="Release",
        name=sheet.release,
        fact=heading_words(sheet),
        reader="For the house: it names casks and people by their codes.",
        opening=Opening(
            sheet.status, sentences(standing_words(record), why), action(next_of_release(record))
        ),
        pictures=drawn,
        sections=tuple(_house_sections(sheet, record)),
        reckoned=(_mixed(chance=True, points=points), source_words(sheet)),
        sources=SOURCES,
        cautions=CARE_AND_DUTY,
        foot=foot(stands),
    )


def _mixed(*, chance: bool, points: bool) -> str:
    """Return how it was mixed, and what those figures are that the page tells."""
    return " ".join([MIXED, *([CHANCE] if chance else []), *([POINTS] if points else [])])


def _house_sections(sheet: ReleaseSheet, record: dict[str, Any]) -> Iterator[Section]:
    said = (
        *unbroken(planned_lines(record["planned"], BROAD)),
        *unbroken(found_lines(record["found"], BROAD)),
        *unbroken(agreed_lines(record["agreed"], BROAD)),
    )
    parts = Table("", PART_COLUMNS, [part_cells(part) for part in record["parts"]])
    yield Section("What is in it", said, tables=(parts,))
    if record["nosed"] is not None:
        yield _bench(record["nosed"])
    yield Section("What may be told of it", told_blocks(sheet))
    if record["draws"]:
        rows = [traced_cells(each) for each in record["draws"]]
        yield Section("Draws and sessions behind it", tables=(Table("", DRAW_COLUMNS, rows),))


def _bench(nosed: BenchNosed) -> Section:
    rows = [benched_cells(line) for line in nosed.lines]
    said = (nosed.sentence, mixed_sentence(nosed))
    return Section("What the panel found in its bench blend", said, tables=(_benched(rows),))


def _benched(rows: Sequence[Sequence[str]]) -> Table:
    return Table("", BENCH_COLUMNS, rows)


def _guide(sheet: ReleaseSheet, stands: StandsOn, drawn: tuple[Picture | Plane, ...]) -> Report:
    return Report(
        kind="Release",
        name=sheet.release,
        fact="",
        reader="For people who guide and sell.",
        opening=Opening(sheet.status, (heading_words(sheet),), action(next_of_sheet(sheet))),
        pictures=drawn,
        sections=(
            Section("What may be said", told_blocks(sheet)),
            Section("On which session it rests", (source_words(sheet),)),
            Section("What not to say", NOT_TO_SAY),
        ),
        reckoned=(_mixed(chance=bool(sheet.claims), points=bool(drawn or sheet.claims)),),
        sources=(),
        cautions=CARE,
        foot=foot(stands),
    )


def _guest(sheet: ReleaseSheet) -> Report:
    notes = tuple(Said(stage, "", (words,)) for stage, words in found_of_guest(sheet))
    found = (Section("What we found", (nosed_words(sheet),), said=notes),) if notes else ()
    return Report(
        kind="",
        name=sheet.release,
        fact=f"{in_digits(sheet.abv_percent, '.1f')} % vol",
        reader="",
        opening=Opening("", sentences(age_words(sheet), cloud_words(sheet))),
        sections=(*found, Section("How to nose it", HOW_TO_NOSE)),
        reckoned=(),
        sources=(),
        cautions=(CARE_OF_GUESTS,),
        foot=(),
        compact=True,
    )
