"""Which terms the glasses can tell apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..array_types import Codes
from .layout import ModelLayout

SAMPLE, FILLING = "sample", "filling"
ASSESSOR, SESSION = "assessor", "session"
ASSESSOR_SESSION, ASSESSOR_SAMPLE = "assessor_session", "assessor_sample"


@dataclass(frozen=True)
class Terms:
    """The random terms that can be told apart, and why the others are out."""

    names: tuple[str, ...]
    left_out: dict[str, str]


def choose_terms(layout: ModelLayout, *, fixed_samples: bool = False) -> Terms:
    """Choose the random terms: one that another term or single glasses mirror is left out."""
    g = layout.glasses
    glass_filling = g.filling[g.sample]
    wanted = {
        SAMPLE: (g.sample, "every glass held another sample"),
        FILLING: (glass_filling, "there is one filling"),
        ASSESSOR: (g.assessor, "there is one assessor, or each scored once"),
        SESSION: (g.session, "there is one session, or it cannot be told from another term"),
        ASSESSOR_SESSION: (layout.block, "each assessor was there once"),
        ASSESSOR_SAMPLE: (layout.cell, "no assessor had a sample twice"),
    }
    if fixed_samples:
        wanted = {name: part for name, part in wanted.items() if name not in (SAMPLE, FILLING)}
    factors: dict[str, Codes] = {}
    left_out: dict[str, str] = {}
    for name, (codes, reason) in wanted.items():
        if _stands_apart(codes, factors.values()):
            factors[name] = codes
        elif name != FILLING or int(codes.max()) + 1 < g.n_samples:
            left_out[name] = reason
    return Terms(tuple(factors), left_out)


def _stands_apart(codes: Codes, others: Iterable[Codes]) -> bool:
    """Whether a grouping is neither trivial, nor one a glass, nor a copy of another."""
    n_levels = int(codes.max()) + 1
    if n_levels in (1, len(codes)):
        return False
    return not any(int(other.max()) + 1 == n_levels == _n_pairs(codes, other) for other in others)


def _n_pairs(first: Codes, second: Codes) -> int:
    joint = first.astype(np.int64) * (int(second.max()) + 1) + second
    return len(np.unique(joint))
