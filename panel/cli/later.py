"""What an answer lacks because it is dated after its day: said under it, in JSON a value of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from panel.cli.answers import tell


def tell_later(names: Sequence[str], day: date) -> None:
    """Print under an answer in words which sessions it lacks."""
    from panel.words.answers import paragraph
    from panel.words.left_out import later_words

    if names:
        tell("\n".join(["", *paragraph(later_words(names, day), 80)]))
