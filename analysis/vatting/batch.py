"""Batch after batch: how near a vatting lies to the one before, and which casks bring it near."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor

import numpy as np

from ..as_json import AsJson
from ..errors import InputError
from ..house_line import on_the_line
from ..profile import Profile
from ..profile.posterior import Posterior
from ..strength import bottles_from
from ..target import Target, TargetLine
from .limits import Basis, Limits, Share
from .mixture import Mixture
from .stock import Stock

WITHIN_POINTS = 10.0
"""So far apart two batches may lie on a note; the house's own measure of alike."""
RECIPE_WITHIN = 0.1
"""So far the share of a wood or a make may be from that of the batch before."""
_HAIR = 1e-6


@dataclass(frozen=True)
class NoteBefore:
    """One note of the batch before: value and its standard deviation, points of the line."""

    descriptor: str
    estimate: float
    sd: float


@dataclass(frozen=True)
class BatchBefore:
    """The batch that another is to follow.

    Attributes
    ----------
    lot, release
        Its lot code, or the release's name where it has none yet; and that name.
    notes
        What is known of its notes.
    sample, sessions, nosing_abv_percent
        The sample in which the panel found them, in which sessions and at which strength; None
        and empty where they are only reckoned from its casks.
    only_proposed
        Whether its casks are reserved and nothing is vatted yet.
    other_target
        The target it was made for, where this one is for another.
    """

    lot: str
    release: str
    notes: tuple[NoteBefore, ...]
    sample: str | None = None
    sessions: tuple[str, ...] = ()
    nosing_abv_percent: float | None = None
    only_proposed: bool = False
    other_target: str | None = None

    @property
    def nosed(self) -> bool:
        """Whether the panel found its notes."""
        return self.sample is not None


@dataclass(frozen=True)
class BatchLine:
    """A note of both batches.

    Attributes
    ----------
    before, estimate, difference
        Of the batch before, of this one, and this one less that; points.
    sd
        Of the difference, with the errors of both and of the rule of mixing.
    probability
        Chance that the two lie no further apart than asked.
    """

    descriptor: str
    before: float
    estimate: float
    difference: float
    sd: float
    probability: float


@dataclass(frozen=True)
class BatchAfter(AsJson):
    """How near a vatting lies to the batch before it.

    Attributes
    ----------
    probability
        Chance that on every note the two lie no further apart than `within_points`: of the
        spirit as this panel would find it, not of what anybody can tell apart.
    bottles, bottles_safe
        As expected, and the number that is safe to print.
    furthest
        The note on which they are expected furthest apart.
    left_out
        Notes of the target of which nothing is known in the batch before.
    of_target
        Chance that it is within the tolerances of the target itself; None where not asked.
    """

    before: BatchBefore
    within_points: float
    n_casks: int
    bottles: int
    bottles_safe: int
    probability: float
    lines: tuple[BatchLine, ...]
    left_out: tuple[str, ...] = ()
    of_target: float | None = None

    json_keys = (
        ("before", "**"),
        *("nosed", "within_points", "n_casks", "bottles", "bottles_safe", "probability"),
        *("furthest", "furthest_points", "lines", "left_out", "of_target", "sentence"),
    )

    @property
    def nosed(self) -> bool:
        """Whether the panel nosed the batch before."""
        return self.before.nosed

    @property
    def furthest_line(self) -> BatchLine:
        """The note on which the two are expected furthest apart."""
        return max(self.lines, key=lambda line: abs(line.difference))

    @property
    def furthest(self) -> str:
        """Its name."""
        return self.furthest_line.descriptor

    @property
    def furthest_points(self) -> float:
        """How far apart they are on it, this batch less the one before."""
        return self.furthest_line.difference

    @property
    def sentence(self) -> str:
        """The answer in words."""
        from .batch_verdict import batch_sentence

        return batch_sentence(self)


def notes_found(profile: Profile, sample: str, names: Sequence[str]) -> tuple[NoteBefore, ...]:
    """Return what the panel found in a sample on some notes, where it can be compared.

    The error that all samples share is left out: it is the same in the casks of the next batch,
    and goes out of the difference.
    """
    rows = profile.estimates
    rows = rows[
        (rows["sample"] == sample)
        & rows["estimate"].notna()
        & rows["se"].notna()
        & (rows["component"] == 0)
    ]
    held = profile.posterior
    found = []
    for name, estimate, se in zip(rows["descriptor"], rows["estimate"], rows["se"], strict=True):
        if name in names:
            value = float(on_the_line(np.array([float(estimate)]))[0])
            found.append(NoteBefore(str(name), value, _own_sd(held, sample, str(name), float(se))))
    order = {name: at for at, name in enumerate(names)}
    return tuple(sorted(found, key=lambda note: order[note.descriptor]))


def _own_sd(held: Posterior | None, sample: str, name: str, se: float) -> float:
    if held is None or sample not in held.samples:
        return se
    shared = float(held.shared([name])[0])
    return float(np.sqrt(max(se**2 - shared, 0.01 * se**2)))


def as_before(
    stock: Stock, target: Target, before: BatchBefore, *, within_points: float = WITHIN_POINTS
) -> tuple[Stock, Target]:
    """Put the question of a batch like the one before as a target and a stock to choose from.

    Parameters
    ----------
    stock
        Casks, with the errors that they share among themselves.
    target
        Its notes and weights count, not its aims.
    before
        What is known of the batch before.
    within_points
        How far apart the two may lie.

    Returns
    -------
    tuple of Stock and Target
        The aims are what was found in the batch before. In place of the panel's own common
        error, which both batches share, the stock bears the error of what was found: so the
        chance of every line within is that of the two lying no further apart.

    Raises
    ------
    InputError
        The target and what is known of the batch before have no note in common.

    Examples
    --------
    >>> import pandas as pd
    >>> from oakpanel.analysis.target import Target, TargetLine
    >>> from oakpanel.analysis.vatting import build_stock
    >>> casks = pd.DataFrame({"cask": ["a"], "filling": ["a/1"], "age_years": [12.0],
    ...     "abv": [58.0], "bulk_l": [200.0]})
    >>> notes = pd.DataFrame({"cask": ["a"], "descriptor": "smoke", "estimate": [20.0], "sd": 2.0})
    >>> before = BatchBefore("L1", "Fen-1", (NoteBefore("smoke", 24.0, 1.5),))
    >>> stock, aim = as_before(build_stock(casks, notes), Target("Fen", (TargetLine("smoke", 18,
    ...     4),)), before)
    >>> aim.lines[0].aim, aim.lines[0].tolerance, stock.panel_sd
    (24.0, 10.0, {'smoke': 1.5})
    """
    known = {note.descriptor: note for note in before.notes}
    lines = tuple(
        TargetLine(
            line.descriptor,
            round(known[line.descriptor].estimate, 1),
            within_points,
            line.weight,
        )
        for line in target.lines
        if line.descriptor in known
    )
    if not lines:
        raise InputError(
            f"Target {target.name} and batch {before.lot} have no notes in common: nothing is "
            f"known of {', '.join(line.descriptor for line in target.lines)} in that batch."
        )
    sds = {line.descriptor: known[line.descriptor].sd for line in lines}
    return replace(stock, panel_sd=sds), Target(target.name, lines)


def batch_after(
    mixture: Mixture,
    before: BatchBefore,
    target: Target,
    limits: Limits,
    *,
    within_points: float = WITHIN_POINTS,
    of_target: float | None = None,
) -> BatchAfter:
    """Say how near a vatting that was chosen by :func:`as_before` lies to the batch before.

    Parameters
    ----------
    mixture
        The vatting, its prediction against what was found in the batch before.
    before, target, limits
        The batch before, the target as it stands in the house, and what was asked.
    within_points
        As it was chosen by.
    of_target
        Chance that it is within the target's own tolerances.
    """
    known = {note.descriptor for note in before.notes}
    poured = mixture.poured
    filled = bottles_from(poured.final_litres, limits.bottle_ml, limits.loss_fraction)
    return BatchAfter(
        before=before,
        within_points=within_points,
        n_casks=len(mixture.parts),
        bottles=filled.bottles,
        bottles_safe=poured.bottles,
        probability=mixture.probability,
        lines=tuple(
            BatchLine(line.descriptor, line.aim, line.estimate, line.off, line.sd, line.probability)
            for line in mixture.prediction
        ),
        left_out=tuple(line.descriptor for line in target.lines if line.descriptor not in known),
        of_target=of_target,
    )


def recipe_shares(
    parts: Iterable[tuple[str | None, str | None, float]], *, within: float = RECIPE_WITHIN
) -> tuple[Share, ...]:
    """Return the shares by wood and by make of a batch as limits for the next, by bulk litres.

    Parameters
    ----------
    parts
        Wood, make and litres of each part; None where it is not on record.
    within
        How far a share may be from what it was, as a fraction.

    Examples
    --------
    >>> shares = recipe_shares([("oak butt", "Reed", 60.0), ("barrel", "Reed", 40.0)])
    >>> [share.words for share in shares]  # doctest: +NORMALIZE_WHITESPACE
    ['wood oak butt 50 to 70 % by bulk litres', 'wood barrel 30 to 50 % by bulk litres',
     'make Reed 90 to 100 % by bulk litres']
    """
    litres: dict[tuple[str, str], float] = {}
    whole = 0.0
    for wood, make, amount in parts:
        whole += amount
        for column, value in (("wood", wood), ("make", make)):
            if value is not None:
                litres[column, value] = litres.get((column, value), 0.0) + amount
    order = sorted(litres, key=lambda key: (key[0] != "wood", -litres[key], key[1]))
    return tuple(
        _about(column, value, litres[column, value] / whole, within) for column, value in order
    )


def _about(column: str, value: str, share: float, within: float) -> Share:
    """A share in whole percent: nobody measures a recipe nearer."""
    low, high = floor(100.0 * (share - within) + _HAIR), ceil(100.0 * (share + within) - _HAIR)
    return Share(column, (value,), max(low, 0) / 100.0, min(high, 100) / 100.0, Basis.BULK)
