"""The best casks for a target and whether to nose on, below a ranking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.next_glasses.verdict import on_day
from panel.words.answers import paragraph
from panel.words.next_words import chosen_in_short, chosen_words

if TYPE_CHECKING:
    from datetime import date

    from analysis.target import Match
    from panel.questions.best_casks import BestCasks, BestTold

WHERE_TOLD = (
    "Which few are the best by how far off they are expected to be, and whether nosing on still "
    "pays: `--best K`, and `session next` with whom to pour what."
)


OF_THESE = "a session for these casks"


def best_lines(told: BestTold, width: int = 80, asked: date | None = None) -> list[str]:
    """Return the same as lines of text, by the day asked about (none: today)."""
    return [line for said in best_words(told, asked) for line in paragraph(said, width)]


def best_in_short(told: BestTold) -> str:
    """Return the same for a page with the casks below; reasons stand at the next session."""
    from analysis.next_glasses.verdict import stop_in_short

    if told.best is None:
        return best_words(told)[0]
    found = told.best.found
    stop = stop_in_short(found.stop)
    if not found.chosen:
        return f"{stop[0].upper()}{stop[1:]}."
    return f"{chosen_in_short(found, told.best.bottling_on)}: {stop}."


def sure_words(match: Match, told: BestTold | None) -> str:
    """Return how sure a ranking is; not to see whether nosing pays where that stands beside it."""
    answered = told is not None and told.best is not None
    return match.beside_best if answered and match.beside_best else match.sentence


def best_words(told: BestTold, asked: date | None = None) -> list[str]:
    """Return which casks are the best and whether to nose on, below a ranking; or why nobody can
    say. All of it is of the day asked about (none: today).
    """
    from analysis.next_glasses.verdict import stop_sentence

    if told.best is None and told.unknown is None:
        return [WHERE_TOLD]
    if told.best is None:
        return [f"Whether nosing on is worth it cannot be said: {told.unknown}"]
    found = told.best.found
    chosen = [chosen_words(found, told.best.bottling_on or asked)] if found.chosen else []
    return [*chosen, stop_sentence(found, asked) + deciding_words(told.best, asked)]


def deciding_words(best: BestCasks, asked: date | None = None) -> str:
    """Return what deciding on the day asked about costs, and what the session saves, in figures."""
    from analysis.next_glasses.verdict import amount

    found = best.found
    if found.expected_loss is None:
        return ""
    said = f" Deciding {on_day(asked)} would cost {amount(found.expected_loss, found.unit)}"
    if not found.glasses or found.saves is None:
        return f"{said} (`session next`)." if best.as_proposed else f"{said}."
    which = "the session that `session next` proposes" if best.as_proposed else OF_THESE
    return f"{said}; {which} is expected to save {amount(found.saves, found.unit)} of it."
