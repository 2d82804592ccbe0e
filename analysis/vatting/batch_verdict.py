"""The sentences that are said of a batch beside the one before it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..chance_words import in_100
from ..counted import measured
from ..digits import in_digits

if TYPE_CHECKING:
    from .batch import BatchAfter, BatchBefore


def batch_sentence(found: BatchAfter) -> str:
    """Say how near the two batches lie: a chance about the spirit, never about who smells it."""
    casks = "1 cask" if found.n_casks == 1 else f"{found.n_casks} casks"
    at = found.before.nosing_abv_percent
    panel = "our panel" if at is None else f"our panel, nosing at {in_digits(at, 'g')} % vol"
    every = "every note" if len(found.lines) > 1 else f"{found.lines[0].descriptor}"
    said = (
        f"{casks}, {in_digits(found.bottles, ',')} bottles (safe to number: "
        f"{in_digits(found.bottles_safe, ',')}). For "
        f"{panel}, {_named(found.before)} and this one lie within "
        f"{measured(found.within_points, 'point')} of each other on {every} with a chance of "
        f"{in_100(found.probability)}; furthest off is {found.furthest}, "
        f"{signed(found.furthest_points)}."
    )
    return " ".join(filter(None, (said, _not_nosed(found), _left_out(found), _of_target(found))))


def _named(before: BatchBefore) -> str:
    """Name what the batch is to be like by what it is: of this target and vatted, or neither."""
    told = [
        *([f"made for the target {before.other_target}"] if before.other_target else []),
        *(["only proposed"] if before.only_proposed else []),
    ]
    if not told:
        return f"the last batch ({before.lot})"
    what = "the release" if before.only_proposed else "the batch"
    return f"{what} {before.lot} ({', '.join(told)})"


def signed(points: float) -> str:
    """Points with their sign, in whole ones from one up."""
    shown = f"{points:+.0f}" if abs(points) >= 1.0 else in_digits(points, "+.1f")
    return shown.replace("+0.0", "0").replace("-0.0", "0")


def batch_action(found: BatchAfter) -> str:
    """What to do with the next batch."""
    if found.probability >= _EVEN:
        return (
            f"mix it on the bench and have it nosed blind beside {found.before.lot}: the check of "
            "a batch is planned from the release's page"
        )
    return (
        f"look at {found.furthest} first: other casks, a wider recipe, or a word to those who "
        "present it"
    )


_EVEN = 0.5


def _not_nosed(found: BatchAfter) -> str:
    if found.before.nosed:
        return ""
    return (
        f"Nobody nosed a blend of {found.before.lot}: its notes are as they were reckoned from its "
        "casks."
    )


def _left_out(found: BatchAfter) -> str:
    if not found.left_out:
        return ""
    return f"Not compared, as nothing is known of it there: {', '.join(found.left_out)}."


def _of_target(found: BatchAfter) -> str:
    if found.of_target is None:
        return ""
    return f"Within the target's own tolerances it is with a chance of {in_100(found.of_target)}."
