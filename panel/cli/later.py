"""What an answer of today lacks because it is dated later: said under it, in JSON a value of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from panel.cli.answers import tell


def tell_later(names: Sequence[str], *, asked: date | None, day: date) -> None:
    """Print under an answer in words which sessions it lacks, unless its day was asked for."""
    from panel.words.answers import paragraph
    from panel.words.left_out import later_words

    if names and asked is None:
        tell("\n".join(["", *paragraph(later_words(names, day), 80)]))
