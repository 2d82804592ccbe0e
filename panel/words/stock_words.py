"""The stock as of a day, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from analysis.chance_words import chance
from panel.figures import in_digits

if TYPE_CHECKING:
    from datetime import date

    from analysis.target import CaskMatch
    from panel.questions.cask_figures import CaskFigures

NOTED_CASKS = 6
LEAST_CHANCE = 0.05
"""Of a cask less likely than this nobody asks how it was moved."""


def stock_day_words(day: date) -> str:
    """Return what is reckoned for which day."""
    return (
        f"As of {day}: notes are moved there from the day each cask was drawn, litres and strength "
        "by each cask's own loss since its last gauge."
    )


def notes_day_words(day: date) -> str:
    """Return which day notes are moved to."""
    return f"As of {day}: notes are moved there from the day each cask was drawn."


def moved_notes(casks: Sequence[CaskMatch]) -> Iterator[str]:
    """Give what `moved_words` does, each behind the sign of what to look out for."""
    return (f"! {said}" for said in moved_words(casks))


def moved_words(casks: Sequence[CaskMatch]) -> Iterator[str]:
    """Give a sentence for each cask whose chance hangs on how its notes were moved."""
    from analysis.ageing import COVER_NOTES, Cover

    likely = [cask for cask in casks if cask.probability >= LEAST_CHANCE and cask.moved]
    said = 0
    for cask in likely:
        words = []
        if cask.decides:
            words.append(
                f"drawn {in_digits(cask.years_moved or 0.0, '.1f')} years before that day: "
                "this decides its "
                f"chance of {chance(cask.probability)}; draw it again"
            )
        if (cover := Cover(cask.moved or Cover.MODEL)) in COVER_NOTES:
            words.append(COVER_NOTES[cover])
        if words and said < NOTED_CASKS:
            said += 1
            yield f"{cask.cask}: {'; '.join(words)}."


def content_words(figures: CaskFigures) -> str:
    """Return what a cask holds on the day, with the ends that hold it 90 times in 100."""
    return (
        f"On {figures.on} it holds about {figures.litres:.0f} L ({figures.litres_low:.0f} to "
        f"{figures.litres_high:.0f}) of {in_digits(figures.abv_percent, '.1f')} % "
        f"({in_digits(figures.abv_percent_low, '.1f')} "
        f"to {in_digits(figures.abv_percent_high, '.1f')}), by its loss since the last gauge."
    )
