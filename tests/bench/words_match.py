"""Rows: the chance that a cask lies within every tolerance, where casks are not normal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analysis.profile import ProfileSettings, estimate_profile
from analysis.target import match_casks
from tests.bench.match_worlds import CELLARS, Cellar
from tests.bench.word_rates import Row

_SURE, _HARDLY = 0.8, 0.2
WITHIN = "within every tolerance, told at .8 or more"
WITHOUT = "within every tolerance, told at .2 or less"
RULES = {
    WITHIN: "the chance by the spread that the casks of the house show (normal below eight nosed "
    "casks), with the error that all casks share; false where the cask does not lie within",
    WITHOUT: "the same; false where the cask lies within all the same",
}

Told = list[tuple[float, bool]]
"""Of each cask the chance, and whether it lies within."""


@dataclass(frozen=True)
class Matched:
    """A cellar that is matched after its sessions."""

    cellar: Cellar

    def __call__(self, seed: int) -> Told:
        """Draw, fit and match."""
        scores, within = self.cellar.draw(seed)
        profile = estimate_profile(scores, settings=ProfileSettings(processes=1))
        found = match_casks(profile, self.cellar.target(seed), draws=10)
        return [(one.probability, within[one.cask]) for one in found.casks]


def missed(told: Told) -> Iterator[bool]:
    """Whether a cask that is told to suit does not."""
    yield from (not within for chance, within in told if chance >= _SURE)


def overlooked(told: Told) -> Iterator[bool]:
    """Whether a cask that is told not to suit does."""
    yield from (within for chance, within in told if chance <= _HARDLY)


def rows() -> Iterator[Row]:
    """Every row."""
    for kind in CELLARS:
        draw, where = Matched(Cellar(kind)), f"60 casks nosed once by six people: {kind}"
        name = kind.replace(" ", "-")
        yield Row(
            f"within-sure-{name}", WITHIN, where, 0.2, True, draw, missed, 100, 400, "cellars"
        )
        yield Row(
            f"within-hardly-{name}",
            WITHOUT,
            where,
            0.1,
            True,
            draw,
            overlooked,
            100,
            400,
            "cellars",
        )
