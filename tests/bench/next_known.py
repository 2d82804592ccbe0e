"""The same way of choosing glasses where all is known but the casks: what learning people costs.

People, noises, spreads and how much records explain are the world's own; only the casks' levels,
and what records do to them, are learned, by the exact joint normal. No house knows so much of its
people: what is needed here is what the program's way of choosing may hope for at best.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.next_glasses import Room
from analysis.next_glasses.fill import fill
from analysis.next_glasses.margins import BestWeighing, margins_of
from analysis.next_glasses.panel import PanelNoise
from analysis.next_glasses.states import States
from tests.bench.next_policies import Glasses, Policy, Step
from tests.bench.next_worlds import (
    BEST,
    CASKS,
    EXPLAINED,
    N_CASKS,
    N_PEOPLE,
    PEOPLE,
    REFERENCE,
    SPREAD,
    House,
    regret_of,
)

_OFFSET, _MOOD, _OPINION = 10.0, 3.0, 3.0
"""Standard deviations of the worlds: see `next_worlds`."""


class AllKnown(Glasses):
    """Glass by glass, everything but the casks known."""

    name = "known"
    fits = False
    planned: dict[str, list[str]] | None = None

    def trays(self, session: int, people: Sequence[str]) -> dict[str, list[str]]:
        return super().trays(session, people) if self.planned is None else self.planned

    def after(self, session: int) -> Step:
        mean, covariance = levels(self.made, self.nosed())
        states = _states(self.made, mean, covariance)
        margins = margins_of(states, self.target, BEST)
        people = self.made.who_comes(session + 1)
        room: Room = self.room(people)
        panel = _panel(self.made, room.assessors)
        poured = fill(BestWeighing(margins, panel, self.counts(room.assessors)), room)
        self.planned = {name: [] for name in people}
        for glass in poured:
            self.planned[room.assessors[glass.assessor]].append(CASKS[glass.row])
        return Step(session, self.glasses, regret_of(margins.order[:BEST], self.worth))

    def looked_back(self, step: Step) -> Step:
        return Policy.looked_back(self, step)

    def nosed(self) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Of each glass the session, the person, the cask (the reference last) and the score."""
        scores = self.scores
        casks = {name: row for row, name in enumerate([*CASKS, REFERENCE])}
        return (
            scores["session"].astype("category").cat.codes.to_numpy(),
            scores["assessor"].map(PEOPLE.index).to_numpy(),
            scores["sample"].map(casks).to_numpy(),
            scores["score"].to_numpy(dtype=np.float64),
        )

    def counts(self, people: Sequence[str]) -> np.ndarray:
        _, j, i, _ = self.nosed()
        counts = np.zeros((N_CASKS + 1, N_PEOPLE))
        np.add.at(counts, (i, j), 1.0)
        some: np.ndarray = counts[:N_CASKS, [PEOPLE.index(name) for name in people], None]
        return some


def levels(
    made: House, nosed: tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]
) -> tuple[np.ndarray, np.ndarray]:
    """Mean and covariance of the casks' levels given the glasses, all else known."""
    session, j, i, score = nosed
    x = np.vstack([made.covariates.to_numpy(), np.zeros(3)])
    own = np.diag(np.append(np.full(N_CASKS, SPREAD**2 * (1.0 - EXPLAINED)), 0.0))
    casks = own + SPREAD**2 * EXPLAINED / 3.0 * x @ x.T
    same_j, same_i, same_s = (part[:, None] == part for part in (j, i, session))
    error = np.diag(made.noise[j] ** 2) + _OFFSET**2 * same_j + _OPINION**2 * (same_j & same_i)
    error += _MOOD**2 * same_s + _MOOD**2 * (same_s & same_j)
    whole = error + np.outer(made.scale[j], made.scale[j]) * casks[np.ix_(i, i)]
    with_casks = casks[:N_CASKS, i] * made.scale[j]
    told = np.linalg.solve(whole, np.column_stack([score - 45.0, with_casks.T]))
    return with_casks @ told[:, 0], casks[:N_CASKS, :N_CASKS] - with_casks @ told[:, 1:]


def _states(made: House, mean: np.ndarray, covariance: np.ndarray) -> States:
    """The casks on the line, each against all the others."""
    against = np.eye(N_CASKS) - 1.0 / N_CASKS
    own = np.diag(against @ covariance @ against.T) / made.step**2
    nothing = np.zeros(N_CASKS, dtype=np.bool_)
    return States(
        names=tuple(CASKS),
        notes=("note",),
        mean=(mean[:, None] + 445.0) / made.step,
        own=own[:, None, None],
        shared=np.zeros((N_CASKS, 1, 1)),
        common=np.zeros(1),
        unnosed=nothing,
        foretellable=~nothing,
    )


def _panel(made: House, people: Sequence[str]) -> PanelNoise:
    rows = [PEOPLE.index(name) for name in people]
    return PanelNoise(
        tuple(people),
        ("note",),
        made.scale[rows, None],
        made.noise[rows, None] ** 2 / made.step**2,
        np.array([_OPINION**2 / made.step**2]),
    )
