"""The page of a target: what is asked of a release, and which casks suit that."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.report.common import CARE_AND_DUTY, foot
from panel.report.html import to_html
from panel.report.values import Column, Opening, Report, Section, Table, action, sentences
from panel.words.answers import MATCH_KEY, match_cells
from panel.words.best_words import best_words
from panel.words.stock_words import moved_words, notes_day_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from analysis.pictures import Picture
    from analysis.target import Match
    from panel.questions.best_casks import BestTold
    from panel.questions.stands_on import StandsOn
    from panel.questions.targets import TargetRecord

CASKS_TOLD = 15
LEFT_OUT_TOLD = 40
"""Lines of a page that somebody may read to its end."""
ASKED = (
    Column("note"),
    Column("aim", "points", figures=True),
    Column("tolerance to either side", "points", figures=True),
    Column("weight", figures=True),
)
CASKS = (
    Column("cask"),
    Column("chance", figures=True),
    Column("distance", figures=True),
    Column("note furthest off"),
    Column("by", "tolerances", figures=True),
    Column("scores", figures=True),
    Column("last nosed"),
    Column("moved", figures=True),
)
LEFT_OUT = (Column("cask"), Column("why"))
SOURCES = (
    "Restricted likelihood: Patterson & Thompson (1971). The chance of all notes together: Genz "
    "(1992).",
)


def target_page(
    target: TargetRecord,
    found: Match,
    stands: StandsOn,
    *,
    best: BestTold,
    pictures: Sequence[Picture] = (),
    asked: date | None = None,
) -> str:
    """Return the page of a target with its ranking, the best casks and whether to nose on."""
    return to_html(
        Report(
            kind="Target",
            name=target.name,
            fact=f"Notes asked for: {len(target.lines)}; casks ranked: "
            f"{in_digits(found.n_ranked, ',')}.",
            reader="To hand on.",
            opening=_opening(found),
            pictures=tuple(pictures),
            sections=tuple(_sections(target, found, best, asked)),
            reckoned=(MATCH_KEY, f"Seed of the draws behind it: {found.seed}."),
            sources=SOURCES,
            cautions=CARE_AND_DUTY,
            foot=foot(stands),
        )
    )


def _opening(found: Match) -> Opening:
    word = "Which casks suit it" if found.casks else "No cask can be ranked"
    day = notes_day_words(found.stock_on) if found.stock_on else None
    return Opening(word, sentences(found.note, found.sentence, day), action(found.next_action))


def _sections(
    target: TargetRecord, found: Match, best: BestTold, asked: date | None
) -> Iterator[Section]:
    lines = [
        (
            line.descriptor,
            in_digits(line.aim, "g"),
            in_digits(line.tolerance, "g"),
            in_digits(line.weight, "g"),
        )
        for line in target.lines
    ]
    yield Section("What is asked", tables=(Table("", ASKED, lines),))
    casks = found.casks[:CASKS_TOLD]
    if casks:
        table = Table("", CASKS, [match_cells(cask) for cask in casks])
        held = (f"{one.cask}: {one.held_against}." for one in casks if one.held_against)
        more = _more(len(found.casks) - len(casks), "ranked after these")
        yield Section("Casks, the likeliest first", sentences(more), tables=(table,))
        if told := (*moved_words(casks), *held):
            yield Section("Look out for", told)
    yield Section("The best of them, and nosing on", tuple(best_words(best, asked)))
    if found.left_out:
        rows = [(part.cask, part.reason) for part in found.left_out[:LEFT_OUT_TOLD]]
        more = _more(len(found.left_out) - len(rows), "not ranked")
        yield Section("Not ranked", sentences(more), tables=(Table("", LEFT_OUT, rows),))


def _more(count: int, what: str) -> str | None:
    return (
        (f"{in_digits(count, ',')} more are {what}: `oakpanel match` tells them.")
        if count > 0
        else None
    )
