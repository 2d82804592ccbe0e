"""Answers as lines of text: the words first, the figures after, nothing wider than asked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from analysis.cell_text import folded
from analysis.chance_words import chance
from panel.figures import as_here
from panel.words.columns import columns
from panel.words.stock_words import moved_notes, notes_day_words

if TYPE_CHECKING:
    from enum import StrEnum

    from analysis.agreement import (
        PrivateFact,
        Verdict,
    )
    from analysis.target import CaskMatch, Match

INDENT = "    "


def paragraph(text: str, width: int = 80, indent: str = "") -> list[str]:
    """Return *text* wrapped at *width*, every line indented."""
    return folded(text, width, initial_indent=indent, subsequent_indent=indent) or [""]


def entry(heading: str, text: str, width: int = 80) -> list[str]:
    """Return a heading and, below it, its indented sentence."""
    return [heading, *paragraph(text, width, INDENT)]


def verdict_line(verdict: Verdict[StrEnum]) -> str:
    """Return a verdict with its word first."""
    return f"{verdict.label.upper()}. {verdict.sentence}"


def judged_entry(name: str, verdict: Verdict[StrEnum], width: int) -> list[str]:
    """Return who or what is judged with the word, and below it the sentence."""
    return entry(f"{name}: {verdict.label}", verdict.sentence, width)


def private_lines(facts: Sequence[PrivateFact], width: int = 80) -> list[str]:
    """Return what is for one person and the lead only."""
    if not facts:
        return ["", "Nothing that is for one person's eyes only."]
    lines = ["", "For the person named and the lead only:"]
    for fact in facts:
        lines += paragraph(fact.sentence, width, INDENT)
    return lines


def number(value: float | None, places: int) -> str:
    """Return a figure, or a dash where there is none; no minus stands before a nought."""
    return "-" if value is None else f"{value:z.{places}f}"


def share(value: float | None) -> str:
    """Return a share of variance; below nothing it is none, however far the ratio goes."""
    return "<0" if value is not None and value < 0.0 else number(value, 2)


def probability(value: float | None) -> str:
    """Return a probability to three places, a very small one as below .001."""
    if value is None:
        return "-"
    if value < 0.001:
        return as_here("<.001")
    return f"{value:.3f}".lstrip("0") if value < 1 else "1"


def match_lines(result: Match, width: int = 80, *, top: int | None = None) -> list[str]:
    """Return which casks suit a target: how sure that is first, then the casks, best first."""
    lines = [*paragraph(result.note, width), ""] if result.note else []
    lines += paragraph(result.sentence, width)
    lines += paragraph(notes_day_words(result.stock_on), width) if result.stock_on else []
    lines.append("")
    headings = ("cask", "chance", "distance", "furthest off", "by", "scores", "last nosed", "moved")
    rows = [match_cells(cask) for cask in result.casks[:top]]
    lines += columns(headings, rows) if rows else []
    lines += ["", *paragraph(MATCH_KEY, width)] if rows else []
    for said in moved_notes(result.casks[:top]):
        lines += paragraph(said, width)
    for cask in result.casks[:top]:
        if cask.held_against:
            lines += paragraph(f"! {cask.cask}: {cask.held_against}.", width)
    return lines + _not_ranked(result, width)


def match_cells(cask: CaskMatch) -> tuple[str, ...]:
    """Return one cask of a ranking."""
    return (
        *(cask.cask, chance(cask.probability), number(cask.distance, 2)),
        *(cask.worst_descriptor, f"{cask.worst_off:+.1f}", str(cask.n_scores)),
        *(str(cask.last_nosed or "-"), _years(cask.years_moved)),
    )


MATCH_KEY = (
    "chance: that every note lies within its tolerance. distance: expected squared distance in "
    "tolerances, uncertainty counted in. by: how many tolerances the worst note is off. moved: "
    "years from the draw to the day."
)
NOT_RANKED_SHOWN = 6


def _years(years: float | None) -> str:
    return "-" if years is None else f"{years:.1f} y"


def _not_ranked(result: Match, width: int) -> list[str]:
    if not result.left_out:
        return []
    shown = result.left_out[:NOT_RANKED_SHOWN]
    more = len(result.left_out) - len(shown)
    text = "; ".join(f"{part.cask} ({part.reason})" for part in shown)
    tail = f"; and {more} more (see --json)" if more else ""
    return ["", *entry("Not ranked:", f"{text}{tail}.", width)]
