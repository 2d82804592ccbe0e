"""What a new target is, and what of that which was found is no line of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.records.targets import WhyLeft
from panel.words.answers import paragraph

if TYPE_CHECKING:
    from panel.records.targets import LeftNote, Likeness


def made_lines(name: str, n_lines: int, like: Likeness) -> list[str]:
    """Return what was made, what was left out of it and why, and which aims were held back."""
    lines = paragraph(f"Target {name}, {n_lines} lines, like {like.source}.")
    for why in WhyLeft:
        notes = [each for each in like.left_out if each.reason is why]
        if notes:
            lines += paragraph(f"Left out, {why.value}: {', '.join(_noted(notes, why))}.")
    for each in like.clipped:
        lines += paragraph(
            f"{each.descriptor} was asked at {in_digits(each.asked, 'g')}, off the line "
            "from 0 to 100: it is "
            f"{in_digits(each.aim, 'g')}."
        )
    return lines


def _noted(notes: list[LeftNote], why: WhyLeft) -> Iterator[str]:
    for each in notes:
        found = "" if each.aim is None else f" {each.aim:.0f}"
        casks = f" ({each.n_casks} of {each.n_nosed} casks)" if why is WhyLeft.FEW else ""
        yield f"{each.descriptor}{found}{casks}"
