"""What moves a note, in one sentence: clear effects first, the largest first."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from ..digits import in_digits
from .factor_tests import FACTORS
from .factors import Factor
from .moves import ENOUGH_CASKS, Claims
from .power import Power
from .result import Effect

MAIN = FACTORS
QUESTIONS = {factor: {factor} for factor in MAIN} | {Factor.FILL: {Factor.FILL, Factor.WOOD_FILL}}
"""Effects that answer for an influence."""
WHOLE = {
    Factor.WOOD: "wood as a whole",
    Factor.FILL: "fill number as a whole",
    Factor.AGE: "age (by how much is not sure)",
    Factor.PHENOLS: "phenols (by how much is not sure)",
    Factor.FILL_STRENGTH: "fill strength (by how much is not sure)",
    Factor.PREVIOUS: "previous contents as a whole",
    Factor.WAREHOUSE: "warehouse as a whole",
    Factor.MAKE: "make as a whole",
}
"""An influence that holds although no single level stands out from another."""
SPOKEN = {Factor.FILL: "fill number", Factor.PREVIOUS: "previous contents"}
"""Influences whose name alone is no plain word."""
LEAST_CASKS = 3
"""A headline rests on no single cask."""
MOST_NAMED = 4
LEAST_NAMED = 2.0
"""Points; a smaller difference has no place in a sentence, however sure it is."""
USUAL_STRENGTH_SPAN = 4.0
"""Per cent by volume over which casks are commonly filled (common practice, no source)."""
WELL, SOME = 0.5, 0.2
"""Share of what could be foretold at best: from here the influences say much, or something."""


class Foretells(StrEnum):
    """How well a cask never nosed is foretold."""

    WELL = "well"
    ROUGHLY = "roughly"
    HARDLY = "hardly"
    UNKNOWN = "cannot be said"


def note_sentence(
    descriptor: str, effects: Sequence[Effect], power: Power, held: Claims, n_casks: int
) -> str:
    """Say what moves a note and how well that foretells a cask never nosed.

    What holds is never said to move a note that it hardly foretells.
    """
    holding = [factor for factor in MAIN if held.holds(descriptor, factor)]
    sets = [
        not_apart(part)
        for part in held.together(descriptor)
        if not any(factor in holding for factor in part)
    ]
    if not holding and not sets:
        return f"{_nothing(descriptor, held, n_casks)} {power_words(power)}"
    if foretells(power) is Foretells.HARDLY:
        shown = " and ".join([*holding, *sets])
        return (
            f"{shown[0].upper()}{shown[1:]} can be seen in {descriptor} on the whole. "
            f"{power_words(power)}"
        )
    clear = clearest(effects)
    named = [phrase(effect) for effect in clear[: MOST_NAMED - len(sets)]]
    told = {effect.factor for effect in clear}
    named += [WHOLE[factor] for factor in holding if QUESTIONS[factor].isdisjoint(told)]
    named = [*named[: MOST_NAMED - len(sets)], *sets]
    return f"{descriptor} moves with {', '.join(named)}. {power_words(power)}"


def not_apart(together: Sequence[Factor]) -> str:
    """Name influences that move a note, nobody can say which."""
    names = [SPOKEN.get(factor, str(factor)) for factor in together]
    apart = "which cannot be told apart here"
    return f"{', '.join(names[:-1])} or {names[-1]} ({apart})"


def _nothing(descriptor: str, held: Claims, n_casks: int) -> str:
    """Say that nothing is found, or that so few casks cannot tell."""
    wanted = held.casks_wanted(descriptor)
    if n_casks >= ENOUGH_CASKS and (wanted is None or wanted <= n_casks):
        return f"Nothing recorded moves {descriptor} for certain."
    enough = "" if wanted is None else f": about {max(wanted, ENOUGH_CASKS)} would do"
    return f"What moves {descriptor} cannot be told yet from {n_casks} casks{enough}."


def clearest(effects: Sequence[Effect]) -> list[Effect]:
    """The largest clear effect of each main influence, the largest first.

    None rests on a cask or two; fill numbers are told within a wood where woods differ in them.
    """
    clear: dict[Factor, Effect] = {}
    for effect in sorted(effects, key=lambda effect: -abs(effect.estimate or 0.0)):
        named = effect.factor in MAIN or effect.factor is Factor.WOOD_FILL
        if effect.clear and named and _matters(effect) and effect.n_casks >= LEAST_CASKS:
            clear.setdefault(effect.factor, effect)
    if Factor.WOOD_FILL in clear:
        clear.pop(Factor.FILL, None)
    return sorted(clear.values(), key=lambda effect: -abs(effect.estimate or 0.0))


def _matters(effect: Effect) -> bool:
    size = abs(effect.estimate or 0.0)
    usual = USUAL_STRENGTH_SPAN if effect.factor is Factor.FILL_STRENGTH else 1.0
    return size * usual >= LEAST_NAMED


def phrase(effect: Effect) -> str:
    """Name an effect with its size."""
    by = in_digits(effect.estimate, "+.1f")
    if effect.factor in {Factor.AGE, Factor.PHENOLS}:
        return f"{effect.factor} ({by} from {effect.level})"
    if effect.factor is Factor.FILL_STRENGTH:
        return f"{effect.factor} ({by} a % vol)"
    if effect.factor in {Factor.WOOD, Factor.FILL, Factor.WOOD_FILL, Factor.PREVIOUS}:
        return f"{effect.level} ({by} against {effect.against})"
    return f"{effect.factor} {effect.level} ({by})"


def foretells(power: Power) -> Foretells:
    """How well the influences foretell a cask never nosed."""
    if power.q2_cask is None or power.ceiling is None or power.ceiling <= 0.0:
        return Foretells.UNKNOWN
    share = power.q2_cask / power.ceiling
    return (
        Foretells.WELL
        if share >= WELL
        else Foretells.ROUGHLY
        if share >= SOME
        else Foretells.HARDLY
    )


def power_words(power: Power) -> str:
    """Say how well a cask never nosed is foretold."""
    how = foretells(power)
    off = f"off by {in_digits(power.off_by_points, '.1f')} points typically"
    if how is Foretells.UNKNOWN:
        return "How well it is foretold cannot be said."
    if how is Foretells.WELL:
        return f"A cask never nosed is foretold well ({off})."
    if how is Foretells.ROUGHLY:
        return f"A cask never nosed is foretold roughly ({off}): nose it before acting."
    return f"A cask never nosed is hardly foretold ({off}): only nosing tells."
