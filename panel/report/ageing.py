"""The page of ageing: how notes grow in styles or casks, and when casks meet a target."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.report.common import CARE_AND_DUTY, foot
from panel.report.html import to_html
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
from panel.words.ageing_words import (
    LAST_DRAW_KEY,
    able_words,
    curve_row,
    evidence_lines,
    left_out_lines,
    moves,
    next_of_ageing,
    window_cells,
    window_notes,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.ageing import Ageing, Curve, Window
    from analysis.pictures import Plane
    from panel.questions.stands_on import StandsOn

MOST_DRAWN = 5
"""Curves that a page draws; tables have them all."""
REST = "Others are in the tables below; a page of one cask or one note draws them."
WINDOW_COLUMNS = (
    Column("cask"),
    Column("age", "years", figures=True),
    Column("chance now", figures=True),
    Column("best chance", figures=True),
    Column("best in", "month", figures=True),
    Column("from", "month", figures=True),
    Column("until", "month", figures=True),
    Column("draws nosed", figures=True),
    Column("note furthest off"),
)
CURVE_COLUMNS = (
    Column("note"),
    Column("now", "points", figures=True),
    Column("between", "points", figures=True),
    Column("last draw, now", "points", figures=True),
    Column("then", "points", figures=True),
    Column("then between", "points", figures=True),
    Column("then at", "years", figures=True),
    Column("draws nosed", figures=True),
)


def ageing_page(found: Ageing, drawn: Sequence[Plane], stands: StandsOn, *, name: str) -> str:
    """Return the page of what was asked of ageing, *name* telling what that was."""
    return to_html(
        Report(
            kind="Ageing",
            name=name,
            fact=f"Reckoned on {found.as_of}.",
            reader="To hand on.",
            opening=Opening(_word(found), tuple(_said(found)), action(next_of_ageing(found))),
            pictures=tuple(drawn[:MOST_DRAWN]),
            sections=tuple(_sections(found, n_drawn=len(drawn))),
            reckoned=reckoned(found),
            sources=(),
            cautions=CARE_AND_DUTY,
            foot=foot(stands),
        )
    )


def reckoned(found: Ageing) -> tuple[str, ...]:
    """Return what the curves rest on, and what has no answer."""
    return (
        "A curve is what the panel's profile of every draw says of its age, wood, fill and make "
        f"together; intervals are meant to hold {100 * found.level:.0f} times in 100. Nothing is "
        "foretold beyond three years, nor far beyond the ages nosed. A chance is that of all notes "
        f"together to be within their tolerance. Seed of the draws behind it: {found.seed}.",
        *unbroken(evidence_lines(found, BROAD)),
        *unbroken(left_out_lines(found, BROAD)),
    )


def _word(found: Ageing) -> str:
    able = [window for window in found.windows if window.opens is not None]
    if not found.windows:
        return "How notes grow with age"
    return "Ready, or will be" if able else "No cask is ready in what may be foretold"


def _said(found: Ageing) -> Iterator[str]:
    for target in dict.fromkeys(window.target for window in found.windows):
        yield able_words(target, found)
    yield from found.warnings


def _sections(found: Ageing, *, n_drawn: int) -> Iterator[Section]:
    yield from window_sections(found)
    held = tuple(f"{cask}: {why}." for cask, why in found.held_against.items())
    if held:
        yield Section("What stands against these casks", held)
    yield from curve_sections(found)
    styles = _styles(found)
    if styles and not found.windows:
        more = sentences(REST if n_drawn > MOST_DRAWN else None)
        yield Section("Style by style", more, said=styles)


def window_sections(found: Ageing) -> Iterator[Section]:
    """Give when casks meet each target, a section each."""
    for target in dict.fromkeys(window.target for window in found.windows):
        every = [window for window in found.windows if window.target == target]
        able = [window for window in every if window.opens is not None]
        notes = unbroken(window_notes(able or every, BROAD))
        title = f"When is it {target}?" if len(every) == 1 else f"Which casks meet {target}, when?"
        yield Section(title, notes, tables=(_windows(able or every),))


def _windows(windows: Sequence[Window]) -> Table:
    return Table("", WINDOW_COLUMNS, [window_cells(window) for window in windows])


def curve_sections(found: Ageing) -> Iterator[Section]:
    """Give the notes of each cask, now and to the end of what may be said."""
    casks = [curve for curve in found.curves if curve.cask is not None]
    for cask in dict.fromkeys(curve.cask for curve in casks):
        mine = [curve for curve in casks if curve.cask == cask]
        rows = [curve_row(curve, found) for curve in mine]
        title = f"How the notes of {cask} grow"
        found_now = any(curve.found_now is not None for curve in mine)
        said = (f"Style: {mine[0].style}.", *((LAST_DRAW_KEY,) if found_now else ()))
        yield Section(title, said, tables=(_curves(rows),))


def _curves(rows: Sequence[Sequence[str]]) -> Table:
    return Table("", CURVE_COLUMNS, rows)


def _styles(found: Ageing) -> tuple[Said, ...]:
    curves = [curve for curve in found.curves if curve.cask is None]
    return tuple(
        Said(style, _behind(mine), (f"{moves(mine, found.moved_by_age)}.",))
        for style in dict.fromkeys(curve.style for curve in curves)
        if (mine := [curve for curve in curves if curve.style == style])
    )


def _behind(curves: Sequence[Curve]) -> str:
    most = max(curves, key=lambda curve: curve.n_draws)
    return f"casks nosed: {most.n_casks}, drawn again: {most.n_again}"
