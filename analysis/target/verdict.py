"""How sure a list of casks is, in one sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..chance_words import in_100

LEAST_PROBABLE = 0.05
"""A cask that lies within all tolerances with a smaller chance fits by itself no target."""
EVEN = 0.5
"""A first of the list that is the nearest with a smaller chance is as likely not to be."""


@dataclass(frozen=True)
class Sureness:
    """What the sentence leans on.

    Attributes
    ----------
    best_probability
        Chance that the first of the list is within all tolerances.
    alike
        Those of the first casks that cannot be told from the first of all yet.
    """

    target: str
    n_first: int
    n_ranked: int
    best: str | None
    best_probability: float
    best_is_best: float
    first_hold_best: float
    n_distinguishable: int
    worst_descriptor: str
    alike: tuple[str, ...] = ()


def sure_sentence(found: Sureness, two_ways: Sequence[str] = ()) -> tuple[str, str]:
    """Say how sure the list is, and what to do next.

    `two_ways` are notes of the target that the panel read in two camps: no chance can count in
    which of them is right, so that it holds only if the one is that the estimates follow.
    """
    if found.best is None:
        action = "nose some casks on every descriptor of the target first"
        return f"No cask can be ranked for {found.target}: {action}.", action
    together = "nose the reference together before you go by the list"
    action = together if two_ways else _action(found)
    return f"{_how_sure(found, two_ways)}: {action}.", action


def sure_beside_best(found: Sureness, two_ways: Sequence[str] = ()) -> str | None:
    """Say how sure the list is, to stand beside the answer whether nosing on pays.

    None where what to do next is not to ask for that answer: that is said all the same.
    """
    if found.best is None or two_ways or not _asks_of_nosing(found):
        return None
    return f"{_how_sure(found)}."


def _how_sure(found: Sureness, two_ways: Sequence[str] = ()) -> str:
    alike = _n_alike(found)
    if found.n_first == 1:
        said = f"Only cask {found.best} can be ranked for {found.target}"
    else:
        said = (
            f"Cask {found.best} comes first of {found.n_ranked} for {found.target}, truly the "
            f"nearest {_chance(found.best_is_best)}; {_alike(alike, found.n_first - 1)}, and "
            f"the first {found.n_first} hold the nearest {_chance(found.first_hold_best)}"
        )
    said += f"; it lies within every tolerance {_chance(found.best_probability)}"
    if two_ways:
        only = f"Only if the right camp was followed on {', '.join(two_ways)}"
        said = f"{only}: {said[:1].lower()}{said[1:]}"
    return said


def _n_alike(found: Sureness) -> int:
    return found.n_first - 1 - found.n_distinguishable


def _alike(count: int, others: int) -> str:
    following = "the next one" if others == 1 else f"the next {others}"
    if count == 0:
        return f"{following} {'is' if others == 1 else 'are'} surely further off"
    if count == others:
        return f"{following} cannot be told from it yet"
    return f"{count} of {following} cannot be told from it yet"


# Whether nosing on pays is no matter of a list: that has its home beside the next session.
def _asks_of_nosing(found: Sureness) -> bool:
    unsure = _n_alike(found) > 0 or found.best_is_best < EVEN
    return found.best_probability >= LEAST_PROBABLE and unsure


def _action(found: Sureness) -> str:
    if found.best_probability < LEAST_PROBABLE:
        return f"no single cask fits, so think of a vatting, and look at {found.worst_descriptor}"
    if _asks_of_nosing(found):
        which = "these side by side" if _n_alike(found) > 0 else "the first of the list again"
        return f"before choosing, see whether nosing {which} still pays"
    return "draw it again and confirm on the bench"


def _chance(probability: float) -> str:
    said = in_100(probability)
    return f"with a chance {'of ' if said[0].isdigit() else ''}{said}"
