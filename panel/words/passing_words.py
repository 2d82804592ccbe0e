"""Passing as lines of text: a session, many mornings, slips for the warehouses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.words.answers import paragraph
from panel.words.columns import columns

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from analysis.passing import BlockFound, MorningsFound, PassingFound
    from panel.questions.passing import PassingAnswer, Slip


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


def mornings_lines(found: MorningsFound) -> list[str]:
    """Return what many mornings tell."""
    return [line for said in found.sentences for line in paragraph(said)]


def slip_pages(slips: Sequence[Slip]) -> list[tuple[str, list[Slip]]]:
    """Return the slips by warehouse, in their order."""
    found: dict[str, list[Slip]] = {}
    for slip in slips:
        found.setdefault(slip.warehouse, []).append(slip)
    return list(found.items())
