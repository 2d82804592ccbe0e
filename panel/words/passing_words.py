"""Passing as lines of text: a session, many mornings, slips for the warehouses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.words.answers import paragraph
from panel.words.columns import columns, columns_within

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from analysis.passing import BlockFound, MorningsFound, PassingFound
    from panel.questions.passing import PassingAnswer, Slip


WIDTH = 80


def passing_lines(found: PassingAnswer, assessor: str | None = None) -> list[str]:
    """Return a session: counts, noses, what was not passed, and every block."""
    result: PassingFound = found.result
    lines = [line for said in result.sentences for line in paragraph(said)]
    blocks = [b for b in result.blocks if assessor in {None, b.assessor}]
    return [*lines, "", *block_lines(blocks)]


def block_lines(blocks: Iterable[BlockFound]) -> list[str]:
    """Return the blocks of noses as a table."""
    rows = [
        [
            *(block.assessor, str(block.block), str(block.passed), str(block.held)),
            f"{block.caught} of {block.spikes}",
            f"{block.stopped} of {block.sound}",
        ]
        for block in blocks
    ]
    return columns(("nose", "block", "passed", "held", "caught", "stopped"), rows)


def mornings_lines(found: MorningsFound, width: int = WIDTH) -> list[str]:
    """Return what many mornings tell."""
    return [line for said in found.sentences for line in paragraph(said, width=width)]


def slip_lines(slips: Sequence[Slip], width: int = WIDTH) -> list[str]:
    """Return what nobody may empty, warehouse by warehouse."""
    lines: list[str] = []
    for warehouse, mine in slip_pages(slips):
        rows = [
            (place_words(one), one.cask, "held" if one.held else "again", one.reason)
            for one in mine
        ]
        lines += [f"DO NOT EMPTY, {warehouse}:"]
        lines += columns_within(("where", "cask", "stands", "why"), rows, width)
    return lines


def place_words(slip: Slip) -> str:
    """Return where in its warehouse a cask lies."""
    parts = [f"row {slip.row}" if slip.row else "", f"tier {slip.tier}" if slip.tier else ""]
    return ", ".join(part for part in parts if part) or "place not on record"


def slip_pages(slips: Sequence[Slip]) -> list[tuple[str, list[Slip]]]:
    """Return the slips by warehouse, in their order."""
    found: dict[str, list[Slip]] = {}
    for slip in slips:
        found.setdefault(slip.warehouse, []).append(slip)
    return list(found.items())
