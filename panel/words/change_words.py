"""What the next session could change about casks that are chosen, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.chance_words import chance
from analysis.next_glasses.cut import LEAST_PAST
from analysis.next_glasses.verdict import on_day
from panel.figures import in_digits
from panel.words.answers import paragraph
from panel.words.columns import columns_within

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from analysis.next_glasses import Change


def changes_lines(
    changes: Sequence[Change], width: int = 80, asked: date | None = None
) -> list[str]:
    """Return what the next session could change about which casks are chosen, a line a cask."""
    told = [change for change in changes if max(change.crosses, change.one_glass) >= LEAST_CHANCE]
    if not told:
        return paragraph(NOTHING_MOVES, width)
    rows = [
        (
            *(one.cask, "chosen" if one.chosen else "not", chance(one.crosses)),
            *(chance(one.one_glass), look_words(one)),
        )
        for one in told
    ]
    headings = ("cask", "now", "moves", "one glass", "which glass")
    cut = cut_words(changes)
    lines = [*(paragraph(cut, width) if cut else []), *columns_within(headings, rows, width)]
    against = any(one.against is not None for one in told)
    key = moves_key(against_a_cask=against, asked=asked)
    return [*lines, *paragraph(key, width)]


def cut_words(changes: Sequence[Change]) -> str:
    """Return how many casks are chosen, and which lie at the cut; nothing where there is none."""
    beyond = next((one.against for one in changes if one.chosen and one.against), None)
    within = next((one.against for one in changes if not one.chosen and one.against), None)
    if beyond is None or within is None:
        return ""
    n = sum(one.chosen for one in changes)
    last = "the one chosen" if n == 1 else f"of the {n} chosen the furthest off"
    return f"The cut: between {within}, {last}, and {beyond}, of the others the nearest."


def look_words(change: Change) -> str:
    """Return the single glass that could move a cask most."""
    if change.assessor is None:
        return "no glass of it"
    by = f"by {change.assessor}"
    return f"one look at its {change.note}, {by}" if change.note else f"one look at it, {by}"


NOTHING_MOVES = "Nothing: the next session hardly moves a cask over the cut."


def moves_key(*, against_a_cask: bool, asked: date | None = None) -> str:
    """Return what the columns of chances count; a cask held against a cask needs some points."""
    said = (
        "moves: chance that the next session moves it over the cut, by what is found of it or of "
        "the others. one glass: as much of that chance as the single glass of that session that "
        "tells most makes up alone"
    )
    if not against_a_cask:
        return f"{said}."
    points = in_digits(LEAST_PAST, ".2f")
    return (
        f"{said}, counted only where it carries it {points} points or more past where the cut is "
        f"{on_day(asked)} and the whole session moves it over too."
    )


LEAST_CHANCE = 0.005
