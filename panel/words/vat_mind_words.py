"""What would change your mind about a vatting, in words: on which part it hangs, which glass."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.chance_words import chance
from panel.figures import count, in_digits
from panel.words.answers import paragraph
from panel.words.columns import columns_within

if TYPE_CHECKING:
    from analysis.next_glasses import VatMind

BENCH = "bench blend"


def vat_mind_lines(mind: VatMind | None, width: int = 80) -> list[str]:
    """Return whether the next session could turn the answer, and on which part that hangs."""
    if mind is None:
        return paragraph(NOBODY, width)
    rows = [
        (
            *(part.cask or BENCH, "-" if part.litres is None else in_digits(part.litres, ".0f")),
            "-" if part.share is None else in_digits(100.0 * part.share, ".0f"),
            *(part.n_glasses, chance(part.crosses), chance(part.one_glass)),
            f"{part.assessor}: {in_digits(part.moves, '.1f')}",
        )
        for part in mind.parts
    ]
    headings = ("part", "litres", "% unsure", "glasses", "move it", "one would", "by")
    return [
        *paragraph(turn_words(mind), width),
        *paragraph(line_words(mind), width),
        *columns_within(headings, rows, width),
        *paragraph(key_words(mind), width),
    ]


NOBODY = "It cannot be told: nobody has nosed for it, or nobody can come."


def turn_words(mind: VatMind) -> str:
    """Return what is expected now, and the chance that the next session turns it."""
    if mind.within:
        now, then = "Every line is expected within its tolerance", "finds one out"
    else:
        now, then = "Not every line is expected within its tolerance", "finds all within"
    said = f"{now} ({chance(mind.chance)} that all are)."
    if not mind.n_glasses:
        return f"{said} No glass that can be poured would tell more."
    glasses = count(mind.n_glasses, "glass", "glasses")
    return f"{said} Chance that the next session of {glasses} {then}: {chance(mind.turns)}."


def line_words(mind: VatMind) -> str:
    """Return the line that it hangs on, now and after the session."""
    said = f"It hangs most on {mind.note}: {chance(mind.note_chance)} that it is within"
    if mind.if_better > mind.note_chance > mind.if_worse:
        said += f", {chance(mind.if_better)} or {chance(mind.if_worse)} after that session"
    return f"{said}."


def key_words(mind: VatMind) -> str:
    """Return what the columns are."""
    return (
        f"% unsure: how much of what is not known of the {mind.note} (the variance) a part makes "
        f"up by its litres; the rule of mixing, {_percent(mind.rule_share)}, and the panel as a "
        f"whole, {_percent(mind.panel_share)}, are no part's. move it: chance that its glasses in "
        "that session alone take what is expected of that line over the end of its tolerance. one "
        "would: the same of one glass of it more by who tells most, whether poured then or not, "
        "and by how many points such a glass moves that line (standard deviation)."
    )


def _percent(share: float) -> str:
    return f"{in_digits(100.0 * share, '.0f')} %"
