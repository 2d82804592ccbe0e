"""What moves a note, in one sentence: clear effects first, the largest first."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.influences.power import Power
from analysis.influences.result import Effect

MAIN = ("wood", "fill", "age", "phenols", "fill strength", "previous", "warehouse", "make")
MOST_NAMED = 4
LEAST_NAMED = 2.0
"""Points; a smaller difference has no place in a sentence, however sure it is."""
USUAL_STRENGTH_SPAN = 4.0
"""Per cent by volume over which casks are commonly filled (common practice, no source)."""
WELL, SOME = 0.5, 0.2
"""Share of what could be foretold at best: from here the influences say much, or something."""


def note_sentence(descriptor: str, effects: Sequence[Effect], power: Power) -> str:
    """Say what moves a note and how well that foretells a cask never nosed."""
    clear = clearest(effects)
    if clear:
        named = ", ".join(phrase(effect) for effect in clear[:MOST_NAMED])
        moved = f"{descriptor} moves with {named}."
    else:
        moved = f"Nothing recorded moves {descriptor} for certain."
    return f"{moved} {power_words(power)}"


def clearest(effects: Sequence[Effect]) -> list[Effect]:
    """The largest clear effect of each main influence, the largest first."""
    clear: dict[str, Effect] = {}
    for effect in sorted(effects, key=lambda effect: -abs(effect.estimate or 0.0)):
        if effect.clear and effect.factor in MAIN and _matters(effect):
            clear.setdefault(effect.factor, effect)
    return list(clear.values())


def _matters(effect: Effect) -> bool:
    size = abs(effect.estimate or 0.0)
    usual = USUAL_STRENGTH_SPAN if effect.factor == "fill strength" else 1.0
    return size * usual >= LEAST_NAMED


def phrase(effect: Effect) -> str:
    """Name an effect with its size."""
    by = f"{effect.estimate:+.1f}"
    if effect.factor in {"age", "phenols"}:
        return f"{'age' if effect.factor == 'age' else 'phenols'} ({by} from {effect.level})"
    if effect.factor == "fill strength":
        return f"fill strength ({by} a % vol)"
    if effect.factor in {"wood", "fill", "previous"}:
        return f"{effect.level} ({by} against {effect.against})"
    return f"{effect.factor} {effect.level} ({by})"


def power_words(power: Power) -> str:
    """Say how well a cask never nosed is foretold."""
    if power.q2_cask is None or power.ceiling is None or power.ceiling <= 0.0:
        return "How well it is foretold cannot be said."
    share = power.q2_cask / power.ceiling
    off = f"off by {power.off_by_points:.1f} points typically"
    if share >= WELL:
        return f"A cask never nosed is foretold well ({off})."
    if share >= SOME:
        return f"A cask never nosed is foretold roughly ({off}): nose it before acting."
    return f"A cask never nosed is hardly foretold ({off}): only nosing tells."
