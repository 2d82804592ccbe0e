"""On which part of a vatting its answer hangs, and whether a session could turn it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from ..array_types import Flags, Matrix, Vector
from .blend import BlendWeighing, VatLines
from .deciding_lines import LinesCost
from .result import Change
from .room import BLEND
from .vat_mind import PartHangs, VatMind

_DRAWS = 20_000
"""A chance is then told to within .004."""


def mind_of(
    before: BlendWeighing,
    after: Matrix,
    cost: LinesCost,
    told: tuple[float, float],
    alone: Matrix,
    changes: Sequence[Change],
    litres: Mapping[str, float],
    poured: Counter[str],
    seed: int,
) -> VatMind:
    """Tell what a session could change about a vatting.

    Parameters
    ----------
    before
        What glasses are worth with nothing poured.
    after
        Covariance of the lines once the session is held, as `VatLines.whole` gives it before.
    told
        Chance that the worst line is within, if it is found better or worse.
    alone
        By how much one glass of each by each person moves that line (see `moves_alone`).
    changes
        Of each part and of the blend what its glasses would do to the worst line.
    poured
        Glasses of each in the session.
    """
    lines, worst = before.lines, cost.worst
    best = dict(zip(before.names, alone, strict=True))
    shares, rule, panel = shares_of(lines, worst)
    by_cask = dict(zip(lines.names, shares.tolist(), strict=True))
    parts = [
        PartHangs(
            cask=None if one.cask == BLEND else one.cask,
            litres=litres.get(one.cask),
            share=by_cask.get(one.cask),
            n_glasses=poured[one.cask],
            crosses=one.crosses,
            one_glass=lines.over(worst, float(best[one.cask].max())),
            moves=float(best[one.cask].max()),
            assessor=before.panel.assessors[int(best[one.cask].argmax())],
        )
        for one in changes
    ]
    return VatMind(
        within=bool(lines.within.all()),
        chance=chance_within(lines, seed),
        turns=chance_of_turning(lines, after, seed),
        note=lines.notes[worst],
        note_chance=float(cost.chance[worst]),
        if_better=told[0],
        if_worse=told[1],
        rule_share=rule,
        panel_share=panel,
        parts=tuple(sorted(parts, key=_most_unsure)),
    )


def moves_alone(before: BlendWeighing, line: int) -> Matrix:
    """By how much one glass of each part, or of the blend, moves a line, (names, people)."""
    left = before.variances(np.arange(len(before.names)))[..., line]
    found: Matrix = np.sqrt(np.maximum(before.lines.variance[line] - left, 0.0))
    return found


def _most_unsure(part: PartHangs) -> float:
    return np.inf if part.share is None else -part.share


def shares_of(lines: VatLines, line: int) -> tuple[Vector, float, float]:
    """Split the variance of a line over its parts, the rule of mixing and the panel as a whole.

    A part has its covariance with the line, so that what parts share is counted to each by what
    it brings in: the shares make one.
    """
    counts = lines.counts_for[:, line]
    shared = counts[:, None] * lines.states.shared[:, line]
    each = counts**2 * lines.states.own[:, line, line] + shared @ shared.sum(axis=0)
    rule, panel = float(lines.rule[line]), float(lines.states.common[line])
    whole = float(each.sum()) + rule + panel
    found: Vector = each / whole
    return found, rule / whole, panel / whole


def chance_within(lines: VatLines, seed: int) -> float:
    """Chance that every line is within its tolerance, as it is known now."""
    covariance = lines.whole(lines.states.own) + np.diag(lines.states.common)
    return float(_all_within(lines, covariance, seed).mean())


def chance_of_turning(lines: VatLines, after: Matrix, seed: int) -> float:
    """Chance that what is expected after a session is within where it is out now, or out of it.

    What the session moves has the covariance that it takes away.
    """
    then = float(_all_within(lines, lines.whole(lines.states.own) - after, seed).mean())
    return 1.0 - then if lines.within.all() else then


def _all_within(lines: VatLines, covariance: Matrix, seed: int) -> Flags:
    """In which draws about what is expected every line is within."""
    values, ways = np.linalg.eigh(covariance)
    normal = np.random.default_rng(seed).standard_normal((_DRAWS, len(values)))
    drawn = lines.mean + normal * np.sqrt(np.maximum(values, 0.0)) @ ways.T
    found: Flags = ((drawn >= lines.low) & (drawn <= lines.high)).all(axis=1)
    return found
