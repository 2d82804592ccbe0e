"""Influences as lines of text: sentences first, figures by influence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from analysis.influences.factors import Covariate, Factor
from panel.words.answers import INDENT, paragraph

if TYPE_CHECKING:
    from analysis.influences import Effect, Influences, NoteInfluences

FACTORS = {
    Factor.WOOD: "Wood",
    Factor.FILL: "Fill number",
    Factor.WOOD_FILL: "Fill number in each wood",
    Factor.AGE: "Age",
    Factor.AGE_IN_WOOD: "Age in each wood",
    Factor.PHENOLS: "Phenols of the malt",
    Factor.FILL_STRENGTH: "Strength when filled",
    Factor.PREVIOUS: "Previous contents",
    Factor.WAREHOUSE: "Warehouse",
    Factor.MAKE: "Make, beyond its phenols",
    Factor.CASK: "From cask to cask",
}


def influence_lines(result: Influences, width: int = 80) -> list[str]:
    """Return what moves each note, then what cannot be told."""
    lines = [*paragraph(heading_words(result), width), ""]
    for warning in result.warnings:
        lines += [*paragraph(warning, width), ""]
    for note in result.notes:
        lines += paragraph(note_words(note), width)
    inseparable = [line for said in inseparable_words(result) for line in paragraph(said, width)]
    lines += ["", *inseparable] if inseparable else []
    for said in left_out_words(result):
        lines += ["", *paragraph(said, width)]
    lines += ["", *_more(width)]
    return lines


def note_words(note: NoteInfluences) -> str:
    """Return what moves a note, and how it grows."""
    return f"{note.sentence} It {note.shape_note}." if note.shape_note else note.sentence


def heading_words(result: Influences) -> str:
    """Return what the figures rest on, and in which unit they are."""
    return (
        f"What {result.n_casks} casks nosed in {result.n_draws} draws tell. Figures are points of "
        "the 0-100 line, everything else recorded being equal."
    )


def inseparable_words(result: Influences) -> Iterator[str]:
    """Give what cannot be told apart yet, and what would part it, a sentence each."""
    for part in result.separation.inseparable:
        level = f"({part.level})" if part.factor is Covariate.PREVIOUS else part.level
        name = f"{FACTORS_AS_NOUN[part.factor]} {level}".strip()
        yield f"{name} {part.note}."


FACTORS_AS_NOUN = {
    Covariate.WOOD: "Wood",
    Covariate.FILL: "",
    Covariate.PREVIOUS: "Previous contents",
    Covariate.WAREHOUSE: "Warehouse",
    Covariate.MAKE: "Make",
    Covariate.AGE: "Age",
    Covariate.PHENOL: "Phenols of the malt",
    Covariate.STRENGTH: "Strength when filled",
}


def left_out_words(result: Influences) -> Iterator[str]:
    """Give how many draws were left out, and why; nothing where none was."""
    if result.left_out:
        parts = ", ".join(
            f"{count} {'draw' if count == 1 else 'draws'} ({why})"
            for why, count in result.left_out.items()
        )
        yield f"Left out: {parts}."


def _more(width: int) -> list[str]:
    return paragraph(
        "`oakpanel influences DESCRIPTOR` shows one note's figures, with --picture - as a picture; "
        "`oakpanel profile CASK` foretells a cask that nobody nosed.",
        width,
    )


def effect_lines(result: Influences, descriptor: str, width: int = 80) -> list[str]:
    """Return one note: its sentence, then its effects by influence."""
    note = next(part for part in result.notes if part.descriptor == descriptor)
    lines = [line for warning in result.warnings for line in paragraph(warning, width)]
    lines += (
        ["", *paragraph(note_words(note), width)] if lines else paragraph(note_words(note), width)
    )
    if note.reason and not result.of(descriptor):
        return lines
    lines += paragraph(f"In brackets: where it lies with {result.level:.0%} certainty.", width)
    for factor, group in groupby(result.of(descriptor), key=lambda effect: effect.factor):
        lines += ["", *_factor_lines(factor, list(group), width)]
    if any(effect.unclaimed for effect in result.of(descriptor)):
        lines += ["", *paragraph(f"* {NOT_CLAIMED_WORDS}", width)]
    lines += ["", *paragraph(power_words(note), width)]
    return lines


_AGAINST_ONE = (Factor.WOOD, Factor.FILL, Factor.PREVIOUS, Factor.WAREHOUSE, Factor.MAKE)
"""Of these the heading names what all levels are compared with."""


def _factor_lines(factor: Factor, effects: Sequence[Effect], width: int) -> list[str]:
    told = [effect for effect in effects if effect.estimate is not None]
    against = {effect.against for effect in told}
    heading = FACTORS[factor]
    if len(against) == 1 and factor in _AGAINST_ONE:
        heading += f", against {next(iter(against))}"
    lines = [f"{heading}:"]
    room = max((len(effect.level) for effect in told), default=0)
    for effect in told:
        lines += _effect_line(effect, min(room, width - 36), width)
    untold: dict[str, list[str]] = {}
    for effect in effects:
        if effect.estimate is None:
            untold.setdefault(effect.note or "not known", []).append(effect.level)
    for why, levels in untold.items():
        lines += paragraph(f"{', '.join(levels)}: {why}.", width, INDENT)
    return lines


NOT_CLAIMED_WORDS = (
    "not claimed: taken by itself it lies beyond 0, but over all notes and influences together "
    "it may be chance, or belong to what goes with it."
)


NOT_CLAIMED = "not claimed"


def _effect_line(effect: Effect, room: int, width: int) -> list[str]:
    casks = "1 cask" if effect.n_casks == 1 else f"{effect.n_casks} casks"
    if effect.low is None or effect.high is None:
        line = f"{INDENT}{effect.level:<{room}}  {effect.estimate:6.1f}   {casks}"
    else:
        span = f"({effect.low:+.1f} to {effect.high:+.1f})"
        span += " *" if effect.unclaimed else ""
        line = f"{INDENT}{effect.level:<{room}}  {effect.estimate:+6.1f}  {span:<18} {casks}"
    note = paragraph(effect.note, width, INDENT * 2) if effect.note else []
    return [line[:width], *note]


def power_words(note: NoteInfluences) -> str:
    """Return how well a cask is foretold that nobody nosed."""
    if note.q2_cask is None:
        return "How well a cask never nosed is foretold cannot be said."
    words = f"Foretold without the cask: {_share(note.q2_cask)} of the differences"
    if note.q2_batch is not None:
        words += f"; without its whole filling batch: {_share(note.q2_batch)}"
    if note.ceiling is not None:
        words += f"; at best, readings being noisy: {_share(note.ceiling)}"
    return f"{words}."


def effect_cells(effect: Effect) -> tuple[str, ...]:
    """Return what one level does: points and both ends where they are known, casks, a remark."""
    said = effect.note or (NOT_CLAIMED if effect.unclaimed else "")
    ends = tuple("-" if end is None else f"{end:+.1f}" for end in (effect.low, effect.high))
    sign = "+" * _signed(effect)
    points = "-" if effect.estimate is None else f"{effect.estimate:{sign}.1f}"
    name = FACTORS[effect.factor], effect.level, effect.against or "-"
    return *name, points, *ends, f"{effect.n_casks}", said


def _signed(effect: Effect) -> bool:
    """A difference has a sign; how far casks differ among themselves has none."""
    return effect.low is not None


def _share(q2: float) -> str:
    return "none" if q2 <= 0 else f"{q2:.0%}"
