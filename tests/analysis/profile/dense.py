"""The model of a descriptor written out in full, for checking the algebra on small worlds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.array_types import Matrix, Vector
from analysis.profile.layout import Glasses, ModelLayout
from analysis.profile.terms import (
    ASSESSOR,
    ASSESSOR_SAMPLE,
    ASSESSOR_SESSION,
    FILLING,
    SAMPLE,
    SESSION,
)

RATIOS = {
    SAMPLE: 0.7, FILLING: 0.5, ASSESSOR: 0.4, SESSION: 0.3,
    ASSESSOR_SESSION: 0.2, ASSESSOR_SAMPLE: 0.6,
}  # fmt: skip


@dataclass(frozen=True)
class World:
    """A small unbalanced panel: five assessors, nine draws of six fillings, four sessions."""

    glasses: Glasses
    y: Vector
    covariates: Matrix
    scale: Vector
    weight: Vector

    @classmethod
    def draw(cls, seed: int = 1, n: int = 70) -> World:
        rng = np.random.default_rng(seed)
        filling = np.array([0, 0, 0, 1, 1, 2, 3, 4, 5])
        codes = [
            np.concatenate([np.arange(size), rng.integers(size, size=n - size)])
            for size in (4, 5, 9)
        ]
        session, assessor, sample = (rng.permutation(c).astype(np.intp) for c in codes)
        glasses = Glasses(session, assessor, sample, filling)
        return cls(
            glasses,
            rng.normal(40.0, 12.0, n),
            rng.normal(size=(9, 2)),
            np.array([1.0, 0.7, 1.3, 0.2, -0.4]),
            rng.uniform(0.4, 2.0, n),
        )

    @property
    def layout(self) -> ModelLayout:
        return ModelLayout(self.glasses)


def tables(world: World) -> dict[str, Matrix]:
    """``Z`` of each term; samples about their mean."""
    g, lay = world.glasses, world.layout
    scale = world.scale[g.assessor][:, None]
    about = np.eye(g.n_samples) - 1.0 / g.n_samples
    samples = np.eye(g.n_samples)[g.sample] * scale @ about
    fillings = samples @ np.eye(int(g.filling.max()) + 1)[g.filling]
    return {
        SAMPLE: samples,
        FILLING: fillings,
        ASSESSOR: np.eye(g.n_assessors)[g.assessor],
        SESSION: np.eye(g.n_sessions)[g.session],
        ASSESSOR_SESSION: np.eye(lay.n_blocks)[lay.block],
        ASSESSOR_SAMPLE: np.eye(lay.n_cells)[lay.cell],
    }


@dataclass(frozen=True)
class Dense:
    """``V``, its parts and ``P``."""

    z: dict[str, Matrix]
    v: Matrix
    x: Matrix
    p: Matrix

    @classmethod
    def of(cls, world: World, ratios: dict[str, float]) -> Dense:
        z = tables(world)
        v = np.diag(1.0 / world.weight)
        for name, ratio in ratios.items():
            v = v + ratio * z[name] @ z[name].T
        g = world.glasses
        told = world.scale[g.assessor][:, None] * world.covariates[g.sample]
        x = np.column_stack([np.ones(g.n), told])
        inverse: Matrix = np.linalg.inv(v).astype(np.float64)
        middle: Matrix = np.linalg.inv(x.T @ inverse @ x).astype(np.float64)
        p: Matrix = inverse - inverse @ x @ middle @ x.T @ inverse
        return cls(z, v, x, p)
